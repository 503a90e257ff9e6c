"""The sheet's view of each team: verdict, reason, clocks and what was looked at."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import ROUND_UP, Decimal
from typing import Final

from incidents.selectors import SheetView, TeamRow
from reports.words import number
from screening.ensembles import Ensemble
from screening.verdicts import (
    Action,
    Clocks,
    CoverageRow,
    Finding,
    Status,
    TeamAssessment,
)

# What nobody looked at comes last on paper, and first in what Continue has to say.
GAPS = (Status.NOT_CHECKED, Status.CANNOT_TELL, Status.OUT_OF_DATE)
OTHERS_SHOWN = 3
# An estimated dose has figures without end; shown is the next thousandth up.
DOSE_SHOWN: Final = Decimal("0.001")


@dataclass(frozen=True, slots=True, kw_only=True)
class Looked:
    """One status and the hazards that have it."""

    status: Status
    rows: tuple[CoverageRow, ...]

    @property
    def label(self) -> str:
        return self.status.label

    @property
    def hazards(self) -> str:
        return ", ".join(row.hazard.label.lower() for row in self.rows)


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """The word, the reason in a line and what to do; the same on every page."""

    team: str
    name: str
    action: Action
    because: str
    advice: tuple[str, ...]
    gaps: str  # what was not looked at; said wherever the word is Continue
    at: datetime | None

    @property
    def word(self) -> str:
        return self.action.word

    @property
    def label(self) -> str:
        return self.action.label


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """One team on the sheet."""

    verdict: Verdict
    role: str
    ensemble: str
    place: str
    members: tuple[str, ...]
    clocks: Clocks
    lead: str  # whose air leads the clock
    pressures: tuple[str, ...]
    dose: str
    unheard: str  # id of the entry to answer; "" for none
    heard: bool  # something to be heard was, and nothing is open
    others: tuple[Finding, ...]
    more: tuple[Finding, ...]  # folded away
    looked: tuple[Looked, ...]
    look_next: str
    trends: tuple[str, ...]
    crew: tuple[str, ...]
    heat: str
    unanswered: tuple[str, ...]


def cards_of(view: SheetView) -> list[Card]:
    return [_card(row, view) for row in view.teams]


def verdict_of(now: TeamAssessment, name: str) -> Verdict:
    governing = now.findings[0] if now.findings else None
    found = governing is not None and governing.action == now.action
    return Verdict(
        team=now.id,
        name=name,
        action=now.action,
        because=governing.because if governing and found else _nothing_found(now),
        advice=governing.advice if governing and found else (),
        gaps=gaps_of(now.coverage) if now.action == Action.CONTINUE else "",
        at=governing.at if governing and found else None,
    )


def _nothing_found(now: TeamAssessment) -> str:
    where = f"at {now.place}" if now.place else "yet"
    looked = any(row.status == Status.NOT_FOUND for row in now.coverage)
    return f"Nothing found {where}." if looked else f"Nothing looked at {where}."


def gaps_of(coverage: Iterable[CoverageRow]) -> str:
    """Such as "Not looked at: fluoride vapour. Cannot tell: acid vapour."."""
    parts = [
        f"{group.label}: {group.hazards}."
        for group in _grouped(tuple(coverage))
        if group.status in GAPS
    ]
    return " ".join(reversed(parts))


def _grouped(coverage: tuple[CoverageRow, ...]) -> tuple[Looked, ...]:
    groups = (
        Looked(status=status, rows=tuple(r for r in coverage if r.status == status))
        for status in Status
    )
    return tuple(group for group in groups if group.rows)


def _card(row: TeamRow, view: SheetView) -> Card:
    now, names = row.now, {member.key: member.name for member in row.team.members.all()}
    urgent = [f for f in now.findings if f.action >= Action.STOP and f.entry]
    unheard = next((f.entry for f in urgent if f.entry not in view.heard), "")
    others = now.findings[1:] if now.findings else ()
    return Card(
        verdict=verdict_of(now, row.team.name),
        role=row.team.role,
        ensemble=Ensemble(now.ensemble).label,
        place=now.place,
        members=tuple(names.values()),
        clocks=now.clocks,
        lead=_lead(now.clocks, names),
        pressures=tuple(
            f"{names.get(air.member, air.member)} {air.pressure_shown}"
            for air in now.clocks.air
            if air.pressure_shown
        ),
        dose=_dose(now.clocks),
        unheard=unheard,
        heard=bool(urgent) and not unheard,
        others=tuple(others[:OTHERS_SHOWN]),
        more=tuple(others[OTHERS_SHOWN:]),
        looked=_grouped(now.coverage),
        look_next=now.look_next,
        trends=now.trends,
        crew=now.crew,
        heat=_heat(now.clocks),
        unanswered=tuple(names.get(key, key) for key in now.clocks.unanswered),
    )


def _lead(clocks: Clocks, names: dict[str, str]) -> str:
    timed = [air for air in clocks.air if air.to_turn_around is not None]
    if not timed:
        return ""
    first = min(timed, key=lambda air: air.to_turn_around or 0)
    return names.get(first.member, first.member)


def _heat(clocks: Clocks) -> str:
    """When to look at people for heat; "" where the table asks for nothing."""
    heat = clocks.heat
    if heat is None or heat.check_every_minutes is None:
        return ""
    return (
        f"adjusted temperature {heat.adjusted_degf.normalize():f} °F, full sun: check "
        f"people every {heat.check_every_minutes} min"
    )


def _dose(clocks: Clocks) -> str:
    if clocks.dose_rem is None:
        return ""
    limit = number(clocks.turn_back_dose_rem.normalize())
    if clocks.dose_rem < DOSE_SHOWN:
        return f"under {DOSE_SHOWN} of {limit} rem"
    dose = clocks.dose_rem.quantize(DOSE_SHOWN, ROUND_UP)
    return f"{number(dose.normalize())} of {limit} rem"
