"""What a rule hands back, and what it may look at."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from typing import TypeAlias

from screening.ensembles import Ensemble
from screening.incident import Context
from screening.verdicts import Action, Hazard

# One action per ensemble, in the order of `Ensemble`: A, B, turnout, C, D.
Severity: TypeAlias = tuple[Action, Action, Action, Action, Action]

_CONTINUE, _CAUTION, _STOP, _WITHDRAW = Action

ALL_CAUTION: Severity = (_CAUTION,) * 5
ALL_STOP: Severity = (_STOP,) * 5
ALL_WITHDRAW: Severity = (_WITHDRAW,) * 5
# What vapour-tight gear stops and nothing else does.
STOP_UNLESS_VAPOUR_TIGHT: Severity = (_CAUTION, _STOP, _STOP, _STOP, _STOP)

ENSEMBLE_INDEX: Mapping[Ensemble, int] = {e: i for i, e in enumerate(Ensemble)}


def by_scba(*, scba: Action, without: Action) -> Severity:
    """One action on supplied air, another on filters or none."""
    return (scba, scba, scba, without, without)


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """One rule's statement before anyone's ensemble is looked at."""

    hazard: Hazard
    severity: Severity
    because: str
    advice: tuple[str, ...] = ()
    everywhere: bool = False  # every team inside, at every place
    subject: str = (
        ""  # which gas, container, member or sign; "" where there is one only
    )
    acid_side: bool = False  # of a corrosive liquid
    doubt: bool = False  # a doubt about the method, not a find (rule 12)
    by_sign: bool = False  # no instrument: the commander's word can clear it
    # Worked out once: a finding is looked at again at every entry while it stands.
    worst: Action = field(init=False, compare=False)
    is_liquid: bool = field(init=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "worst", max(self.severity))
        object.__setattr__(self, "is_liquid", self.hazard in LIQUIDS)

    def means(self, worn: Iterable[Ensemble]) -> Action:
        """What it means for people who go together: for the one it is worst for."""
        return max(self.severity[ENSEMBLE_INDEX[each]] for each in worn)

    @property
    def ends_by_itself(self) -> bool:
        """Spec section 4: caution for every ensemble, neither a liquid nor a sign."""
        return not (self.worst > Action.CAUTION or self.is_liquid or self.by_sign)


LIQUIDS = frozenset(
    {Hazard.CORROSIVE_LIQUID, Hazard.OXIDISER_LIQUID, Hazard.FLUORIDE_LIQUID}
)


@dataclass(frozen=True, slots=True, kw_only=True)
class LelPoint:
    """One LEL figure at a place."""

    at: datetime
    percent: Decimal
    team: str
    instrument: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ThermalPoint:
    at: datetime
    surface_degf: Decimal
    shown: str
    shiny: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingFacts:
    """What a rule on a reading may know beside the reading itself."""

    context: Context
    lel: tuple[LelPoint, ...] = ()  # at this place, oldest first, without this reading
    lel_spike: LelPoint | None = None  # the last one that may have gone off the scale
    container: tuple[ThermalPoint, ...] = ()  # last ones of it, this reading included
    container_lowest: ThermalPoint | None = None  # lowest before this reading
    container_steady: bool = False
    dose_rem: Decimal | None = None  # the team's, this reading included


def figure(value: Decimal) -> str:
    """A number as a person would write it: no exponent, no trailing zeros."""
    text = f"{value:f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def minutes(seconds: Decimal | int | float) -> str:
    """A span of time in words: "40 s", "12 min", "3 h 20 min", "5 h"."""
    whole = round(float(seconds))
    if abs(whole) < 90:
        return f"{whole} s"
    total = round(whole / 60)
    hours, rest = divmod(total, 60)
    if hours == 0:
        return f"{total} min"
    if hours > 48:
        return f"over {hours // 24} days"
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def ago(seconds: Decimal | int | float) -> str:
    """How long ago, in steps that do not change with every look: "just now", "40 s ago"
    in tens, "3 min ago" from two minutes on; what has begun is not counted as whole."""
    whole = int(seconds)
    if whole < 10:
        return "just now"
    if whole < 120:
        return f"{whole // 10 * 10} s ago"
    return f"{minutes(whole // 60 * 60)} ago"
