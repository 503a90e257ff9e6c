"""What people write beside readings and decisions: notes, orders, a Mayday, and undoing."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final
from uuid import UUID, uuid5

from incidents import commands, engine, judging
from incidents.documents import dumps, loads
from incidents.models import Device, Incident, LogEntry, Person
from incidents.models.log import (
    HEARD,
    MAYDAY,
    MAYDAY_OVER,
    NOTE,
    ORDER,
    UNDONE,
)
from incidents.photo_claims import Claim
from incidents.services import chain, permissions, photos
from incidents.services.entries import (
    CLOCK_SLACK,
    PHONE,
    Appended,
    append_entry,
    role_of,
)
from incidents.services.errors import (
    AlreadyDoneError,
    DuplicateConflictError,
    IncidentClosedError,
    NotAllowedError,
)
from incidents.services.locking import lock, one_transaction, save_head
from incidents.services.typed import refused, typed
from screening.verdicts import Assessment

LONGEST_NOTE: Final = 10_000
WITHDRAW: Final = "withdraw"
# A reading is put right by whoever took it; these are undone in the same way.
UNDOABLE: Final = frozenset({NOTE, ORDER, HEARD})
_UNANSWERED = "Mayday: everyone inside counts as unanswered until a PAR"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sent:
    """Who sends what when; the same for each of these records."""

    incident_id: UUID
    person: Person
    client_uuid: UUID
    at: datetime
    recorded_at: datetime
    device: str = ""
    through: Device | None = None  # a phone; the person answers for it


def write_note(
    *,
    text: str,
    team: str = "",
    place: str = "",
    photo: Claim | None = None,
    picture: bytes = b"",
    **sent: Any,
) -> Appended:
    """Keep a free note, of a team and a place where it has them.

    `photo` names one whose bytes come later; `picture` is one that is here. `sent` are
    the fields of `Sent`, as for all of these. They raise what `append_entry` raises.
    """
    given = Sent(**sent)
    content = b""
    if picture:
        content, photo = photos.prepared(given.incident_id, picture)
    with writing_to(given, NOTE) as writing:
        body: dict[str, Any] = {
            "text": typed(text, "/text", longest=LONGEST_NOTE, needed="the note"),
            "team": writing.known_team(team),
            "place": typed(place, "/place", longest=200),
        }
        if photo is not None:
            body["photo"] = photos.check_claim(photo, writing.incident).body()
        kept = writing.keep(body)
        if photo is not None and content:
            photos.keep(
                incident=writing.incident,
                claim=photo,
                named_by=kept.entry.client_uuid,
                content=content,
                by=given.person,
                at=given.recorded_at,
                device=given.device,
            )
        return kept


def order_out(*, team: str, reason: str = "", **sent: Any) -> Appended:
    """Order a team that is inside to leave; it stands until the team is out.

    Raises `AlreadyDoneError` where that was ordered before.
    """
    with writing_to(Sent(**sent), ORDER) as writing:
        now = writing.view().by_team().get(team)
        if now is None or not now.clocks.inside:
            raise refused("/team", "a team that is inside")
        before = commands.standing(writing.incident).order_for(team, now.clocks)
        if before is not None and before.key != str(writing.sent.client_uuid):
            raise AlreadyDoneError("Ordered out before", by=before.by, at=before.at)
        return writing.keep(
            {
                "order": WITHDRAW,
                "team": team,
                "reason": typed(reason, "/reason", longest=500),
            }
        )


def call_mayday(*, team: str = "", **sent: Any) -> Appended:
    """Call a Mayday: every team inside stops, and all in it count as unanswered.

    The engine gets that as a PAR which nobody answered, so that it stands in the
    worksheet document too. Raises `AlreadyDoneError` while one stands.
    """
    given = Sent(**sent)
    with writing_to(given, MAYDAY) as writing:
        before = commands.standing(writing.incident).mayday
        if before is not None and before.key != str(given.client_uuid):
            raise AlreadyDoneError("Called before", by=before.by, at=before.at)
        called = writing.keep({"team": writing.known_team(team)})
        members = _members(writing.incident)
        for now in called.assessment.teams:
            if now.clocks.inside and members[now.id]:
                _nobody_answered(given, now.id, members[now.id])
    return called


def _members(incident: Incident) -> dict[str, list[str]]:
    teams = incident.teams.prefetch_related("members")
    return {team.key: [each.key for each in team.members.all()] for team in teams}


def _nobody_answered(given: Sent, team: str, members: list[str]) -> None:
    key = uuid5(given.client_uuid, f"unanswered {team}")
    append_entry(
        incident_id=given.incident_id,
        person=given.person,
        follows=True,
        body={
            "kind": "par",
            "at": given.at.isoformat(),
            "team": team,
            "unanswered": members,
            "note": _UNANSWERED,
        },
        client_uuid=key,
        recorded_at=given.recorded_at,
        device=given.device,
    )


def end_mayday(*, second: str, **sent: Any) -> Appended:
    """End the Mayday that stands: after a PAR of all, and with a second person's name."""
    with writing_to(Sent(**sent), MAYDAY_OVER) as writing:
        stands = commands.standing(writing.incident).mayday
        if stands is None:
            raise refused("", "a Mayday that stands; it was ended before")
        name = typed(second, "/second", longest=150, needed="a second person's name")
        if name.casefold() == writing.sent.person.shown_name.casefold():
            raise refused("/second", "the name of a second person, not your own")
        keys = commands.unaccounted(writing.view(), stands.at)
        if keys:
            teams = writing.incident.teams.filter(key__in=keys)
            names = ", ".join(team.name for team in teams)
            raise refused("", f"first a PAR that all answer, of: {names}")
        return writing.keep({"second": name})


