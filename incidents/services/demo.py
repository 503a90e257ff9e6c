"""The invented incident of `demo_fixtures/`, played through the services of the web.

The fixture is a worksheet document like any other, with the times of one afternoon in
May. Playing it moves them all so that it ends now: what stands there is then live.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, Final
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import transaction

from incidents.documents import dumps, loads
from incidents.models import (
    Agency,
    Incident,
    IncidentRole,
    Instrument,
    Person,
)
from incidents.services.drill_scripts import add_script
from incidents.services.entries import append_entry
from incidents.services.incidents import close_incident, open_incident
from incidents.services.parts import give_role
from incidents.services.people import random_password
from incidents.services.permissions import TECHNICIAN_KINDS
from incidents.services.plan import record_part
from incidents.services.profiles import Draft, add_version
from screening.worksheet import load_json

COMMANDER = IncidentRole.Role.COMMANDER.value
TECHNICIAN = IncidentRole.Role.TECHNICIAN.value
TRAINING_OFFICER = IncidentRole.Role.TRAINING_OFFICER.value
# From the reading to the server, where nothing held it up.
ON_THE_WAY: Final = timedelta(seconds=10)
BEFORE_THE_FIRST: Final = timedelta(minutes=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Scenario:
    """A worksheet document, and what such a document has no place for."""

    document: Mapping[str, Any]
    about: Mapping[str, Any]
    plan: Sequence[Mapping[str, Any]]  # part, item, what it says, and when

    @property
    def log(self) -> list[Mapping[str, Any]]:
        """The entries in the order in which they reached the server."""
        return sorted(self.document["log"], key=self.recorded_at)

    @property
    def served_log(self) -> list[Mapping[str, Any]]:
        """As far as the demo has it: one team is still inside."""
        log = self.log
        last = [entry["id"] for entry in log].index(self.about["served_until"])
        return log[: last + 1]

    def recorded_at(self, entry: Mapping[str, Any]) -> datetime:
        late = self.about["recorded_late"].get(entry["id"])
        if late is not None:
            return datetime.fromisoformat(late)
        return datetime.fromisoformat(entry["at"]) + ON_THE_WAY


@dataclass(frozen=True, slots=True, kw_only=True)
class Crew:
    """The agency and one person of each role."""

    agency: Agency
    by_role: Mapping[str, Person]

    def author_of(self, kind: str) -> Person:
        return self.by_role[TECHNICIAN if kind in TECHNICIAN_KINDS else COMMANDER]


def scenario() -> Scenario:
    folder: Path = settings.BASE_DIR / "demo_fixtures"
    return Scenario(
        document=load_json((folder / "pool_supply_store.json").read_bytes()),
        about=load_json((folder / "people.json").read_bytes()),
        plan=loads((folder / "pool_supply_plan.json").read_text("utf-8")),
    )


def served_incident(play: Scenario) -> Incident | None:
    """The incident that was played as far as the demo has it, if it was."""
    last = play.log[-1]["id"]
    demos = Incident.objects.real().filter(
        is_demo=True,
        agency__slug=play.about["agency"]["slug"],
        name=play.document["incident"]["name"],
    )
    for incident in demos.order_by("opened_at"):
        to_the_end = incident.entries.filter(client_uuid=uuid5(incident.pk, last))
        if not to_the_end.exists():
            return incident
    return None


@transaction.atomic
def set_up(play: Scenario, *, now: datetime) -> Crew:
    """The agency with its people, limits and instruments; what is there stays."""
    agency, _ = Agency.objects.get_or_create(
        slug=play.about["agency"]["slug"], defaults=play.about["agency"]
    )
    crew = Crew(agency=agency, by_role=dict(_people(play, agency)))
    _sop(play, agency, crew.by_role[TRAINING_OFFICER], now)
    for instrument in play.document["instruments"]:
        Instrument.objects.get_or_create(
            agency=agency,
            key=instrument["id"],
            defaults={
                "label": play.about["instruments"][instrument["id"]],
                "kind": instrument["kind"],
                "daily_test": instrument["kind"] == "gas_meter",
                "document": dumps(instrument),
            },
        )
    return crew


def add_drills(crew: Crew, *, now: datetime) -> None:
    """The ready drills of `demo_fixtures/drills/`, each once."""
    folder: Path = settings.BASE_DIR / "demo_fixtures" / "drills"
    for file in sorted(folder.glob("*.json")):
        add_script(
            person=crew.by_role[TRAINING_OFFICER], file=file.read_bytes(), at=now
        )


def _sop(play: Scenario, agency: Agency, author: Person, now: datetime) -> None:
    """The version that the incident is judged by, and the one that it replaced."""
    profile, about = play.document["profile"], play.about["sop"]
    versions = agency.sop_profiles.filter(name=profile["name"])
    if versions.exists():
        return
    previous = None
    for one in (about["before"], about | profile):
        at = now - timedelta(days=int(one["days_before"]))
        previous = add_version(
            person=author,
            draft=Draft(
                name=profile["name"],
                version=one["version"],
                approved_by=about["approved_by"],
                effective_on=at.astimezone(ZoneInfo(agency.time_zone)).date(),
                limits=one["limits"],
                previous=previous,
            ),
            at=at,
        )


def _people(play: Scenario, agency: Agency) -> Iterator[tuple[str, Person]]:
    for person in play.about["people"]:
        known = Person.objects.filter(agency=agency, username=person["username"])
        yield (
            person["role"],
            known.first()
            or Person.objects.create_user(
                username=person["username"],
                display_name=person["display_name"],
                agency=agency,
                may_open=person["role"] == COMMANDER,
                may_edit_sop=person["role"] == TRAINING_OFFICER,
                may_review=person["role"] == TRAINING_OFFICER,
                is_agency_owner=person["role"] == TRAINING_OFFICER,
            ),
        )


@transaction.atomic
def new_passwords(crew: Crew, *, replace: bool) -> dict[str, str]:
    """Passwords made at random, by username, for those who have none yet.

    `replace`: for everyone.
    """
    made = {}
    for person in crew.by_role.values():
        if replace or not person.has_usable_password():
            made[person.username] = random_password()
            person.set_password(made[person.username])
            person.save(update_fields=["password"])
    return made


@transaction.atomic
def play_served(play: Scenario, crew: Crew, *, now: datetime) -> Incident:
    """The incident that is still open, its last entry just recorded."""
    return _play(play, play.served_log, crew, now)


@transaction.atomic
def play_to_the_end(play: Scenario, crew: Crew, *, now: datetime) -> Incident:
    """The whole incident, closed now."""
    incident = _play(play, play.log, crew, now)
    for said in play.plan:
        if _at(said) > play.recorded_at(play.log[-1]):
            shift = now.replace(microsecond=0) - _at(said)
            _say(incident, crew, said, shift)
    return close_incident(
        incident_id=incident.pk,
        person=crew.by_role[COMMANDER],
        at=now,
        reason="Handed over to the store's contractor",
    )


def _play(
    play: Scenario, log: list[Mapping[str, Any]], crew: Crew, now: datetime
) -> Incident:
    """All of it or nothing, every entry by the service that the pages use."""
    shift = now.replace(microsecond=0) - play.recorded_at(log[-1])
    first = datetime.fromisoformat(log[0]["at"]) + shift - BEFORE_THE_FIRST
    incident = _open(play, crew, shift, at=first)
    zone = ZoneInfo(crew.agency.time_zone)
    waiting = list(play.plan)
    for entry in log:
        while waiting and _at(waiting[0]) <= play.recorded_at(entry):
            _say(incident, crew, waiting.pop(0), shift)
        key = uuid5(incident.pk, entry["id"])
        at = (datetime.fromisoformat(entry["at"]) + shift).astimezone(zone)
        append_entry(
            incident_id=incident.pk,
            person=crew.author_of(entry["kind"]),
            body=_body(entry, incident.pk) | {"id": str(key), "at": at.isoformat()},
            client_uuid=key,
            recorded_at=play.recorded_at(entry) + shift,
        )
    incident.refresh_from_db()
    return incident


def _at(said: Mapping[str, Any]) -> datetime:
    return datetime.fromisoformat(said["at"])


def _say(
    incident: Incident, crew: Crew, said: Mapping[str, Any], shift: timedelta
) -> None:
    """One part of the commander's plan, its times moved with all others."""
    record_part(
        incident_id=incident.pk,
        person=crew.by_role[COMMANDER],
        part=said["part"],
        item=said.get("item", ""),
        says={key: _shifted(value, shift) for key, value in said["says"].items()},
        at=_at(said) + shift,
    )


