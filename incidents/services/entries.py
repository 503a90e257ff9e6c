"""The one way into the log of an incident."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final
from uuid import UUID
from zoneinfo import ZoneInfo

from incidents import engine, judging
from incidents.documents import dumps, loads
from incidents.models import APP_KINDS, Device, Incident, LogEntry, Person
from incidents.services import chain, findings, instrument_history, permissions
from incidents.services.errors import (
    DuplicateConflictError,
    EntryRefusedError,
    IncidentClosedError,
    NotAllowedError,
)
from incidents.services.locking import lock, one_transaction, save_head
from incidents.services.typed import refused, typed
from incidents.statements import said
from incidents.text import clean_text
from screening.incident import Context
from screening.readings import Acknowledge, Clear, Entry, Strike
from screening.verdicts import Assessment, Finding
from screening.worksheet import (
    DocumentError,
    WorksheetErrors,
    load_json,
    parse_entry,
)

# A bound for anything at all; the engine's reader has its own for each field.
LONGEST_TEXT: Final = 20_000
# Common practice, no source: a watch is seldom minutes off, a typed date easily is.
CLOCK_SLACK: Final = timedelta(minutes=5)
# How a record says that it came from a phone of the incident, before the name.
PHONE: Final = "Phone: "
# Fields that the service fills in from who and when, so a repeat may lack them.
_FILLED = ("id", "at", "by")
SIGNED_KINDS = frozenset({"acknowledge", "strike", "clear"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Appended:
    """What one entry led to; a repeat of the same entry gives the same again."""

    entry: LogEntry
    findings: tuple[Finding, ...]
    assessment: Assessment
    duplicate: bool


def append_entry(
    *,
    incident_id: UUID,
    person: Person,
    body: Mapping[str, Any],
    client_uuid: UUID,
    recorded_at: datetime,
    device: str = "",
    through: Device | None = None,
    follows: bool = False,
    hears: Collection[int] | None = None,
) -> Appended:
    """Log one reading or decision with what the engine says to it, or store nothing.

    `body` is an entry of the worksheet document; `id` is `client_uuid`, `at` defaults
    to `recorded_at`, `by` to the person's name. What follows from a record that the
    person may make (`follows`) is not asked for their role again. `hears` are the kept
    findings that an `acknowledge` is of, if not all of its entry. Raises `IncidentClosedError`,
    `NotAllowedError`, `EntryRefusedError`, `DuplicateConflictError` (the identifier was
    used for something else) and `StorageBusyError`. What comes `through` a device is
    a technician's; `person` is who gave the device out, and answers for it.
    """
    with one_transaction():
        incident = lock(incident_id)
        role = role_of(person, incident, through)
        known = incident.entries.filter(client_uuid=client_uuid).first()
        if known is not None:
            return _as_first_time(incident, known, body)
        if incident.is_closed:
            raise IncidentClosedError(f"{incident.name} is closed.")
        before = engine.live(incident)
        filled = _filled(body, client_uuid, recorded_at, person, incident)
        text, entry = _read(filled, before.context, recorded_at)
        if not follows:
            _check(incident, entry, person, role)
        row = chain.add_record(
            incident=incident,
            kind=entry.kind,
            body=text,
            client_uuid=client_uuid,
            observed_at=entry.at,
            recorded_at=recorded_at,
            author=person,
            device=_device(f"{PHONE}{through.name}" if through else device),
        )
        return _judged(incident, before, row, entry, person, hears)


def role_of(person: Person, incident: Incident, through: Device | None) -> str:
    """The part under which something is logged."""
    if through is None:
        return permissions.require_writer(person, incident)
    if through.incident_id != incident.pk:
        raise NotAllowedError("This device belongs to another incident.")
    return permissions.TECHNICIAN.value


def _judged(
    incident: Incident,
    before: engine.Live,
    row: LogEntry,
    entry: Entry,
    by: Person,
    hears: Collection[int] | None,
) -> Appended:
    """What the engine says to the new row, kept; the incident's head is stored."""
    now, found = _judge_and_keep(incident, before, row, by)
    view = judging.judge(incident, now, row.recorded_at)
    if hears is None:
        note_answers(incident, row, entry, by, found)
    else:
        findings.acknowledge_these(row=row, hears=hears, by=by)
    instrument_history.follow_log(incident, row, entry, by, now.state.struck)
    save_head(incident)
    engine.keep(incident.pk, now)
    return Appended(entry=row, findings=found, assessment=view, duplicate=False)


def _device(name: str) -> str:
    return typed(name, "/device", longest=120, one_line=True)


def _filled(
    body: Mapping[str, Any],
    client_uuid: UUID,
    recorded_at: datetime,
    person: Person,
    incident: Incident,
) -> dict[str, Any]:
    filled = {"id": str(client_uuid), "at": recorded_at, **body}
    filled["at"] = _by_the_crews_clock(filled["at"], incident)
    if body.get("kind") in SIGNED_KINDS:
        filled.setdefault("by", person.shown_name)
    if client_uuid.int == 0 or filled["id"] != str(client_uuid):
        raise refused("/id", "the identifier the entry was sent under", filled["id"])
    return filled


