"""Recording the plan part by part, and going in against it."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4, uuid5

from command import readiness
from command.documents import name_key
from command.questions import UNKNOWN
from command.scene import Lack
from incidents import engine, judging, plans
from incidents.models import Incident, LogEntry, Person
from incidents.models.log import PLAN
from incidents.services import permissions
from incidents.services.amending import observe_weather, suspect
from incidents.services.entries import CLOCK_SLACK, Appended, append_entry
from incidents.services.errors import (
    DuplicateConflictError,
    IncidentClosedError,
    NotReadyError,
)
from incidents.services.locking import lock, one_transaction, save_head
from incidents.services.plan_records import add, text_of

# Whoever says that a team went in some minutes ago records what has happened.
LATE_ENTRY = CLOCK_SLACK


def record_part(
    *,
    incident_id: UUID,
    person: Person,
    part: str,
    says: Mapping[str, Any] | None,
    item: str = "",
    based_on: int | None = None,
    at: datetime,
    holds_from: datetime | None = None,
    reason: str = "",
    client_uuid: UUID | None = None,
) -> LogEntry:
    """Keep one part of the plan, or one item of it; `says` None takes the item out.

    `based_on` is the number of the record that the writer had seen, None for none.
    Raises `PartConflictError` where a newer one stands (nothing is stored),
    `EntryRefusedError` with pointers into the body ("/says/…"), `NotAllowedError`,
    `IncidentClosedError` and `StorageBusyError`. `at` is now; `holds_from` is when it
    came to hold, which is not after it.
    """
    with one_transaction():
        incident = lock(incident_id)
        permissions.require_part(person, incident, part)
        raw = {"part": part, "item": item, "says": says, "based_on": based_on}
        text = text_of(raw | ({"reason": reason} if reason else {}))
        key = client_uuid or uuid4()
        known = incident.entries.filter(client_uuid=key).first()
        if known is not None:
            return _as_first_time(known, text)
        if incident.is_closed:
            raise IncidentClosedError(f"{incident.name} is closed.")
        row = add(incident, person, text, at, holds_from or at, key)
        save_head(incident)
        named = str((says or {}).get("name", "")) if part == "substances" else ""
        if name_key(named) not in ("", UNKNOWN):
            # The engine looks for what is suspected; taking it out here leaves it there.
            suspect(incident, named, person, at)
        if part == "weather":
            report = plans.record_of(row).says
            observe_weather(incident, report, person, at, row.observed_at)
    return row


def check_in_all(
    *, incident_id: UUID, person: Person, names: Mapping[str, str], at: datetime
) -> list[LogEntry]:
    """Check in several people at once, arrived now; `names` by a new item's id."""
    with one_transaction():
        return [
            record_part(
                incident_id=incident_id,
                person=person,
                part="check_in",
                item=item,
                says={"name": name, "arrived": at.isoformat(), "where": "cold"},
                at=at,
                client_uuid=uuid5(incident_id, f"check-in {item}"),
            )
            for item, name in names.items()
        ]


def enter_team(
    *,
    incident_id: UUID,
    person: Person,
    body: Mapping[str, Any],
    client_uuid: UUID,
    recorded_at: datetime,
    device: str = "",
    go_anyway: str = "",
) -> Appended:
    """Log that a team goes in now, unless it is not ready.

    Raises `NotReadyError` with each stopping lack where no reason to `go_anyway` is
    given; with one, the override is recorded just before the entry, in the same
    transaction. A team that is in already, and an entry of some minutes ago, are facts
    and are never refused: what was not ready then stands as findings.
    """
    with one_transaction():
        incident = lock(incident_id)
        known = incident.entries.filter(client_uuid=client_uuid).exists()
        if not known and not incident.is_closed:
            permissions.require_command(person, incident)
            lacks = _keeps_out(incident, body, recorded_at)
            if lacks and not go_anyway.strip():
                raise NotReadyError(lacks)
            if lacks:
                _override(
                    incident, person, body, lacks, go_anyway, recorded_at, client_uuid
                )
        return append_entry(
            incident_id=incident_id,
            person=person,
            body=body,
            client_uuid=client_uuid,
            recorded_at=recorded_at,
            device=device,
        )


def _keeps_out(
    incident: Incident, body: Mapping[str, Any], now: datetime
) -> tuple[Lack, ...]:
    said = body.get("at")
    when = datetime.fromisoformat(said) if isinstance(said, str) else said
    if isinstance(when, datetime) and now - when > LATE_ENTRY:
        return ()
    scene = judging.scene_at(incident, engine.live(incident), now)
    crew = scene.crew(str(body.get("team", "")))
    if crew is None or crew.inside:
        return ()
    return readiness.blocking(scene, crew.id)


def _override(
    incident: Incident,
    person: Person,
    body: Mapping[str, Any],
    lacks: tuple[Lack, ...],
    why: str,
    at: datetime,
    entry: UUID,
) -> None:
    says = {
        "team": str(body["team"]),
        "lacks": list(dict.fromkeys(lack.key for lack in lacks)),
        "why": why,
        "by": person.shown_name,
    }
    text = text_of({"part": "override", "item": "", "says": says, "based_on": None})
    said = body.get("at")
    when = datetime.fromisoformat(said) if isinstance(said, str) else said
    add(incident, person, text, at, when or at, uuid5(entry, "override"))
    save_head(incident)


def _as_first_time(known: LogEntry, text: str) -> LogEntry:
    if known.kind != PLAN or known.body != text:
        raise DuplicateConflictError(
            "This was sent before with other content. Both were not kept: look at the "
            "plan, and send what is missing anew."
        )
    return known
