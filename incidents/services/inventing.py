"""Invented incidents, played through the services of the web into the demo's agency.

Their people are the archive's own, without a password: nobody signs in as one of them,
and the list of those who do sign in stays short.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, Final
from uuid import UUID, uuid5
from zoneinfo import ZoneInfo

from incidents.models import Agency, Incident, Person, SopProfile
from incidents.services.entries import append_entry
from incidents.services.incidents import close_incident, open_incident
from incidents.services.locking import one_transaction
from incidents.services.parts import give_role
from incidents.services.permissions import TECHNICIAN
from incidents.services.profiles import Draft, add_version
from incidents.services.records import write_note
from review.inventing import FIRST_DAY, Invented, Said
from review.inventing.told import COMMANDER

# Every incident's id follows from this, the seed and the number.
NAMESPACE: Final = UUID("6f1f6c2e-5d0b-5a44-9d2c-6a1f4f1b7e21")
SOP: Final = "Example County SOP"
# The second edition asks for a roll call more often. Both are older than the demo's.
EDITIONS: Final[Sequence[tuple[str, date, int]]] = (
    ("1", FIRST_DAY.date() - timedelta(days=30), 20),
    ("2", date(2024, 1, 8), 15),
)
APPROVED_BY: Final = "Chief M. Arden"
WRITER: Final = ("archive-training", "Ida Fennel")
CREWS: Final = (
    (("archive-commander-1", "Inés Marsh"), ("archive-technician-1", "Olek Reed")),
    (("archive-commander-2", "Théo Linden"), ("archive-technician-2", "Bea Sorrel")),
    (("archive-commander-3", "Rosa Quill"), ("archive-technician-3", "Jörn Heath")),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cast:
    """Who plays: the agency, its crews of commander and technician, its two editions."""

    agency: Agency
    crews: Sequence[tuple[Person, Person]]
    editions: Sequence[SopProfile]

    def edition_at(self, at: datetime) -> SopProfile:
        day = at.astimezone(ZoneInfo(self.agency.time_zone)).date()
        return [one for one in self.editions if one.effective_on <= day][-1]


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """How far the making is; `entries` counts what was appended."""

    made: int
    known: int  # there from a run before
    entries: int


def cast_for(agency: Agency) -> Cast:
    """The people and editions of the archive, made where they are not there yet."""
    with one_transaction():
        writer = _person(agency, WRITER, may_edit_sop=True)
        return Cast(
            agency=agency,
            crews=[
                (_person(agency, first, may_open=True), _person(agency, second))
                for first, second in CREWS
            ],
            editions=list(_editions(agency, writer)),
        )


def _person(agency: Agency, named: tuple[str, str], **may: Any) -> Person:
    username, name = named
    known = Person.objects.filter(agency=agency, username=username).first()
    return known or Person.objects.create_user(
        username=username, display_name=name, agency=agency, **may
    )


def _editions(agency: Agency, writer: Person) -> Iterable[SopProfile]:
    previous = None
    for version, day, minutes in EDITIONS:
        known = agency.sop_profiles.filter(name=SOP, version=version).first()
        previous = known or add_version(
            person=writer,
            draft=Draft(
                name=SOP,
                version=version,
                approved_by=APPROVED_BY,
                effective_on=day,
                limits={"par_interval": {"value": minutes, "unit": "min"}},
                previous=previous,
            ),
            at=datetime(day.year, day.month, day.day, 17, tzinfo=FIRST_DAY.tzinfo),
        )
        yield previous


def play_archive(
    stories: Iterable[Invented],
    cast: Cast,
    *,
    tell: Callable[[Played], None] = lambda played: None,
) -> Played:
    """Every incident that is not there yet, each in one transaction of its own.

    `tell` hears how far it is after each.
    """
    played = Played(made=0, known=0, entries=0)
    for story in stories:
        if Incident.objects.filter(pk=id_of(story)).exists():
            played = Played(
                made=played.made, known=played.known + 1, entries=played.entries
            )
        else:
            play(story, cast)
            played = Played(
                made=played.made + 1,
                known=played.known,
                entries=played.entries + len(story.log),
            )
        tell(played)
    return played


def id_of(story: Invented) -> UUID:
    return uuid5(NAMESPACE, f"{story.seed}/{story.number}")


def play(story: Invented, cast: Cast) -> Incident:
    """One incident from its opening to its closing, or nothing of it."""
    commander, technician = cast.crews[story.crew]
    with one_transaction():
        incident = begin(story, cast)
        give_role(
            incident_id=incident.pk,
            person=commander,
            to=technician,
            role=TECHNICIAN,
            at=story.opened_at,
        )
        for said in story.log:
            by = commander if said.by == COMMANDER else technician
            _append(incident, said, by)
        return close_incident(
            incident_id=incident.pk,
            person=commander,
            at=story.closed_at,
            reason=story.closing,
        )


def begin(story: Invented, cast: Cast) -> Incident:
    """The incident as its commander opens it, with nothing in its log yet."""
    about = story.document["incident"]
    return open_incident(
        person=cast.crews[story.crew][0],
        name=about["name"],
        location=story.location,
        mission=about["mission"],
        weather=about["weather"],
        teams=story.document["teams"],
        instruments=story.document["instruments"],
        suspects=story.document["suspects"],
        background_dose_rate=about["background_dose_rate"],
        sop=cast.edition_at(story.opened_at),
        at=story.opened_at,
        is_demo=True,
        first_parts=story.plan,
        key=id_of(story),
    )


def _append(incident: Incident, said: Said, by: Person) -> None:
    body = dict(said.body)
    key = uuid5(incident.pk, body["id"])
    if body["kind"] == "note":
        write_note(
            text=body["text"],
            team=body["team"],
            place=body["place"],
            incident_id=incident.pk,
            person=by,
            client_uuid=key,
            at=datetime.fromisoformat(body["at"]),
            recorded_at=said.recorded_at,
        )
        return
    append_entry(
        incident_id=incident.pk,
        person=by,
        body=_pointing(body, incident.pk) | {"id": str(key)},
        client_uuid=key,
        recorded_at=said.recorded_at,
    )


def _pointing(body: Mapping[str, Any], incident_id: UUID) -> dict[str, Any]:
    """The entry, naming another by the id that it has in this incident."""
    if "entry" in body:
        return {**body, "entry": str(uuid5(incident_id, body["entry"]))}
    return dict(body)
