"""Phones in the warm zone: offered by the commander, joined by a code, revocable.

The secret of the code and the one in the cookie are 256 random bits each and are kept as
SHA-256 only. Losing either costs a new code and never an entry: what a device sends that
cannot be taken as it is is kept apart (`hold`), for the commander to decide.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final
from uuid import UUID, uuid4

from django.db.models import Q

from incidents import engine, judging
from incidents.clock_times import AHEAD, OLDEST
from incidents.documents import dumps, loads
from incidents.models import Device, DeviceEntry, Incident, LogEntry, Person
from incidents.models.device import LONGEST_NAME
from incidents.models.log import DEVICE, NOTE
from incidents.photo_claims import Claim
from incidents.services import chain, permissions
from incidents.services.entries import Appended, append_entry
from incidents.services.errors import (
    DuplicateConflictError,
    IncidentClosedError,
    NotAllowedError,
    RefusalError,
)
from incidents.services.locking import lock, one_transaction, save_head
from incidents.services.records import write_note
from incidents.services.typed import refused, typed
from incidents.tokens import digest, new_secret

JOIN_WITHIN: Final = timedelta(minutes=10)
SHIFT: Final = timedelta(hours=12)
# Common practice, no source: a watch is seldom minutes off.
CLOCK_MOVED: Final = timedelta(minutes=5)
SEEN_WITHIN: Final = timedelta(seconds=15)
SAME_CLOCK_MS: Final = 1_000  # an answer on its way takes as long

Decision = DeviceEntry.Decision
# What a decision sets; the database refuses to change the rest of a row, and these twice.
DECIDED: Final = (
    "entry", "decision", "decided_at", "decided_by", "decision_reason",
)  # fmt: skip


class JoinRefusedError(RefusalError):
    """The code is not known, was used, or is too old."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sent:
    """One entry as a device sent it. `body` is the worksheet's; `raw` as it came."""

    client_uuid: UUID
    counter: int
    observed_at: datetime  # by the device's clock, with the offset that it had measured
    clock_moved: timedelta  # since that was measured, as far as we can tell
    body: Mapping[str, Any]
    raw: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What became of one: in the log, or held and why."""

    appended: Appended | None = None
    held_because: str = ""


def offer_device(
    *, incident_id: UUID, person: Person, team: str, name: str, at: datetime
) -> tuple[Device, str]:
    """Make room for one phone; gives the secret for its QR code, which is kept nowhere."""
    with one_transaction():
        incident = _for_command(incident_id, person)
        if not incident.teams.filter(key=team).exists():
            raise refused("/team", "a team of this incident")
        secret = new_secret()
        device = Device.objects.create(
            id=uuid4(),
            incident=incident,
            team_key=team,
            name=typed(
                name,
                "/name",
                longest=LONGEST_NAME,
                one_line=True,
                needed="a name for the phone, such as Kim's phone",
            ),
            offered_by=person,
            offered_at=at,
            join_hash=digest(secret),
            join_until=at + JOIN_WITHIN,
            expires_at=at + SHIFT,
        )
        save_head(incident)
    return device, secret


def join_device(*, secret: str, at: datetime) -> tuple[Device, str]:
    """Let the phone that holds the code in, once; gives the token for its cookie."""
    with one_transaction():
        device = (
            Device.objects.select_for_update().filter(join_hash=digest(secret)).first()
        )
        if device is None:
            raise JoinRefusedError("This code is not known here. Ask for a new one.")
        if device.joined_at is not None:
            raise JoinRefusedError("This code was used before. Ask for a new one.")
        if device.revoked_at is not None or at > device.join_until:
            raise JoinRefusedError("This code is too old. Ask for a new one.")
        incident = lock(device.incident_id)
        if incident.is_closed:
            raise JoinRefusedError(f"{incident.name} is closed.")
        token = new_secret()
        device.joined_at = device.seen_at = at
        device.token_hash = digest(token)
        device.save(update_fields=["joined_at", "seen_at", "token_hash"])
        _log(incident, device, "joined", device.offered_by, at)
    return device, token


def revoke_device(
    *, incident_id: UUID, person: Person, device_id: UUID, at: datetime
) -> Device:
    """From now on what it sends is kept apart. The cookie no longer reads anything."""
    with one_transaction():
        incident = lock(incident_id)
        permissions.require_command(person, incident)
        device = incident.devices.select_for_update().get(pk=device_id)
        if device.revoked_at is None:
            device.revoked_at, device.revoked_by = at, person
            device.save(update_fields=["revoked_at", "revoked_by"])
            _log(incident, device, "revoked", person, at)
    return device


def note_seen(*, device: Device, at: datetime, sent_at: datetime | None) -> None:
    """When we last heard of it and how far its clock is off. No part of the record.

    A phone asks every few seconds: what is no news is not written.
    """
    ahead = None
    if sent_at is not None:
        ahead = round((sent_at - at).total_seconds() * 1000)
    recent = device.seen_at is not None and at - device.seen_at <= SEEN_WITHIN
    if recent and not _clock_is_news(device, ahead):
        return
    changes: dict[str, Any] = {"seen_at": at}
    if ahead is not None:
        changes["clock_ahead_ms"] = ahead
    Device.objects.filter(pk=device.pk).update(**changes)


def _clock_is_news(device: Device, ahead: int | None) -> bool:
    if ahead is None:
        return False
    known = device.clock_ahead_ms
    return known is None or abs(ahead - known) > SAME_CLOCK_MS


def take_from_device(*, device: Device, sent: Sent, received_at: datetime) -> Taken:
    """Log one entry of a device, or keep it apart with the reason.

    Raises `EntryRefusedError` where it cannot be read and `DuplicateConflictError` where
    its identifier or counter was used for something else: these stay on the phone.
    """
    with one_transaction():
        incident = lock(device.incident_id)
        device.refresh_from_db()
        known = _known(device, sent)
        if known is not None and known.held_because:
            return Taken(held_because=known.held_because)
        reason = "" if known else _why_held(incident, device, sent, received_at)
        if reason:
            _keep(device, sent, received_at, held_because=reason)
            save_head(incident)
            return Taken(held_because=reason)
        if known is not None and known.entry is not None and _is_note(sent.body):
            return Taken(appended=_as_before(incident, known.entry, received_at))
        appended = _into_log(
            sent.body,
            sent.observed_at,
            incident_id=incident.pk,
            person=device.offered_by,
            client_uuid=sent.client_uuid,
            recorded_at=received_at,
            through=device,
        )
        if known is None:
            _keep(device, sent, received_at, entry=appended.entry)
        return Taken(appended=appended)


def take_handed_over(
    *,
    incident_id: UUID,
    person: Person,
    sent: Sequence[tuple[Device, Sent]],
    received_at: datetime,
) -> int:
    """Keep what a phone's file holds for a decision; what is known already is left out.

    Gives how many wait now. Raises `DuplicateConflictError` and keeps nothing where one
    was sent before with other content.
    """
    with one_transaction():
        incident = lock(incident_id)
        permissions.require_command(person, incident)
        fresh = [(device, one) for device, one in sent if _known(device, one) is None]
        for device, one in fresh:
            because = f"Handed over as a file by {person.shown_name}."
            _keep(device, one, received_at, held_because=because)
        save_head(incident)
    return len(fresh)


def decide_held(
    *, held_id: int, person: Person, take: bool, reason: str, at: datetime
) -> DeviceEntry:
    """The commander takes a held entry into the log, or not, with a reason.

    Raises `EntryRefusedError` where the log does not take it; it then goes on waiting.
    """
    with one_transaction():
        held = DeviceEntry.objects.select_related("device").get(pk=held_id)
        incident = lock(held.device.incident_id)
        permissions.require_command(person, incident)
        held = DeviceEntry.objects.select_for_update().get(pk=held_id)
        if held.decision != Decision.WAITING:
            raise NotAllowedError("Somebody has decided on this entry already.")
        why = typed(reason, "/reason", longest=1_000, needed="why it is taken, or not")
        if take:
            held.entry = _take_held(incident, held, person, at)
            incident = lock(incident.pk)  # its head has moved
        held.decision = Decision.TAKEN if take else Decision.REJECTED
        held.decided_at, held.decided_by, held.decision_reason = at, person, why
        held.save(update_fields=DECIDED)
        body = {
            "device": held.device.name,
            "step": "entry taken" if take else "entry not taken",
            "held_because": held.held_because,
            "sent": held.sent,
            "reason": why,
        }
        _record(incident, body, person, at)
    return held


def _take_held(
    incident: Incident, held: DeviceEntry, person: Person, at: datetime
) -> LogEntry:
    raw = loads(held.sent)
    return _into_log(
        raw["body"],
        datetime.fromisoformat(raw["observed_at"]),
        incident_id=incident.pk,
        person=person,
        client_uuid=held.client_uuid,
        recorded_at=at,
        device=f"{held.device.name}; taken in by {person.shown_name}"[:120],
    ).entry


def _is_note(body: Mapping[str, Any]) -> bool:
    return bool(body["kind"] == NOTE)


def _into_log(body: Mapping[str, Any], at: datetime, **sent: Any) -> Appended:
    """One entry of a phone: a note with its photo, or what the engine reads."""
    if not _is_note(body):
        return append_entry(body={**body, "at": at.isoformat()}, **sent)
    return write_note(
        text=body["text"],
        team=body.get("team", ""),
        place=body.get("place", ""),
        photo=Claim.of(body),
        at=at,
        **sent,
    )


def _as_before(incident: Incident, entry: LogEntry, at: datetime) -> Appended:
    """The answer to a note that was logged before, also where the incident has closed."""
    view = judging.judge(incident, engine.live(incident), at)
    return Appended(entry=entry, findings=(), assessment=view, duplicate=True)


def _why_held(
    incident: Incident, device: Device, sent: Sent, received_at: datetime
) -> str:
    """Why an entry must not go into the log by itself; "" where it may."""
    if device.revoked_at is not None:
        return f"The device was revoked at {device.revoked_at:%H:%M} UTC."
    if received_at > device.expires_at:
        return f"The device's shift ended at {device.expires_at:%H:%M} UTC."
    if incident.is_closed:
        return "The incident was closed before it came."
    if sent.observed_at > received_at + AHEAD:
        return f"Its time, {sent.observed_at:%H:%M} UTC, has not come yet."
    if sent.observed_at < received_at - OLDEST:
        return f"Its time, {sent.observed_at:%Y-%m-%d %H:%M} UTC, is over a day ago."
    if device.joined_at and sent.observed_at < device.joined_at - CLOCK_MOVED:
        return "Its time lies before the device joined."
    if abs(sent.clock_moved) > CLOCK_MOVED:
        minutes = sent.clock_moved.total_seconds() / 60
        return f"The device's clock was moved by {minutes:.0f} min since it was read."
    return ""


def _known(device: Device, sent: Sent) -> DeviceEntry | None:
    """The same entry, sent before. Raises `DuplicateConflictError`."""
    same = Q(counter=sent.counter) | Q(client_uuid=sent.client_uuid)
    found = list(device.entries.filter(same).order_by())
    if not found:
        return None
    known = found[0]
    whole = (known.counter, known.client_uuid) == (sent.counter, sent.client_uuid)
    if len(found) > 1 or not whole or known.sent != _text(sent):
        raise DuplicateConflictError(
            "This entry was sent before with other content. Log it again as a new one."
        )
    return known


def _text(sent: Sent) -> str:
    return dumps(
        {"observed_at": sent.observed_at.isoformat(), "body": sent.body, **sent.raw}
    )


def _keep(
    device: Device,
    sent: Sent,
    received_at: datetime,
    *,
    entry: LogEntry | None = None,
    held_because: str = "",
) -> None:
    DeviceEntry.objects.create(
        device=device,
        counter=sent.counter,
        client_uuid=sent.client_uuid,
        sent=_text(sent),
        received_at=received_at,
        entry=entry,
        held_because=held_because,
        decision=Decision.WAITING if held_because else "",
    )


def _for_command(incident_id: UUID, person: Person) -> Incident:
    incident = lock(incident_id)
    permissions.require_command(person, incident)
    if incident.is_closed:
        raise IncidentClosedError(f"{incident.name} is closed.")
    return incident


def _log(
    incident: Incident, device: Device, step: str, person: Person, at: datetime
) -> None:
    _record(
        incident,
        {"device": device.name, "team": device.team_key, "step": step},
        person,
        at,
    )


def _record(
    incident: Incident, body: dict[str, Any], person: Person, at: datetime
) -> None:
    chain.add_record(
        incident=incident,
        kind=DEVICE,
        body=dumps(body),
        client_uuid=uuid4(),
        observed_at=at,
        recorded_at=at,
        author=person,
    )
    save_head(incident)
