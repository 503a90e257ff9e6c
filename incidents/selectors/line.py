"""Who is where, and the decon line."""

from dataclasses import dataclass
from datetime import datetime

from command.plan import Plan
from command.whereabouts import Clean, Person, clean
from incidents import engine, plans
from incidents.line import people_of
from incidents.models import Incident
from incidents.moments import moment_of


@dataclass(frozen=True, slots=True, kw_only=True)
class LineRow:
    """One person, where they are and how they stand at the line."""

    person: Person
    clean: Clean


@dataclass(frozen=True, slots=True, kw_only=True)
class LineView:
    incident: Incident
    at: datetime
    plan: Plan
    people: tuple[LineRow, ...]


def line(incident: Incident, at: datetime) -> LineView:
    """Everyone at a moment, in an incident that has ended at its end.

    One query once the names are known, two of one that has ended, and those of the engine.
    """
    plan = plans.plan_of(incident)
    now = engine.live(incident)
    at = moment_of(incident, now, at)
    people = people_of(incident, plan, now.state, at)
    return LineView(
        incident=incident,
        at=at,
        plan=plan,
        people=tuple(
            LineRow(person=person, clean=clean(person, plan, at)) for person in people
        ),
    )