def _shifted(value: Any, shift: timedelta) -> Any:
    """A time moved; everything else as it is."""
    if not isinstance(value, str):
        return value
    try:
        moment = datetime.fromisoformat(value)
    except ValueError:
        return value
    return (moment + shift).isoformat() if moment.tzinfo else value


def _body(entry: Mapping[str, Any], incident_id: UUID) -> dict[str, Any]:
    """The entry, pointing to others by the ids that they have in this incident."""
    if "entry" in entry:
        return {**entry, "entry": str(uuid5(incident_id, entry["entry"]))}
    return dict(entry)


def _open(play: Scenario, crew: Crew, shift: timedelta, *, at: datetime) -> Incident:
    about, profile = play.document["incident"], play.document["profile"]
    sop = crew.agency.sop_profiles.get(name=profile["name"], version=profile["version"])
    incident = open_incident(
        person=crew.by_role[COMMANDER],
        name=about["name"],
        location=play.about["location"],
        mission=about["mission"],
        weather=about["weather"],
        teams=[_named(team, play.about["names"]) for team in play.document["teams"]],
        instruments=[_moved(item, shift) for item in play.document["instruments"]],
        suspects=play.document["suspects"],
        background_dose_rate=about["background_dose_rate"],
        sop=sop,
        at=at,
        is_demo=True,
    )
    for role, person in crew.by_role.items():
        if role != COMMANDER:
            give_role(
                incident_id=incident.pk,
                person=crew.by_role[COMMANDER],
                to=person,
                role=role,
                at=at,
            )
    return incident


def _named(team: Mapping[str, Any], names: Mapping[str, str]) -> dict[str, Any]:
    members = [
        {**member, "name": names[member["id"]]} for member in team.get("members", ())
    ]
    return {**team, "name": names[team["id"]], "members": members}


def _moved(instrument: Mapping[str, Any], shift: timedelta) -> dict[str, Any]:
    """The instrument with its calibration as far off as the fixture has it."""
    if "calibration_due" not in instrument:
        return dict(instrument)
    due = datetime.fromisoformat(instrument["calibration_due"]).date()
    return {**instrument, "calibration_due": (due + shift).isoformat()}
