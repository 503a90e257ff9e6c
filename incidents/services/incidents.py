"""Opening, amending, closing and opening again; who takes which part."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from incidents import engine, judging
from incidents.documents import dumps, loads
from incidents.models import (
    APP_KINDS,
    EntryTeam,
    Incident,
    IncidentRole,
    LogEntry,
    Member,
    Person,
)
from incidents.models.log import AMENDMENT, CLOSING, OPENING, REOPENING
from incidents.services import chain, findings, permissions
from incidents.services.errors import (
    EntryRefusedError,
    IncidentClosedError,
    IncidentOpenError,
    NotAllowedError,
)
from incidents.services.locking import lock, one_transaction, save_head
from incidents.text import clean_text
from screening.worksheet import (
    DocumentError,
    WorksheetErrors,
    load_json,
    parse_worksheet,
)

FORMAT = "hazmat-incident-worksheet"
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
    profile: Mapping[str, Any] | None = None,
    teams: Iterable[Mapping[str, Any]] = (),
    instruments: Iterable[Mapping[str, Any]] = (),
    suspects: Iterable[str] = (),
    background_dose_rate: Mapping[str, Any] | None = None,
    at: datetime,
    is_demo: bool = False,
) -> Incident:
    """Open an incident; whoever opens it commands it.

    The shapes are those of the worksheet document. A team and a member may carry a
    `name` beside its `id`; names are kept with the rows and in the opening record.
    Raises `NotAllowedError`, and `EntryRefusedError` with every error of the set-up.
    """
    if person.agency is None or not (person.is_active and person.may_open):
        raise NotAllowedError("You may not open an incident.")
    title = _line(name, "/incident/name")
    about = {
        "name": title,
        "mission": mission,
        "weather": weather,
        "background_dose_rate": background_dose_rate,
    }
    setup, names = _without_names(
        _setup(
            about,
            profile=profile,
            teams=list(teams),
            instruments=list(instruments),
            suspects=list(suspects),
        )
    )
    incident = Incident(
        agency=person.agency,
        name=title,
        location=_line(location, "/location", required=False),
        mission=mission,
        opened_at=at,
        opened_by=person,
        is_demo=is_demo,
        setup=_checked(setup),
    )
    with one_transaction():
        _store_opening(incident, setup, names)
    return incident


def _store_opening(
    incident: Incident, setup: dict[str, Any], names: dict[str, str]
) -> None:
    """The incident's row, its commander, its teams and the first record of its log."""
    incident.save(force_insert=True)
    person, at = incident.opened_by, incident.opened_at
    IncidentRole.objects.create(
        incident=incident, person=person, role=permissions.COMMANDER
    )
    for team in setup["teams"]:
        _add_team_rows(incident, team, names)
    body = {
        "setup": loads(incident.setup),
        "location": incident.location,
        "names": names,
    }
    _record(incident, OPENING, body, person, at)
    save_head(incident)


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
        raise _refused(f"/{unknown[0]}", f"one of {', '.join(sorted(AMENDABLE))}")
    with one_transaction():
        incident = _locked_for_command(incident_id, person)
        setup = loads(incident.setup)
        for key, value in changes.items():
            place = setup["incident"] if key in _OF_INCIDENT else setup
            place[key] = value
            if value is None:
                del place[key]
        incident.mission = setup["incident"].get("mission", "")
        _amend(incident, setup, {}, person, at, reason)
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
        added, names = _without_names({"teams": [team]})
        setup = loads(incident.setup)
        setup["teams"] = [*setup["teams"], *added["teams"]]
        _checked(setup)
        _add_team_rows(incident, added["teams"][0], names)
        _amend(incident, setup, names, person, at, reason)
    return incident


def give_role(
    *, incident_id: UUID, person: Person, to: Person, role: str, at: datetime
) -> IncidentRole:
    """Give someone of the same agency a part in the incident; the log says who did."""
    if role not in IncidentRole.Role.values:
        raise _refused("/role", f"one of {', '.join(IncidentRole.Role.values)}")
    with one_transaction():
        incident = lock(incident_id)
        permissions.require_command(person, incident)
        if to.agency_id != incident.agency_id:
            raise NotAllowedError("Only people of the same agency take part.")
        given, _ = IncidentRole.objects.update_or_create(
            incident=incident, person=to, defaults={"role": role}
        )
        body = {
            "setup": loads(incident.setup),
            "role": {"id": to.pk, "name": to.shown_name, "role": role},
        }
        _record(incident, AMENDMENT, body, person, at)
        save_head(incident)
    return given


