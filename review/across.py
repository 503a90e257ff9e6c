"""Many incidents together: what took how long, what was let be, what nobody looked for."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from review.figures import Share, Spread, most_first, spread, spreads
from review.measures import Outcome
from screening.verdicts import Action

By = Literal["year", "rule", "place"]
# The name of each figure is that of its field in `review.measures.Measures`.
SERIES: Final = (
    "to_finding",
    "to_heard",
    "to_acted",
    "to_first_reading",
    "between_readings",
    "par_gaps",
)
# Figures of a single Stop or Withdraw, so that they can be told apart by rule and place.
OF_A_STOP: Final[Mapping[str, str]] = {
    "to_heard": "heard_after",
    "to_acted": "acted_after",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Stop:
    """One Stop or Withdraw that one rule said, and what became of it; seconds."""

    number: int  # of the rule; 0 for a statement that is none
    rule: str
    action: Action
    place: str
    heard_after: float | None
    acted_after: float | None  # None too for a team that was outside
    inside: bool  # whether the team was
    outcome: Outcome


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """The figures of one incident."""

    year: int
    series: Mapping[str, Sequence[float | None]]
    never_looked: Sequence[str]
    stops: Sequence[Stop]


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """One line of a table: the year, rule or place, and how its cases lie."""

    key: str
    spread: Spread


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """What became of every Stop and Withdraw of one rule."""

    number: int
    rule: str
    said: int
    withdraw: int
    heard: int
    acted_on: int
    stayed_out: int
    lifted: int
    let_be: int
    open: int

    def share(self, part: int) -> Share:
        return Share(part=part, whole=self.said)

    @property
    def always_let_be(self) -> bool:
        return self.let_be == self.said


def groups(every: Sequence[Kept], name: str, by: By) -> list[Group]:
    """How the cases of one figure lie, by year, or by rule or place where it has one.

    Years come in order, rules by their number, places with the most cases first. A
    figure that has neither rule nor place comes by year.
    """
    if by == "year" or name not in OF_A_STOP:
        by_year: defaultdict[int, list[float | None]] = defaultdict(list)
        for one in every:
            by_year[one.year] += one.series[name]
        return [
            Group(key=str(year), spread=spread(by_year[year]))
            for year in sorted(by_year)
            if by_year[year]
        ]
    field = OF_A_STOP[name]
    # A team that is outside has nothing to do but to stay there.
    asked = name != "to_acted"
    stops = [stop for one in every for stop in one.stops if asked or stop.inside]
    if by == "rule":
        of_rule = spreads(((s.number, s.rule), getattr(s, field)) for s in stops)
        return [Group(key=rule, spread=of_rule[n, rule]) for n, rule in sorted(of_rule)]
    of_place = spreads((_key(s.place), getattr(s, field)) for s in stops)
    return [Group(key=key, spread=found) for key, found in most_first(of_place)]


def _key(place: str) -> str:
    """Places that differ in capitals only are one, as on the sheet."""
    return place.casefold()


def tallies(every: Iterable[Kept]) -> list[Tally]:
    """What became of the stops of each rule, the rule with the most first."""
    by_rule: defaultdict[tuple[int, str], list[Stop]] = defaultdict(list)
    for one in every:
        for stop in one.stops:
            by_rule[stop.number, stop.rule].append(stop)
    found = [_tally(*key, stops) for key, stops in by_rule.items()]
    return sorted(found, key=lambda tally: (-tally.said, tally.number, tally.rule))


def _tally(number: int, rule: str, stops: Sequence[Stop]) -> Tally:
    became = Counter(stop.outcome for stop in stops)
    return Tally(
        number=number,
        rule=rule,
        said=len(stops),
        withdraw=sum(stop.action is Action.WITHDRAW for stop in stops),
        heard=sum(stop.heard_after is not None for stop in stops),
        acted_on=became[Outcome.ACTED_ON],
        stayed_out=became[Outcome.STAYED_OUT],
        lifted=became[Outcome.LIFTED],
        let_be=became[Outcome.LET_BE],
        open=became[Outcome.OPEN],
    )


def never_looked(every: Sequence[Kept]) -> Iterator[tuple[str, Share]]:
    """In how many incidents nobody looked for a hazard, the most forgotten first."""
    counts = Counter(hazard for one in every for hazard in one.never_looked)
    for hazard, count in counts.most_common():
        yield hazard, Share(part=count, whole=len(every))
