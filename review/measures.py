"""How long things took in one incident, from its log and the findings that were kept.

Every figure is a tuple of single cases, never a mean: what many incidents come to is for
`review.figures`. Times are in seconds, pressures in psi, doses in rem. A case that has no
end (nobody heard it) stays a case: it is counted as missing, never left out.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Final

from review.answers import (
    ACKNOWLEDGED,
    ACTED_ON,
    CLEARED,
    LET_BE_AFTER,
    RAISED,
    Answer,
    FindingRow,
    Outcome,
    Stay,
    Turn,
    answers_of,
)
from screening.coverage import COVERED
from screening.nextcheck import CHECKS
from screening.readings import KINDS
from screening.verdicts import Hazard

__all__ = [
    "ACKNOWLEDGED",
    "ACTED_ON",
    "CLEARED",
    "LATE_AFTER",
    "LET_BE_AFTER",
    "RAISED",
    "AirUse",
    "Answer",
    "FindingRow",
    "LogRow",
    "Measures",
    "Outcome",
    "Turn",
    "is_reading",
    "looked_for",
    "measure",
    "never_looked",
    "stays_of",
]

# House figure, no source: what reached the record later than this was written later.
LATE_AFTER: Final = timedelta(minutes=2)

_OF_LEL: Final = frozenset({Hazard.FLAMMABLE_ATMOSPHERE})
_OF_OXYGEN: Final = frozenset({Hazard.OXYGEN_DEFICIENT, Hazard.OXYGEN_ENRICHED})
_OF_A_CELL: Final = frozenset({Hazard.TOXIC_GAS})
_OF_METER: Final[Mapping[str, frozenset[Hazard]]] = {
    "lel_percent": _OF_LEL,
    "oxygen_percent": _OF_OXYGEN,
    "co_ppm": _OF_A_CELL,
    "h2s_ppm": _OF_A_CELL,
    "voc_ppm": _OF_A_CELL,
    "gases": _OF_A_CELL,
}
# By sensor; every other one is of a toxic gas.
_OVER_RANGE: Final[Mapping[str, frozenset[Hazard]]] = {
    "lel": _OF_LEL,
    "oxygen": _OF_OXYGEN,
}
# Of the hazards that the sheet asks for.
_OF_KIND: Final[Mapping[str, frozenset[Hazard]]] = {
    check.kind: frozenset(check.answers).intersection(COVERED) for check in CHECKS
}


@dataclass(frozen=True, slots=True, kw_only=True)
class LogRow:
    """One record of the log, as plain values."""

    key: str
    kind: str
    at: datetime  # when it was observed
    recorded_at: datetime  # when it reached the record
    team: str = ""
    place: str = ""
    fields: frozenset[str] = frozenset()  # the names of what it says
    over_range: frozenset[str] = frozenset()  # a meter's sensors, with no figure
    target: str = ""  # the entry that it strikes or hears
    member: str = ""
    pressure_psi: Decimal | None = None
    dose_rem: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AirUse:
    """The air of one member: pressures as read, psi."""

    team: str
    member: str
    first_psi: Decimal
    lowest_psi: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Measures:
    """The figures of one incident. Each tuple has one item a case, in order of time."""

    to_finding: tuple[float, ...] = ()  # observed → the engine's first word on it
    # An alarm: what asks a team to stop or withdraw, of one hazard at one place.
    to_heard: tuple[float | None, ...] = ()  # an alarm → acknowledged
    to_acted: tuple[float | None, ...] = ()  # of teams inside: an alarm → acted on
    between_readings: tuple[float, ...] = ()  # of one team, while it is inside
    to_first_reading: tuple[float | None, ...] = ()  # going in → the first reading
    par_gaps: tuple[float, ...] = ()  # stretches inside without a roll call
    never_looked: tuple[str, ...] = ()  # hazards that no reading was a look for
    answers: tuple[Answer, ...] = ()
    air: tuple[AirUse, ...] = ()
    dose_rem: Mapping[str, Decimal] = field(default_factory=dict)  # highest, by team
    readings: int = 0
    struck: int = 0
    written_later: int = 0


def measure(
    log_rows: Iterable[LogRow], findings: Iterable[FindingRow], until: datetime
) -> Measures:
    """The figures of an incident up to a moment; `until` is its end where it is closed.

    Superseded findings count for nothing here: the log no longer says them. A struck
    reading is no look at anything, though what it led to was shown and is counted.
    """
    rows = sorted(log_rows, key=lambda row: (row.at, row.key))
    stands = [found for found in findings if not found.superseded]
    struck = {row.target for row in rows if row.kind == "strike"}
    good = [row for row in rows if row.key not in struck]
    answers = tuple(answers_of(stands, stays_of(good), until))
    return Measures(
        to_finding=tuple(_to_finding(rows, stands)),
        to_heard=_one_each(answers, "heard_after"),
        to_acted=_one_each([a for a in answers if a.inside], "acted_after"),
        between_readings=tuple(_between(good)),
        to_first_reading=tuple(_first_readings(good)),
        par_gaps=tuple(_par_gaps(good, until)),
        never_looked=never_looked(good),
        answers=answers,
        air=tuple(_air(good)),
        dose_rem=_doses(good),
        readings=sum(is_reading(row) for row in good),
        struck=len(struck),
        written_later=sum(row.recorded_at - row.at > LATE_AFTER for row in rows),
    )


def is_reading(row: LogRow) -> bool:
    kind = KINDS.get(row.kind)
    return kind is not None and kind.is_reading


def looked_for(row: LogRow) -> frozenset[Hazard]:
    """The hazards that a reading was a look for, whether or not it could tell."""
    if row.kind == "gas_meter":
        read = (_OF_METER.get(name, frozenset()) for name in row.fields)
        over = (_OVER_RANGE.get(sensor, _OF_A_CELL) for sensor in row.over_range)
        return frozenset().union(*read, *over)
    return _OF_KIND.get(row.kind, frozenset())


def never_looked(rows: Iterable[LogRow]) -> tuple[str, ...]:
    """The hazards that none of these rows was a look for, in the order of the sheet."""
    seen: frozenset[Hazard] = frozenset().union(*map(looked_for, rows))
    return tuple(hazard.value for hazard in COVERED if hazard not in seen)


def _to_finding(rows: Sequence[LogRow], found: Sequence[FindingRow]) -> Iterator[float]:
    """One case for each entry that something was found at."""
    first: dict[str, datetime] = {}
    for each in found:
        first[each.entry] = min(each.said_at, first.get(each.entry, each.said_at))
    for row in rows:
        if row.key in first:
            yield (first[row.key] - row.at).total_seconds()


def _one_each(answers: Sequence[Answer], name: str) -> tuple[float | None, ...]:
    """One case for each cause and team, however many rules spoke: the first answer."""
    cases: dict[tuple[str, ...], float | None] = {}
    for answer in answers:
        key = (answer.entry, answer.team, answer.hazard, answer.place)
        value: float | None = getattr(answer, name)
        known = cases.setdefault(key, value)
        if value is not None and (known is None or value < known):
            cases[key] = value
    return tuple(cases.values())


def _by_team(rows: Iterable[LogRow]) -> dict[str, list[LogRow]]:
    teams: dict[str, list[LogRow]] = {}
    for row in rows:
        if row.team:
            teams.setdefault(row.team, []).append(row)
    return teams


def _between(rows: Sequence[LogRow]) -> Iterator[float]:
    """From one reading of a team to its next, both in one stay inside."""
    for of_team in _by_team(rows).values():
        last: datetime | None = None
        inside = False
        for row in of_team:
            if row.kind in ("enter", "exit"):
                inside, last = row.kind == "enter", None
            elif inside and is_reading(row):
                if last is not None:
                    yield (row.at - last).total_seconds()
                last = row.at


def _first_readings(rows: Sequence[LogRow]) -> Iterator[float | None]:
    """One case for each time that a team went in; None where it read nothing."""
    for of_team in _by_team(rows).values():
        entered: datetime | None = None
        for row in of_team:
            if row.kind in ("enter", "exit"):
                if entered is not None:
                    yield None
                entered = row.at if row.kind == "enter" else None
            elif entered is not None and is_reading(row):
                yield (row.at - entered).total_seconds()
                entered = None
        if entered is not None:
            yield None


def stays_of(rows: Iterable[LogRow]) -> dict[str, list[Stay]]:
    """When each team went in and came out, in order; None for not out again.

    As `screening.stays`: in by an `enter`, or by the first reading of a team that has
    logged neither that nor an `exit`.
    """
    stays: dict[str, list[Stay]] = {}
    moved: set[str] = set()  # the teams that logged either
    for row in rows:
        known = stays.setdefault(row.team, [])
        inside = bool(known) and known[-1][1] is None
        came = row.kind == "enter" or (is_reading(row) and row.team not in moved)
        if came and not inside:
            known.append((row.at, None))
        elif row.kind == "exit" and inside:
            known[-1] = (known[-1][0], row.at)
        if row.kind in ("enter", "exit"):
            moved.add(row.team)
    return stays


def _par_gaps(rows: Sequence[LogRow], until: datetime) -> Iterator[float]:
    """From going in, or a roll call, to the next roll call, or to coming out."""
    for of_team in _by_team(rows).values():
        since: datetime | None = None
        for row in of_team:
            if row.kind not in ("enter", "par", "exit"):
                continue
            if since is not None and row.kind != "enter":
                yield (row.at - since).total_seconds()
            if row.kind == "exit":
                since = None
            elif row.kind == "enter" or since is not None:
                since = row.at
        if since is not None:
            yield (until - since).total_seconds()


def _air(rows: Sequence[LogRow]) -> Iterator[AirUse]:
    read: dict[tuple[str, str], list[Decimal]] = {}
    for row in rows:
        if row.kind == "air_check" and row.pressure_psi is not None:
            read.setdefault((row.team, row.member), []).append(row.pressure_psi)
    for (team, member), pressures in read.items():
        yield AirUse(
            team=team,
            member=member,
            first_psi=pressures[0],
            lowest_psi=min(pressures),
        )


def _doses(rows: Sequence[LogRow]) -> dict[str, Decimal]:
    highest: dict[str, Decimal] = {}
    for row in rows:
        if row.dose_rem is not None:
            highest[row.team] = max(row.dose_rem, highest.get(row.team, row.dose_rem))
    return highest
