"""Opening, amending, closing and opening again."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from command.whereabouts import clean, not_in
from incidents import engine, judging, plans
from incidents.documents import loads
from incidents.line import people_of
from incidents.models import (
    Agency,
    Incident,
    IncidentRole,
    Person,
    SopProfile,
)
from incidents.models.log import CLOSING, OPENING, REOPENING
from incidents.services import permissions, profiles
from incidents.services.amending import amend, instrument_names, record
from incidents.services.archive import keep_in_archive
from incidents.services.errors import (
    IncidentClosedError,
    IncidentOpenError,
    NotAllowedError,
    PeopleOutError,
    SopChangedError,
)
from incidents.services.locking import lock, one_transaction, save_head
from incidents.services.plan_records import First, add_first
from incidents.services.setup import (
    add_team_rows,
    checked,
    named,
    setup_of,
    without_names,
)
from incidents.services.typed import refused, typed

AMENDABLE = frozenset(
    {"mission", "weather", "background_dose_rate", "suspects", "instruments"}
)
_OF_INCIDENT = frozenset({"mission", "weather", "background_dose_rate"})


def open_incident(
    *,
    person: Person,
    name: str,
    location: str = "",
    mission: str,
    weather: Mapping[str, Any] | None = None,
    weather_log: Iterable[Mapping[str, Any]] | None = None,
    profile: Mapping[str, Any] | None = None,
    teams: Iterable[Mapping[str, Any]] = (),
    instruments: Iterable[Mapping[str, Any]] = (),
    suspects: Iterable[str] = (),
    background_dose_rate: Mapping[str, Any] | None = None,
    sop: SopProfile | None = None,
    at: datetime,
    is_demo: bool = False,
    is_drill: bool = False,
    first_parts: Iterable[First] = (),
    key: UUID | None = None,
) -> Incident:
    """Open an incident; whoever opens it commands it.

    `first_parts` (part, item, what it says) begin its plan: from the first on, what is not ready
    counts. Without any, the incident is judged by its readings alone.

    The shapes are those of the worksheet document. A team and a member may carry a
    `name` beside its `id`; names are kept with the rows and in the opening record.
    A drill is said to be one in the opening record, too.
    `key` is the id that it is to have, where that is settled before; no other has it.
    `sop` gives the limits in place of `profile`; the incident keeps that version.
    Raises `NotAllowedError`, and `EntryRefusedError` with every error of the set-up.
    """
    agency = _agency_to_open_in(person, is_drill)
    title = named(name, "/incident/name")
    if sop is not None:
        profiles.require_usable(sop, agency, at)
        profile = loads(sop.document)
    setup, names = without_names(
        setup_of(
            {
                "name": title,
                "mission": mission,
                "weather": weather,
                "weather_log": None if weather_log is None else list(weather_log),
                "background_dose_rate": background_dose_rate,
            },
            profile=profile,
            teams=list(teams),
            instruments=list(instruments),
            suspects=list(suspects),
        )
    )
    incident = Incident(
        id=key or uuid4(),
        agency=agency,
        name=title,
        location=named(location, "/location", required=False),
        mission=mission,
        opened_at=at,
        opened_by=person,
        is_demo=is_demo,
        is_drill=is_drill,
        sop=sop,
        setup=checked(setup),
    )
    with one_transaction():
        _store_opening(incident, setup, names, first_parts)
    return incident


def _agency_to_open_in(person: Person, is_drill: bool) -> Agency:
    """The person's agency; `NotAllowedError` for who may not open in it."""
    may = person.may_open or (is_drill and person.may_review)
    if person.agency is None or not (person.is_active and may):
        raise NotAllowedError("You may not open an incident.")
    return person.agency


def _store_opening(
    incident: Incident,
    setup: dict[str, Any],
    names: dict[str, str],
    first_parts: Iterable[First],
) -> None:
    """The incident's row, its commander, its teams and the first record of its log."""
    incident.save(force_insert=True)
    person, at = incident.opened_by, incident.opened_at
    IncidentRole.objects.create(
        incident=incident,
        person=person,
        role=permissions.COMMANDER,
        given_by=person,
        given_at=at,
    )
    for team in setup["teams"]:
        add_team_rows(incident, team, names)
    body = {
        "setup": loads(incident.setup),
        "location": incident.location,
        "names": instrument_names(incident, setup) | names,
        "sop": profiles.record_of(incident.sop),
    }
    if incident.is_drill:
        body["drill"] = True
    record(incident, OPENING, body, person, at)
    add_first(incident, first_parts, at)
    save_head(incident)
    keep_in_archive(incident)


