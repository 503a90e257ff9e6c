"""Who is fit to go in. What was measured is read by `services.look_at_checks` alone."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from command.medical import Standing
from command.whereabouts import Person
from incidents import engine, medical, plans
from incidents.line import people_of
from incidents.models import Incident, MedicalAccess

LOOKS_SHOWN = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonFitness:
    """One person of the incident, and how they stand; no figure of theirs."""

    name: str
    code: str
    team_ids: tuple[str, ...]
    teams: tuple[str, ...]  # names
    checked: bool  # whether there is any check of theirs
    standing: Standing


def fitness(incident: Incident, at: datetime) -> list[PersonFitness]:
    """Everyone of the incident, then whoever else was checked.

    Three queries once the names are known, and those of the engine to catch up.
    """
    checked = _names_checked(incident)
    people = _people(incident, at, checked.values())
    standings = medical.standings(incident, people, at)
    names = plans.names_of(incident.pk, incident.setup)
    return [
        PersonFitness(
            name=person.name,
            code=(code := medical.code_of(person.name)),
            team_ids=person.teams,
            teams=tuple(names[team][0] for team in person.teams),
            checked=code in checked,
            standing=standings[person.key],
        )
        for person in people
    ]


def unfit_members(
    incident: Incident, team: str, at: datetime
) -> tuple[PersonFitness, ...]:
    """The members of a team that are not fit to go in: not fit, or not checked.

    `standing.blocks` is true of those that a check keeps out, and of those who came out
    and were not checked since; a member without any check at all, or with one that is too
    old, is named with `blocks` false. Costs what `fitness` costs.
    """
    return tuple(
        row
        for row in fitness(incident, at)
        if team in row.team_ids and row.standing.state != "fit"
    )


def medical_looks(incident: Incident) -> list[MedicalAccess]:
    """Who looked at whose values, the newest first. One query."""
    return list(incident.medical_looks.all()[:LOOKS_SHOWN])


def _people(incident: Incident, at: datetime, checked: Iterable[str]) -> list[Person]:
    plan = plans.plan_of(incident)
    state = engine.live(incident).state
    people = [each for each in people_of(incident, plan, state, at) if each.named]
    known = {person.key for person in people}
    for name in checked:
        person = Person(name=name)
        if person.key not in known:
            known.add(person.key)
            people.append(person)
    return people


def _names_checked(incident: Incident) -> dict[str, str]:
    rows = incident.medical_checks.order_by("seq")
    return dict(rows.values_list("person_code", "person_name"))
