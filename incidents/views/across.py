"""The figures over many incidents as a page shows them: words, charts and tables."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Final

from django.utils.safestring import SafeString, mark_safe

from reports.distributions import Cases, duration, spread_chart
from reports.drawing import svg
from review.across import (
    OF_A_STOP,
    By,
    Group,
    Kept,
    Tally,
    groups,
    never_looked,
    tallies,
)
from review.figures import Share, Spread, spread
from screening.rules import RULES
from screening.verdicts import Hazard

# So many groups are drawn and listed, those with the most cases.
MOST: Final = 20
ALL: Final = "All years"
_SHARES: Final = (0.1, 0.25, 0.5, 0.75, 0.9)
_TITLES: Final = {rule.name: rule.title for rule in RULES}
_OTHERS: Final = {"clear_does_not_hold": "A clear that did not hold"}
_HAZARDS: Final = {hazard.value: hazard.label for hazard in Hazard}
_SAID: Final = {
    "to_finding": (
        "From a reading to its verdict",
        "From when it was read to when the program had said what it means: the way to "
        "the record, mostly. One case for each entry at which something was found.",
        "came to no verdict",
    ),
    "to_heard": (
        "From a Stop or Withdraw to being heard",
        "Until the commander pressed Heard. One case for each hazard at a place and each "
        "team, however often it was read again before it ended or grew worse.",
        "never heard",
    ),
    "to_acted": (
        "From a Stop or Withdraw to being acted on",
        "Of teams inside: until the team came out or changed what it wears, the place was "
        "ventilated or a PAR answered. Cases as above.",
        "never acted on",
    ),
    "to_first_reading": (
        "From going in to the first reading",
        "One case each time a team went in.",
        "without a reading",
    ),
    "between_readings": (
        "Between two readings of a team that is inside",
        "Within one stay; a struck reading is none.",
        "",
    ),
    "par_gaps": (
        "Inside without a PAR",
        "From going in or a PAR to the next PAR, or to coming out.",
        "",
    ),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One row of a table; times in words, "" where there are too few cases."""

    name: str
    n: int
    missing: int
    quantiles: tuple[str, ...]
    cases: str  # each of them, where they are few
    is_whole: bool  # of all groups together


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """One figure: its chart and the table that says the same."""

    key: str
    title: str
    about: str
    lacking: str  # what the missing are; "" where none can be
    chart: SafeString
    lines: Sequence[Line]
    left_out: int
    of: str  # year, rule or place

    @property
    def has_few(self) -> bool:
        """Whether a line has its cases in place of a median: they are to be read."""
        return any(line.cases for line in self.lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleLine:
    """What became of the stops of one rule."""

    number: int
    title: str
    stop: int
    withdraw: int
    heard: Share
    acted_on: Share
    stayed_out: Share
    lifted: Share
    let_be: Share
    open: int


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """All of the page."""

    incidents: int
    sections: Sequence[Section]
    rules: Sequence[RuleLine]
    always_let_be: Sequence[RuleLine]
    never_looked: Sequence[tuple[str, Share]]


def view_of(every: Sequence[Kept], by: By) -> View:
    found = tallies(every)
    lines = [_rule_line(tally) for tally in found]
    return View(
        incidents=len(every),
        sections=[_section(every, name, by) for name in _SAID],
        rules=lines,
        always_let_be=[
            line
            for tally, line in zip(found, lines, strict=True)
            if tally.always_let_be
        ],
        never_looked=[
            (_HAZARDS.get(key, key), share) for key, share in never_looked(every)
        ],
    )


def _section(every: Sequence[Kept], name: str, by: By) -> Section:
    title, about, lacking = _SAID[name]
    of: By = by if name in OF_A_STOP else "year"
    found = groups(every, name, of)
    shown = found[:MOST] if of == "place" else found
    if of == "year" and len(found) > 1:
        shown = [*found, _all_of(every, name)]
    named = [(_named(group, of), group.spread) for group in shown]
    chart = spread_chart(title, [_cases(words, one) for words, one in named])
    return Section(
        key=name,
        title=title,
        about=about,
        lacking=lacking,
        # The drawing escapes every text that came from people (reports.drawing).
        chart=mark_safe(svg(chart, f"chart-{name}")),
        lines=[_line(words, one) for words, one in named],
        left_out=max(0, len(found) - len(shown)),
        of=of,
    )


def _all_of(every: Sequence[Kept], name: str) -> Group:
    values = chain.from_iterable(one.series[name] for one in every)
    return Group(key=ALL, spread=spread(values))


def _named(group: Group, of: By) -> str:
    if of == "rule":
        return title_of(group.key)
    return group.key or "No place"


def title_of(rule: str) -> str:
    return _TITLES.get(rule) or _OTHERS.get(rule) or rule.replace("_", " ").capitalize()


def _cases(name: str, found: Spread) -> Cases:
    quantiles = [found.at(share) for share in _SHARES]
    low, first, middle, third, high = quantiles
    if low is None or first is None or middle is None or third is None or high is None:
        return Cases(name=name, n=found.n, missing=found.missing, single=found.cases)
    return Cases(
        name=name,
        n=found.n,
        missing=found.missing,
        quantiles=(low, first, middle, third, high),
    )


def _line(name: str, found: Spread) -> Line:
    at = [found.at(share) for share in _SHARES]
    return Line(
        name=name,
        n=found.n,
        missing=found.missing,
        quantiles=tuple(duration(one) for one in at if one is not None),
        cases=", ".join(map(duration, found.cases)) if found.few else "",
        is_whole=name == ALL,
    )


def _rule_line(tally: Tally) -> RuleLine:
    return RuleLine(
        number=tally.number,
        title=title_of(tally.rule),
        stop=tally.said - tally.withdraw,
        withdraw=tally.withdraw,
        heard=tally.share(tally.heard),
        acted_on=tally.share(tally.acted_on),
        stayed_out=tally.share(tally.stayed_out),
        lifted=tally.share(tally.lifted),
        let_be=tally.share(tally.let_be),
        open=tally.open,
    )
