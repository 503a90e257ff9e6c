"""The dose of one person over an incident, and the guidance that it is held against. Pure.

Doses are in rem. A dosimeter adds up by itself until somebody sets it to zero: a figure
below the one before begins a new run, and the runs are added. So the sum is never less
than what was read.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import ROUND_UP, Decimal
from types import MappingProxyType
from typing import Final

from screening.profile import Profile, with_unit

EPA: Final = "EPA-400/R-17/001, Table 3-1"
EPA_1992: Final = "EPA 400-R-92-001, Table 2-2"
# From this share of the turn-back dose on somebody looks into it: no source.
LOOK_INTO_IT: Final = Decimal("0.8")
_SHOWN: Final = Decimal("0.001")


@dataclass(frozen=True, slots=True, kw_only=True)
class Guideline:
    """One row of the guidance for emergency workers."""

    rem: Decimal
    words: str
    source: str


GUIDANCE: Final = (
    Guideline(
        rem=Decimal(5),
        words="All work in the emergency, once in a lifetime",
        source=EPA,
    ),
    Guideline(
        rem=Decimal(10),
        words="Protecting critical infrastructure that the public welfare needs; above 5 "
        "rem consider medical monitoring",
        source=EPA,
    ),
    Guideline(
        rem=Decimal(25),
        words="Saving lives or protecting large populations; above it only volunteers who "
        "know the risks, by a decision of the commander",
        source=f"{EPA}; volunteers: {EPA_1992}",
    ),
)
_MISSION_KEYS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "rescue": "dose_turn_back_rescue",
        "product_control": "dose_turn_back_product_control",
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class DoseReading:
    """What a dosimeter showed of one person, or of the whole team (`member` "")."""

    at: datetime
    team: str
    instrument: str
    member: str
    rem: Decimal
    shown: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Ledger:
    """The readings, their sum, and how it stands to the turn-back dose.

    `total` None where no dose was read or estimated: that is unknown, not nothing.
    """

    readings: tuple[DoseReading, ...]
    read: Decimal | None
    estimated: Decimal | None  # from the rates where the team was
    turn_back: Decimal

    @property
    def total(self) -> Decimal | None:
        known = [each for each in (self.read, self.estimated) if each is not None]
        return max(known, default=None)

    @property
    def action(self) -> str:
        """What the sum asks for: "withdraw", "look into it", or nothing."""
        if self.total is None:
            return ""
        if self.total >= self.turn_back:
            return "withdraw"
        return "look into it" if self.total >= self.turn_back * LOOK_INTO_IT else ""

    @property
    def words(self) -> str:
        if self.total is None:
            return "No dose was read: unknown."
        limit = with_unit(self.turn_back, "rem")
        share = int(self.total / self.turn_back * 100)
        said = f"{plain(self.total)} rem, {share} % of the turn-back dose of {limit}"
        if self.action == "withdraw":
            return f"{said}: withdraw."
        return f"{said}: look into it." if self.action else f"{said}."

    @property
    def passed(self) -> tuple[Guideline, ...]:
        """The guidelines that the sum has reached."""
        if self.total is None:
            return ()
        return tuple(each for each in GUIDANCE if self.total >= each.rem)

    @property
    def needs_volunteer(self) -> bool:
        """Whether it is above the last guideline."""
        return self.total is not None and self.total > GUIDANCE[-1].rem


def ledger(
    readings: Iterable[DoseReading],
    estimated: Decimal | None,
    profile: Profile,
    mission: str,
) -> Ledger:
    """`estimated`: what the engine makes of the rates; None where none was read."""
    rows = tuple(sorted(readings, key=lambda each: each.at))
    key = _MISSION_KEYS.get(mission, "dose_turn_back_other")
    return Ledger(
        readings=rows,
        read=_summed(rows) if rows else None,
        estimated=estimated,
        turn_back=profile[key],
    )


def _summed(rows: tuple[DoseReading, ...]) -> Decimal:
    """Over the teams; of two dosimeters in one team the higher counts."""
    runs: dict[str, dict[tuple[str, str], list[Decimal]]] = {}
    for row in rows:
        of_team = runs.setdefault(row.team, {})
        of_team.setdefault((row.instrument, row.member), []).append(row.rem)
    return sum(
        (max(map(_run, each.values())) for each in runs.values()), start=Decimal(0)
    )


def _run(figures: list[Decimal]) -> Decimal:
    total, last = Decimal(0), Decimal(0)
    for figure in figures:
        if figure < last:
            total += last
        last = figure
    return total + last


def plain(rem: Decimal) -> str:
    """To the next thousandth up: an estimate has figures without end."""
    return f"{rem.quantize(_SHOWN, ROUND_UP).normalize():f}"
