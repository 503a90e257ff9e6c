"""What is said in looking back: pinned to a moment, changed by new rows, never in the log."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Final
from uuid import UUID
from zoneinfo import ZoneInfo

from incidents.models import CritiqueNote, CritiqueStep, Incident, LogEntry, Person
from incidents.models.critique import LONGEST_NOTE
from incidents.services import permissions
from incidents.services.errors import NotAllowedError, RefusalError
from incidents.services.locking import lock_row, one_transaction
from incidents.services.typed import refused, typed

State = CritiqueStep.State
IMPROVEMENT: Final = CritiqueNote.Kind.IMPROVEMENT
_NEEDED: Final = {
    State.DONE: "what was done",
    State.DROPPED: "why it is dropped",
    State.TAKEN_BACK: "why it is taken back",
}


class NoteChangedError(RefusalError):
    """Somebody else changed the note since it was looked at."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Says:
    """What a note says from now on; `said` is what ended it, where something did."""

    text: str
    owner: Person | None = None
    due_on: date | None = None
    state: str = State.OPEN
    said: str = ""
    done_on: date | None = None


def pin_note(
    *,
    incident_id: UUID,
    person: Person,
    client_uuid: UUID,
    record: str,
    kind: str,
    moment: datetime,
    says: Says,
    at: datetime,
    entry_seq: int | None = None,
) -> CritiqueNote:
    """Pin a note to a moment of the incident, which may be closed.

    Raises `NotAllowedError` for who does not review it, `EntryRefusedError` for what is
    missing. The same `client_uuid` again gives the first note again.
    """
    if record not in CritiqueNote.Record.values:
        raise refused("/record", "one of the three records", record)
    if kind not in CritiqueNote.Kind.values:
        raise refused("/kind", "a strength, an improvement or a note", kind)
    with one_transaction():
        incident = lock_row(incident_id)
        permissions.require_critic(person, incident)
        known = CritiqueNote.objects.filter(client_uuid=client_uuid).first()
        if known is not None:
            return known
        if moment > at:
            raise refused("/at", "a moment that has passed", moment.isoformat())
        note = CritiqueNote.objects.create(
            incident=incident,
            record=record,
            kind=kind,
            at=moment,
            entry=_entry(incident, entry_seq),
            client_uuid=client_uuid,
            written_at=at,
            written_by=person,
            author_name=person.shown_name,
        )
        _add(note, says, person, client_uuid, at)
        return note


def change_note(
    *,
    note_id: int,
    person: Person,
    client_uuid: UUID,
    seen: int,
    says: Says,
    at: datetime,
) -> CritiqueStep:
    """Say it anew, or that it is done, dropped or taken back: a row more, none changed.

    `seen` is the step that the person saw last; `NoteChangedError` where another came
    since. The owner of an improvement may say that it is done, and nothing else.
    """
    with one_transaction():
        note = CritiqueNote.objects.select_related("incident__agency").get(pk=note_id)
        lock_row(note.incident_id)
        known = CritiqueStep.objects.filter(client_uuid=client_uuid).first()
        if known is not None:
            return known
        last = note.steps.order_by("-pk")[0]
        if not permissions.may_critique(person, note.incident):
            says = _by_the_owner(last, says, person)
        if last.pk != seen:
            raise NoteChangedError(
                f"{last.by_name} changed this meanwhile. Nothing was stored: look at "
                "what it says now."
            )
        return _add(note, says, person, client_uuid, at)


def _by_the_owner(last: CritiqueStep, says: Says, person: Person) -> Says:
    """Who owns an improvement says that it is done; its words stay as they are."""
    owns = last.owner_id == person.pk and person.is_active
    if not owns or last.state != State.OPEN or says.state != State.DONE:
        raise NotAllowedError("You may say of what you own that it is done, no more.")
    return Says(
        text=last.text,
        owner=last.owner,
        due_on=last.due_on,
        state=State.DONE,
        said=says.said,
        done_on=says.done_on,
    )


def _entry(incident: Incident, seq: int | None) -> LogEntry | None:
    if seq is None:
        return None
    entry = incident.entries.filter(seq=seq).first()
    if entry is None:
        raise refused("/entry", "the number of an entry of this log", seq)
    return entry


def _add(
    note: CritiqueNote, says: Says, person: Person, client_uuid: UUID, at: datetime
) -> CritiqueStep:
    state, improves = says.state, note.kind == IMPROVEMENT
    if state not in State.values:
        raise refused("/state", "open, done, dropped or taken back", state)
    if state in (State.DONE, State.DROPPED) and not improves:
        raise refused("/state", "done and dropped of improvements alone", state)
    text = typed(says.text, "/text", longest=LONGEST_NOTE, needed="what is to be said")
    needed = _NEEDED.get(State(state), "")
    said = typed(says.said, "/said", longest=LONGEST_NOTE, needed=needed)
    owner = _owner(note, says) if improves else None
    if improves and says.due_on is None:
        raise refused("/due_on", "the day by which it is to be done")
    return CritiqueStep.objects.create(
        note=note,
        client_uuid=client_uuid,
        state=state,
        text=text,
        owner=owner,
        owner_name=owner.shown_name if owner else "",
        due_on=says.due_on if improves else None,
        said=said if needed else "",
        done_on=_done_on(note, says, at) if state == State.DONE else None,
        at=at,
        by=person,
        by_name=person.shown_name,
    )


def _owner(note: CritiqueNote, says: Says) -> Person:
    owner = says.owner
    if owner is None or owner.agency_id != note.incident.agency_id:
        raise refused("/owner", "who of the agency sees to it")
    return owner


def _done_on(note: CritiqueNote, says: Says, at: datetime) -> date:
    today = at.astimezone(ZoneInfo(note.incident.agency.time_zone)).date()
    day = says.done_on or today
    if day > today:
        raise refused("/done_on", "a day that has come", day)
    return day
