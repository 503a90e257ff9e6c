"""What the times of one incident came to, in words: never a mean, the missing counted."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from decimal import ROUND_UP, Decimal
from typing import Final

from incidents import engine, judging
from incidents.models import Incident
from incidents.views.board import DOSE_SHOWN
from incidents.views.words import names_of
from reports.words import number
from review.figures import Spread, spread
from review.measures import Measures
from screening.verdicts import Assessment, Hazard

_ROWS: Final = (
    ("to_finding", "From a reading to its first finding"),
    ("to_heard", "From a Stop or Withdraw to being heard"),
    ("to_acted", "From a Stop or Withdraw to being acted on"),
    ("to_first_reading", "From going in to the first reading"),
    ("between_readings", "Between two readings of a team inside"),
    ("par_gaps", "Inside without a roll call"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureRow:
    """One figure: how many cases, how many without an end, and how they lie."""

    label: str
    spread: Spread

    @property
    def words(self) -> str:
        if not self.spread.n:
            return "no case"
        if self.spread.few:
            return ", ".join(duration(case) for case in self.spread.cases)
        low, middle, high, most = (
            duration(self.spread.at(share) or 0.0) for share in (0.25, 0.5, 0.75, 0.9)
        )
        longest = duration(self.spread.cases[-1])
        return (
            f"median {middle}; the middle half from {low} to {high}; nine of ten up to "
            f"{most}; longest {longest}"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Used:
    """What was used of something that had an end, beside what was planned."""

    who: str
    words: str
    over: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class IncidentFigures:
    rows: tuple[FigureRow, ...]
    never_looked: tuple[str, ...]
    air: tuple[Used, ...]
    dose: tuple[Used, ...]
    counts: str


def figures_of(
    incident: Incident, measures: Measures, now: datetime
) -> IncidentFigures:
    """All of them, from what was measured. Two queries, and those of the engine."""
    live = engine.live(incident)
    view = judging.judge(incident, live, now)
    return IncidentFigures(
        rows=tuple(
            FigureRow(label=label, spread=spread(getattr(measures, name)))
            for name, label in _ROWS
        ),
        never_looked=tuple(Hazard(each).label for each in measures.never_looked),
        air=tuple(_air(incident, measures, view)),
        dose=tuple(_dose(incident, measures, view)),
        counts=_counts(measures),
    )


def duration(seconds: float) -> str:
    """Such as "14 s" or "3 min 20 s"."""
    whole = round(seconds)
    minutes, rest = divmod(abs(whole), 60)
    sign = "\N{MINUS SIGN}" if whole < 0 else ""
    if not minutes:
        return f"{sign}{rest} s"
    return f"{sign}{minutes} min" + (f" {rest} s" if rest else "")


def _counts(measures: Measures) -> str:
    parts = (
        (measures.readings, "reading", "readings"),
        (measures.struck, "put right", "put right"),
        (measures.written_later, "written later", "written later"),
    )
    return ", ".join(f"{n} {one if n == 1 else many}" for n, one, many in parts)


def _air(incident: Incident, measures: Measures, view: Assessment) -> Iterator[Used]:
    """The lowest gauge of each against the pressure to turn around at."""
    names = names_of(incident)
    planned = {
        (team.id, air.member): air.turn_around_psi
        for team in view.teams
        for air in team.clocks.air
    }
    for use in measures.air:
        limit = planned.get((use.team, use.member))
        words = f"{_psi(use.first_psi)}, at the lowest {_psi(use.lowest_psi)}"
        words += f"; to turn around at {_psi(limit)}" if limit else "; no plan known"
        yield Used(
            who=f"{names.of(use.team).get(use.member, use.member)}, {names.team(use.team)}",
            words=words,
            over=limit is not None and use.lowest_psi < limit,
        )


def _dose(incident: Incident, measures: Measures, view: Assessment) -> Iterator[Used]:
    """The highest dose that was read of each team against the one to turn back at; one
    that was reckoned from its rates where none was read."""
    names = names_of(incident)
    for team in view.teams:
        read = measures.dose_rem.get(team.id)
        limit = team.clocks.turn_back_dose_rem
        dose = team.clocks.dose_rem if read is None else read
        if dose is None:
            continue
        shown = _rem(dose) if read is not None else f"{_up(dose)}, reckoned from rates"
        yield Used(
            who=names.team(team.id),
            words=f"{shown}; to turn back at {_rem(limit)}",
            over=dose >= limit,
        )


def _up(dose: Decimal) -> str:
    """A reckoned dose has figures without end: the next thousandth up, as the sheet."""
    if dose < DOSE_SHOWN:
        return f"under {_rem(DOSE_SHOWN)}"
    return _rem(dose.quantize(DOSE_SHOWN, ROUND_UP))


def _psi(value: Decimal) -> str:
    return f"{number(value.quantize(Decimal(1)))} psi"


def _rem(value: Decimal) -> str:
    return f"{number(value.normalize())} rem"