def close_incident(
    *, incident_id: UUID, person: Person, at: datetime, reason: str = ""
) -> Incident:
    """Close the log; the closing record says what stood for each team at that time."""
    with one_transaction():
        incident = _locked_for_command(incident_id, person)
        view = judging.judge(incident, engine.live(incident), at)
        body = {
            "reason": clean_text(reason, max_length=2_000),
            "by": person.shown_name,
            "standing": {team.id: team.action.word for team in view.teams},
            "inside": [team.id for team in view.teams if team.clocks.inside],
        }
        entry = _record(incident, CLOSING, body, person, at)
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
        why = clean_text(reason, max_length=2_000)
        if not why:
            raise _refused("/reason", "why the incident is opened again")
        body = {"reason": why, "by": person.shown_name}
        _record(incident, REOPENING, body, person, at)
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


def _amend(
    incident: Incident,
    setup: dict[str, Any],
    names: Mapping[str, str],
    person: Person,
    at: datetime,
    reason: str,
) -> None:
    """Record the new set-up and judge the log again under it."""
    incident.setup = _checked(setup)
    _still_readable(incident, setup)
    body = {
        "setup": loads(incident.setup),
        "names": dict(names),
        "reason": clean_text(reason, max_length=2_000),
        "by": person.shown_name,
    }
    row = _record(incident, AMENDMENT, body, person, at)
    now, found = engine.replay(list(incident.entries.order_by("seq")))
    findings.reconcile(incident=incident, found=found, raised_by=row, by=person)
    save_head(incident, "setup", "mission")
    engine.keep(incident.pk, now)


def _record(
    incident: Incident, kind: str, body: dict[str, Any], person: Person, at: datetime
) -> LogEntry:
    return chain.add_record(
        incident=incident,
        kind=kind,
        body=dumps(body),
        client_uuid=uuid4(),
        observed_at=at,
        recorded_at=at,
        author=person,
    )


def _setup(about: Mapping[str, Any], **parts: Any) -> dict[str, Any]:
    """The worksheet document without its log; what is not known is left out."""
    return {
        "format": FORMAT,
        "version": 1,
        "incident": {key: value for key, value in about.items() if value is not None},
        **{key: value for key, value in parts.items() if value is not None},
    }


def _without_names(setup: dict[str, Any]) -> tuple[dict[str, Any], dict[str, str]]:
    """Take the names out, which the worksheet document has no place for.

    Their keys are "team" and "team/member", by the ids.
    """
    names: dict[str, str] = {}
    teams = []
    for position, team in enumerate(setup["teams"]):
        plain = dict(team)
        key = str(plain.get("id", ""))
        names[key] = _line(
            plain.pop("name", "") or key, f"/teams/{position}/name", required=False
        )
        members = []
        for place, member in enumerate(plain.get("members", ())):
            bare = dict(member)
            of_member = str(bare.get("id", ""))
            names[f"{key}/{of_member}"] = _line(
                bare.pop("name", "") or of_member,
                f"/teams/{position}/members/{place}/name",
                required=False,
            )
            members.append(bare)
        if "members" in plain:
            plain["members"] = members
        teams.append(plain)
    return {**setup, "teams": teams}, names


def _checked(setup: dict[str, Any]) -> str:
    """The set-up's text, if the engine takes it."""
    try:
        text = dumps(setup)
        engine.context_of(load_json(text))
    except TypeError as error:
        raise _refused("", str(error)) from error
    except WorksheetErrors as error:
        raise EntryRefusedError(error.errors) from error
    return text


def _still_readable(incident: Incident, setup: dict[str, Any]) -> None:
    """Refuse a set-up under which an entry of the log could not be read any more."""
    log = incident.entries.exclude(kind__in=APP_KINDS).order_by("seq")
    bodies = [loads(body) for body in log.values_list("body", flat=True)]
    try:
        parse_worksheet({**loads(dumps(setup)), "log": bodies})
    except WorksheetErrors as error:
        raise EntryRefusedError(error.errors) from error


def _add_team_rows(
    incident: Incident, team: Mapping[str, Any], names: Mapping[str, str]
) -> None:
    row = EntryTeam.objects.create(
        incident=incident,
        key=team["id"],
        name=names[team["id"]],
        role=team["role"],
        ensemble=team["ensemble"],
        position=incident.teams.count(),
    )
    Member.objects.bulk_create(
        Member(
            team=row,
            key=member["id"],
            name=names[f"{team['id']}/{member['id']}"],
            position=position,
            cylinder=dumps(member["cylinder"]) if "cylinder" in member else "",
        )
        for position, member in enumerate(team.get("members", ()))
    )


def _line(value: str, pointer: str, *, required: bool = True) -> str:
    try:
        text = clean_text(value, max_length=200, one_line=True)
    except ValueError as error:
        raise _refused(pointer, str(error)) from error
    if required and not text:
        raise _refused(pointer, "a name")
    return text


def _refused(pointer: str, expected: str) -> EntryRefusedError:
    error = DocumentError(pointer=pointer, value="", expected=expected)
    return EntryRefusedError((error,))
