"""What people wrote down of one person: decon, injuries, notices, what was volunteered."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from command.line_parts import MEANS as CHECKED_WITH
from command.line_parts import METHODS, NOTED, OUTCOMES, ROUTES
from command.plan import Plan
from command.whereabouts import Person, checks_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """Something noted of the person."""

    at: datetime
    title: str
    words: str


def of_people(plan: Plan) -> Iterator[Any]:
    for part in ("exposure_note", "decon_line", "notice", "volunteer", "decon_check"):
        yield from plan.history(part)


def names(says: Any, person: Person) -> bool:
    who = (says.who,) if isinstance(says.who, str) else says.who
    return any(Person(name=name).key == person.key for name in who)


def decon(plan: Plan, person: Person, hide: Callable[[str], str]) -> Iterator[Line]:
    lines = [
        Line(
            at=record.at,
            title=f"Through decon, {METHODS[record.says.method].lower()}",
            words=hide(
                _joined(record.says.agent, record.says.stages, record.says.held)
            ),
        )
        for record in plan.history("decon_line")
        if names(record.says, person)
    ]
    lines += [
        Line(
            at=at,
            title=OUTCOMES[says.outcome],
            words=hide(
                _joined(
                    CHECKED_WITH.get(says.means, ""),
                    says.instrument,
                    says.showed,
                    says.why,
                )
            ),
        )
        for at, says in checks_of(person, plan)
    ]
    yield from sorted(lines, key=lambda line: line.at)


def noted(plan: Plan, person: Person, hide: Callable[[str], str]) -> Iterator[Line]:
    for record in plan.history("exposure_note"):
        says = record.says
        if names(says, person):
            route = ROUTES.get(says.route, "")
            yield Line(
                at=record.at,
                title=NOTED[says.what],
                words=hide(
                    _joined(
                        f"agent {says.agent}",
                        f"route: {route.lower()}" if route else "",
                        says.words,
                    )
                ),
            )


def notices(plan: Plan, person: Person, hide: Callable[[str], str]) -> Iterator[Line]:
    for record in plan.history("notice"):
        if names(record.says, person):
            yield Line(
                at=record.at,
                title=f"By {record.says.by}",
                words=hide(record.says.told),
            )


def volunteered(
    plan: Plan, person: Person, hide: Callable[[str], str]
) -> Iterator[Line]:
    for record in plan.history("volunteer"):
        if names(record.says, person):
            yield Line(
                at=record.at,
                title=f"Told by {record.says.by}",
                words=hide(record.says.words),
            )


def _joined(*parts: str) -> str:
    return "; ".join(part for part in parts if part)