def _by_the_crews_clock(at: Any, incident: Incident) -> Any:
    """A moment in UTC with the offset of the agency's zone: the day of an instrument's
    test is the crew's. One with another offset stays as it was said."""
    moment = _moment(at)
    if moment is None or moment.utcoffset():
        return at
    return moment.astimezone(ZoneInfo(incident.agency.time_zone)).isoformat()


def _moment(at: Any) -> datetime | None:
    """None where it is no moment with an offset; the engine's reader says why."""
    try:
        moment = at if isinstance(at, datetime) else datetime.fromisoformat(at)
    except (TypeError, ValueError):
        return None
    return None if moment.utcoffset() is None else moment


def _read(
    body: dict[str, Any], context: Context, recorded_at: datetime
) -> tuple[str, Entry]:
    """The text to store and the entry that the engine reads from that very text."""
    errors: list[DocumentError] = []
    whole = cleaned(body, "", errors)
    if errors:
        raise EntryRefusedError(tuple(errors))
    try:
        text = dumps(whole)
    except TypeError as error:
        raise refused("", str(error)) from error
    try:
        entry = parse_entry(load_json(text), context)
    except WorksheetErrors as error:
        raise EntryRefusedError(error.errors) from error
    if entry.at > recorded_at + CLOCK_SLACK:
        raise refused(
            "/at",
            f"a time that has passed; the server's clock says {recorded_at:%H:%M} UTC",
            entry.at.isoformat(),
        )
    return text, entry


def cleaned(value: Any, pointer: str, errors: list[DocumentError]) -> Any:
    match value:
        case str():
            try:
                return clean_text(value, max_length=LONGEST_TEXT)
            except ValueError as error:
                errors.append(
                    DocumentError(pointer=pointer, value="", expected=str(error))
                )
                return ""
        case datetime():
            return value.isoformat()
        case Mapping():
            return {
                cleaned(key, f"{pointer}/{key!a}", errors): cleaned(
                    item, f"{pointer}/{key}", errors
                )
                for key, item in value.items()
            }
        case list() | tuple():
            return [
                cleaned(item, f"{pointer}/{position}", errors)
                for position, item in enumerate(value)
            ]
    return value


def _check(incident: Incident, entry: Entry, person: Person, role: str) -> None:
    """Whether this person may log this, and whether what it points to is there."""
    if not permissions.may_log(role, entry.kind):
        raise NotAllowedError("This is a decision of the incident commander.")
    if not isinstance(entry, Strike | Acknowledge):
        return
    target = _row_of(incident, entry.entry)
    if target is None:
        raise refused("/entry", "the id of an entry of this log", entry.entry)
    own = target.author_id == person.pk and target.kind in permissions.READING_KINDS
    if isinstance(entry, Strike) and not (permissions.may_command(role) or own):
        raise NotAllowedError(
            "You can put right your own readings; the incident commander the others."
        )


def _row_of(incident: Incident, key: str) -> LogEntry | None:
    try:
        wanted = UUID(key)
    except ValueError:
        return None
    rows = incident.entries.exclude(kind__in=APP_KINDS)
    return rows.filter(client_uuid=wanted).first()


def _judge_and_keep(
    incident: Incident, before: engine.Live, row: LogEntry, by: Person
) -> tuple[engine.Live, tuple[Finding, ...]]:
    """Step the engine over the new row and keep its findings."""
    if before.last is None or before.last < engine.order_of(row):
        now, found = engine.step_row(before, row)
        findings.store(
            entry=row,
            findings=[said(row.key, finding) for finding in found],
            by=by,
            raised_by=row,
        )
        return now, found
    # It came late: everything after its time may have to be said anew.
    now, anew = engine.take_in_late(incident, before, row)
    findings.reconcile(incident=incident, found=anew, raised_by=row, by=by)
    return now, anew[row.key]


def note_answers(
    incident: Incident,
    row: LogEntry,
    entry: Entry,
    by: Person,
    found: tuple[Finding, ...],
) -> None:
    if isinstance(entry, Acknowledge):
        heard = _row_of(incident, entry.entry)
        if heard is not None:
            findings.acknowledge(row=row, heard=heard, by=by, note=entry.note)
        return
    if isinstance(entry, Clear) and findings.clear_holds(found):
        findings.record_clear(row=row, entry=entry, by=by)
    else:
        findings.record_answer(row=row, entry=entry, by=by)


def _as_first_time(
    incident: Incident, known: LogEntry, body: Mapping[str, Any]
) -> Appended:
    """The answer that this entry got when it was first sent."""
    stored = loads(known.body)
    sent = {key: stored[key] for key in _FILLED if key in stored} | dict(body)
    if _moment(sent["at"]) == _moment(stored["at"]):
        sent["at"] = stored["at"]
    errors: list[DocumentError] = []
    try:
        same = dumps(_sorted(cleaned(sent, "", errors))) == dumps(_sorted(stored))
    except TypeError:
        same = False
    if errors or not same or known.kind in APP_KINDS:
        raise DuplicateConflictError(
            "This entry was sent before with other content. Both were not kept: "
            "look at the log, and send what is missing as a new entry."
        )
    then, found = engine.as_first_judged(incident, engine.live(incident), known)
    return Appended(
        entry=known,
        findings=found[known.key],
        assessment=judging.judge(incident, then, known.recorded_at),
        duplicate=True,
    )


def _sorted(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _sorted(value[key]) for key in sorted(value)}
    return [_sorted(item) for item in value] if isinstance(value, list) else value