def amend_setup(
    *,
    incident_id: UUID,
    person: Person,
    changes: Mapping[str, Any],
    at: datetime,
    reason: str = "",
) -> Incident:
    """Change what was set up: mission, weather, background, suspects, instruments.

    The whole log is judged again under the new set-up; what was shown before is kept
    as superseded. Teams come by `add_team`, ensembles by their own log entry.
    """
    unknown = sorted(set(changes) - AMENDABLE)
    if unknown:
        raise refused(f"/{unknown[0]}", f"one of {', '.join(sorted(AMENDABLE))}")
    with one_transaction():
        incident = _locked_for_command(incident_id, person)
        setup = loads(incident.setup)
        for key, value in changes.items():
            place = setup["incident"] if key in _OF_INCIDENT else setup
            place[key] = value
            if value is None:
                del place[key]
        incident.mission = setup["incident"].get("mission", "")
        names = instrument_names(incident, setup) if "instruments" in changes else {}
        amend(incident, setup, names, person, at, reason)
    return incident


def change_sop(
    *,
    incident_id: UUID,
    person: Person,
    sop: SopProfile | None,
    seen: int | None,
    reason: str,
    at: datetime,
) -> Incident:
    """Judge the incident by another version of the SOP; None for the built-in limits.

    A decision of the commander, with a reason, on record. The whole log is judged again;
    what was shown before is kept as superseded. `seen` is the id of the version
    that the person saw in use: where someone else changed it meanwhile, this is refused. A
    version that the incident was judged by before may be gone back to, withdrawn or not.
    """
    with one_transaction():
        incident = _locked_for_command(incident_id, person)
        if incident.sop_id != seen:
            raise SopChangedError("The limits of this incident were changed meanwhile.")
        setup = loads(incident.setup)
        before = setup.get("profile", dict(profiles.BUILT_IN))
        if sop == incident.sop and before == profiles.document_of(sop):
            raise refused("/sop", "another version than the one in use")
        if sop is not None and sop.pk not in profiles.used_in(incident):
            profiles.require_usable(sop, incident.agency, at)
        why = typed(reason, "/reason", needed="why the limits are changed")
        setup["profile"] = profiles.document_of(sop)
        incident.sop = sop
        more = {
            "sop": profiles.record_of(sop),
            "sop_before": {key: before[key] for key in ("name", "version")},
        }
        amend(incident, setup, {}, person, at, why, **more)
    return incident


def add_team(
    *,
    incident_id: UUID,
    person: Person,
    team: Mapping[str, Any],
    at: datetime,
    reason: str = "",
) -> Incident:
    """Add one team, in the worksheet's shape with an optional `name`."""
    with one_transaction():
        incident = _locked_for_command(incident_id, person)
        added, names = without_names({"teams": [team]})
        setup = loads(incident.setup)
        setup["teams"] = [*setup["teams"], *added["teams"]]
        checked(setup)
        add_team_rows(incident, added["teams"][0], names)
        amend(incident, setup, names, person, at, reason)
    return incident


def close_incident(
    *, incident_id: UUID, person: Person, at: datetime, reason: str = ""
) -> Incident:
    """Close the log; the closing record says what stood for each team at that time.

    Raises `PeopleOutError` while somebody is neither in the cold zone nor gone, unless a
    reason is given: it is recorded with the name and with those over whom it is closed.
    """
    why = typed(reason, "/reason")
    with one_transaction():
        incident = _locked_for_command(incident_id, person)
        now = engine.live(incident)
        view = judging.judge(incident, now, at)
        plan = plans.plan_of(incident)
        out = not_in(people_of(incident, plan, now.state, view.at))
        if out and not why:
            raise PeopleOutError(out)
        body = {
            "reason": why,
            "by": person.shown_name,
            "not_in": [
                {
                    "name": each.name,
                    "where": each.where,
                    "clean": clean(each, plan, view.at).value,
                }
                for each in out
            ],
            "standing": {team.id: team.action.word for team in view.teams},
            "inside": [team.id for team in view.teams if team.clocks.inside],
        }
        entry = record(incident, CLOSING, body, person, at)
        incident.closed_at = entry.recorded_at
        incident.closed_by = person
        save_head(incident, "closed_at", "closed_by")
    return incident


def reopen_incident(
    *, incident_id: UUID, person: Person, at: datetime, reason: str
) -> Incident:
    """Open a closed incident again; a reason is needed and goes into the log."""
    with one_transaction():
        incident = lock(incident_id)
        permissions.require_command(person, incident)
        if not incident.is_closed:
            raise IncidentOpenError(f"{incident.name} is open.")
        why = typed(reason, "/reason", needed="why the incident is opened again")
        body = {"reason": why, "by": person.shown_name}
        record(incident, REOPENING, body, person, at)
        incident.closed_at = None
        incident.closed_by = None
        save_head(incident, "closed_at", "closed_by")
    return incident


def _locked_for_command(incident_id: UUID, person: Person) -> Incident:
    incident = lock(incident_id)
    permissions.require_command(person, incident)
    if incident.is_closed:
        raise IncidentClosedError(f"{incident.name} is closed.")
    return incident
