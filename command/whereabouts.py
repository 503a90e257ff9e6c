"""Where everyone is and was, and who is clean, from the log and from what was written down.

Pure. A team that goes in takes its people into the hot zone; when it comes out they are in
decon, and stay there until somebody writes down another place. Nobody is clean until a
check after decon found nothing, or was left out with a reason.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Final

from command.documents import name_key
from command.line_parts import DeconCheck, Moved, ThroughDecon
from command.plan import Plan
from command.work_parts import CheckIn
from screening.readings import Entry

HOT: Final = "hot"
IN: Final = frozenset({"cold", "left"})  # where everyone is when an incident ends
DIRTY: Final = frozenset({"hot", "warm", "decon"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Crew:
    """One team and the names of its people."""

    id: str
    name: str
    members: tuple[str, ...]

    @property
    def people(self) -> tuple[str, ...]:
        """Whoever is in it; a team in which nobody is named counts as one."""
        return self.members or (f"{self.name}, nobody named",)


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """From `at` on these people are there."""

    at: datetime
    who: tuple[str, ...]
    where: str
    place: str = ""  # in the hot zone, or a post
    team: str = ""
    arrives: bool = False  # a check-in: it moves nobody who is not clean
    follows: bool = (
        False  # a reading or an exit: it moves those who are in with the team
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Stay:
    """One spell at one place; `until` None where it goes on."""

    where: str
    since: datetime
    until: datetime | None = None
    place: str = ""
    team: str = ""

    def lasted(self, at: datetime) -> timedelta:
        return (self.until or max(at, self.since)) - self.since


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Somebody of the incident, with every spell in order of time."""

    name: str
    named: bool = True  # false of a team in which nobody is named
    teams: tuple[str, ...] = ()  # ids
    stays: tuple[Stay, ...] = ()

    @property
    def key(self) -> str:
        return name_key(self.name)

    @property
    def where(self) -> str:
        """The last place that is known; the cold zone for who never left it."""
        return self.stays[-1].where if self.stays else "cold"

    @property
    def since(self) -> datetime | None:
        return self.stays[-1].since if self.stays else None

    @property
    def place(self) -> str:
        return self.stays[-1].place if self.stays else ""

    @property
    def is_in(self) -> bool:
        return self.where in IN

    def hot(self) -> tuple[Stay, ...]:
        return tuple(stay for stay in self.stays if stay.where == HOT)


def everyone(
    crews: Sequence[Crew], log: Iterable[Entry], plan: Plan, at: datetime
) -> tuple[Person, ...]:
    """All who are in a team, checked in or written down, in that order.

    `log`: the entries that count, in order of time. What lies after `at` is left out.
    """
    people: dict[str, Person] = {}
    for crew in crews:
        for name in crew.people:
            person = Person(name=name, named=bool(crew.members))
            known = people.get(person.key, person)
            people[person.key] = replace(known, teams=(*known.teams, crew.id))
    moves = [*_moves_of_log(crews, log), *_moves_of_plan(plan)]
    for move in sorted(moves, key=lambda each: each.at):
        if move.at > at:
            continue
        for name in move.who:
            known = people.get(name_key(name), Person(name=name))
            people[known.key] = _moved(known, move)
    return tuple(people.values())


def _moves_of_log(crews: Sequence[Crew], log: Iterable[Entry]) -> Iterator[Move]:
    """As the engine moves teams: the first reading puts one in that never came out."""
    people = {crew.id: crew.people for crew in crews}
    inside: dict[str, bool] = {}
    for entry in log:
        who = people.get(entry.team)
        if who is None:
            continue
        goes_in = entry.kind == "enter" or (
            entry.is_reading and entry.team not in inside
        )
        if entry.kind == "exit":
            yield Move(
                at=entry.at, who=who, where="decon", team=entry.team, follows=True
            )
            inside[entry.team] = False
        elif goes_in or (entry.is_reading and inside[entry.team]):
            inside[entry.team] = True
            yield Move(
                at=entry.at,
                who=who,
                where=HOT,
                place=entry.place,
                team=entry.team,
                follows=not goes_in,
            )