def undo(
    *,
    incident_id: UUID,
    person: Person,
    seq: int,
    recorded_at: datetime,
    device: str = "",
) -> Appended:
    """Take back what was just saved, by an entry that strikes it with the name.

    Raises `AlreadyDoneError` where it was struck before, `NotAllowedError` for what
    cannot be undone: what the application wrote itself, a strike, a Mayday.
    """
    with one_transaction():
        incident = lock(incident_id)
        role = permissions.require_writer(person, incident)
        row = incident.entries.get(seq=seq)
        if row.kind == "strike" or not (row.is_for_engine or row.kind in UNDOABLE):
            raise NotAllowedError("This cannot be undone.")
        _check_not_struck(incident, row)
        body = {"entry": row.key, "reason": f"undone by {person.shown_name}"}
        sent = Sent(
            incident_id=incident_id,
            person=person,
            client_uuid=uuid5(row.client_uuid, "undone"),
            at=recorded_at,
            recorded_at=recorded_at,
            device=device,
        )
        if row.is_for_engine:
            return append_entry(
                incident_id=incident_id,
                person=person,
                body={"kind": "strike", **body},
                client_uuid=sent.client_uuid,
                recorded_at=recorded_at,
                device=device,
            )
        if row.author_id != person.pk and not permissions.may_command(role):
            raise NotAllowedError("You can undo your own notes.")
        return Writing(incident, sent, UNDONE).keep(body)


def _check_not_struck(incident: Incident, row: LogEntry) -> None:
    for strike in incident.entries.filter(kind__in=("strike", UNDONE)):
        if loads(strike.body)["entry"] == row.key:
            raise AlreadyDoneError(
                "Taken back before", by=strike.author_name, at=strike.recorded_at
            )


@dataclass(frozen=True, slots=True)
class Writing:
    """One record being written to a locked incident."""

    incident: Incident
    sent: Sent
    kind: str

    def view(self) -> Assessment:
        """Every team now."""
        now = engine.live(self.incident)
        return judging.judge(self.incident, now, self.sent.recorded_at)

    def known_team(self, team: str) -> str:
        if team and not self.incident.teams.filter(key=team).exists():
            raise refused("/team", "a team of this incident")
        return team

    def keep(self, body: dict[str, Any]) -> Appended:
        """Chain the record, empty fields left out; a repeat gives the first again."""
        sent = self.sent
        whole = {key: value for key, value in body.items() if value not in ("", [])}
        text = dumps({**whole, "by": sent.person.shown_name})
        known = self.incident.entries.filter(client_uuid=sent.client_uuid).first()
        if known is not None and (known.kind, known.body) != (self.kind, text):
            raise DuplicateConflictError(
                "This was sent before with other content. Both were not kept: look at "
                "the log, and send what is missing again."
            )
        row = known or chain.add_record(
            incident=self.incident,
            kind=self.kind,
            body=text,
            client_uuid=sent.client_uuid,
            observed_at=sent.at,
            recorded_at=sent.recorded_at,
            author=sent.person,
            device=f"{PHONE}{sent.through.name}" if sent.through else sent.device,
        )
        if known is None:
            save_head(self.incident)
        return Appended(
            entry=row,
            findings=(),
            assessment=self.view(),
            duplicate=known is not None,
        )


@contextmanager
def writing_to(sent: Sent, kind: str) -> Iterator[Writing]:
    """The incident, locked and open, for someone whose part carries this kind."""
    with one_transaction():
        incident = lock(sent.incident_id)
        role = role_of(sent.person, incident, sent.through)
        if not permissions.may_log(role, kind):
            raise NotAllowedError("This is a decision of the incident commander.")
        if incident.is_closed:
            raise IncidentClosedError(f"{incident.name} is closed.")
        if sent.at > sent.recorded_at + CLOCK_SLACK:
            raise refused("/at", "a time that has passed")
        yield Writing(incident, sent, kind)
