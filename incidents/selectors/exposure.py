"""Exposure records: who has one, and one person's, derived from log and plan."""

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from command.whereabouts import Person
from incidents import engine, medical, plans
from incidents.line import people_of
from incidents.models import EntryTeam, Incident, StoredFinding
from incidents.moments import moment_of
from reports import exposure


@dataclass(frozen=True, slots=True, kw_only=True)
class Exposed:
    """One person who has a record, and the code of their page."""

    person: Person
    code: str


def exposed_people(incident: Incident, at: datetime) -> list[Exposed]:
    """Everyone who has a record; in a drill nobody.

    One query once the names are known, two after the end.
    """
    if incident.is_drill:
        return []
    plan = plans.plan_of(incident)
    now = engine.live(incident)
    people = people_of(incident, plan, now.state, moment_of(incident, now, at))
    return [
        Exposed(person=person, code=medical.code_of(person.name))
        for person in people
        if exposure.needs_record(person, plan)
    ]


def exposure_record(
    incident: Incident, code: str, at: datetime
) -> exposure.ExposureRecord | None:
    """One person's record, by the code of the name; None for who has none, as in a drill.

    Five queries, however long the log, one more after the end of the incident, and those
    of the engine to catch up.
    """
    if incident.is_drill:
        return None
    whole = _whole(incident, at)
    person = next((p for p in whole.people if medical.code_of(p.name) == code), None)
    if person is None or not exposure.needs_record(person, whole.plan):
        return None
    return exposure.exposure_record(whole, person)


def exposure_records(
    incident: Incident, at: datetime
) -> list[tuple[str, exposure.ExposureRecord]]:
    """Everyone's record with its code. As many queries as for one."""
    whole = _whole(incident, at)
    return [
        (medical.code_of(person.name), exposure.exposure_record(whole, person))
        for person in whole.people
        if exposure.needs_record(person, whole.plan)
    ]


def _whole(incident: Incident, at: datetime) -> exposure.Incident:
    now = engine.live(incident)
    plan = plans.plan_of(incident)
    at = moment_of(incident, now, at)
    teams = EntryTeam.objects.filter(incident=incident).prefetch_related("members")
    return exposure.Incident(
        context=now.context,
        state=now.state,
        plan=plan,
        people=people_of(incident, plan, now.state, at),
        finds=_finds(incident),
        teams={team.key: team.name for team in teams},
        members={
            team.key: {m.key: m.name for m in team.members.all()} for team in teams
        },
        instruments=dict(incident.agency.instruments.values_list("key", "label")),
        opened_at=incident.opened_at.astimezone(ZoneInfo(incident.agency.time_zone)),
        at=at,
    )


def _finds(incident: Incident) -> tuple[exposure.Find, ...]:
    rows = (
        StoredFinding.objects.filter(incident=incident, superseded=False, action__gt=0)
        .exclude(hazard__in=exposure.NO_AGENT)
        .order_by("entry__observed_at", "pk")
        .values_list("entry__observed_at", "hazard", "place", "because", "source")
    )
    return tuple(
        exposure.Find(at=at, hazard=hazard, place=place, because=because, source=source)
        for at, hazard, place, because, source in rows
    )