def _moves_of_plan(plan: Plan) -> Iterator[Move]:
    for record in plan.history("whereabouts"):
        says: Moved = record.says
        yield Move(at=record.at, who=says.who, where=says.where, place=says.post)
    for item in plan.records.get("check_in", {}):
        for record in plan.history("check_in", item):
            here: CheckIn | None = record.says
            if here is not None and here.where:
                yield Move(
                    at=here.arrived or record.at,
                    who=(here.name,),
                    where=here.where,
                    arrives=True,
                )


def _moved(person: Person, move: Move) -> Person:
    last = person.stays[-1] if person.stays else None
    if move.arrives and last is not None and last.where not in IN:
        return person
    if move.follows and (last is None or (last.where, last.team) != (HOT, move.team)):
        return person
    same = last is not None and (last.where, last.place, last.team) == (
        move.where,
        move.place,
        move.team,
    )
    if same:
        return person
    stays = list(person.stays)
    if stays:
        stays[-1] = replace(stays[-1], until=move.at)
    stays.append(
        Stay(where=move.where, since=move.at, place=move.place, team=move.team)
    )
    return replace(person, stays=tuple(stays))


# --- Who is clean ---------------------------------------------------------------------


class Clean(StrEnum):
    NOT_NEEDED = "no decon needed"
    IN_HOT = "in the hot zone"
    TO_COME = "decon to come"
    NOT_CHECKED = "through decon, not checked"
    FOUND = "still contaminated"
    NOTHING_FOUND = "checked, nothing found"
    WAIVED = "no check, with a reason"


# Whoever is one of these may leave the line.
MAY_LEAVE: Final = frozenset({Clean.NOT_NEEDED, Clean.NOTHING_FOUND, Clean.WAIVED})
_OF_OUTCOME: Final[Mapping[str, Clean]] = {
    "nothing_found": Clean.NOTHING_FOUND,
    "found": Clean.FOUND,
    "waived": Clean.WAIVED,
}


def dirty_since(person: Person) -> datetime | None:
    """When the person last came out of the hot zone, or into the warm one; None for who
    was in neither since being clean. In the hot zone now: the beginning of it."""
    since = None
    for stay in person.stays:
        if stay.where == HOT:
            since = stay.until or stay.since
        elif stay.where in DIRTY and since is None:
            since = stay.since
        elif stay.where in IN:
            since = None
    return since


def clean(person: Person, plan: Plan, at: datetime) -> Clean:
    """How the person stands at the line: only what came after the hot zone counts."""
    if person.where == HOT:
        return Clean.IN_HOT
    since = dirty_since(person)
    if since is None:
        return Clean.NOT_NEEDED
    checks = [
        (checked_at, says.outcome)
        for checked_at, says in checks_of(person, plan)
        if since <= checked_at <= at
    ]
    last_pass = max(passes(person, plan, since, at), default=None)
    if not checks:
        return Clean.TO_COME if last_pass is None else Clean.NOT_CHECKED
    found_at, outcome = checks[-1]
    # Through the line again after something was found: it has to be looked at again.
    if outcome == "found" and last_pass is not None and last_pass > found_at:
        return Clean.NOT_CHECKED
    return _OF_OUTCOME[outcome]


def passes(
    person: Person, plan: Plan, since: datetime, at: datetime
) -> Iterator[datetime]:
    """When the person went through the line."""
    for record in plan.history("decon_line"):
        says: ThroughDecon = record.says
        named = any(name_key(name) == person.key for name in says.who)
        if named and since <= record.at <= at:
            yield record.at


def checks_of(person: Person, plan: Plan) -> Iterator[tuple[datetime, DeconCheck]]:
    for record in plan.history("decon_check"):
        if name_key(record.says.who) == person.key:
            yield record.at, record.says


def not_in(people: Iterable[Person]) -> tuple[Person, ...]:
    """Who is neither in the cold zone nor gone: an incident does not end over them."""
    return tuple(person for person in people if not person.is_in)
