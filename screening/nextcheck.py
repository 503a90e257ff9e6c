"""The next check: which one tells most, and how it is done.

A check may answer several hazards at once (one wet pH strip, both acid and base). Its worth
is the sum, over the hazards that are not known and that it answers, of how badly each
could hurt this team in what it wears. The weights are stated here and are a choice.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from screening.ensembles import Ensemble
from screening.methods import next_step, recognise
from screening.methods.meter import READ_METER
from screening.methods.papers import WET_FLUORIDE, WET_KI, WET_PH
from screening.methods.radiation import READ_RATE
from screening.verdicts import CoverageRow, Hazard, Status


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    answers: tuple[Hazard, ...]
    how: str


CHECKS: Final[tuple[Check, ...]] = (
    Check(
        answers=(
            Hazard.FLAMMABLE_ATMOSPHERE,
            Hazard.OXYGEN_ENRICHED,
            Hazard.OXYGEN_DEFICIENT,
            Hazard.TOXIC_GAS,
        ),
        how=READ_METER,
    ),
    Check(
        answers=(Hazard.ACID_VAPOUR, Hazard.BASE_VAPOUR),
        how=WET_PH,
    ),
    Check(
        answers=(Hazard.OXIDISER_VAPOUR,),
        how=WET_KI,
    ),
    Check(
        answers=(Hazard.FLUORIDE_VAPOUR,),
        how=WET_FLUORIDE,
    ),
    Check(
        answers=(Hazard.GAMMA_RADIATION,),
        how=READ_RATE,
    ),
    Check(
        answers=(Hazard.CONTAINER_HEATING,),
        how="Read the container again from a distance, on a dull or painted spot, with its "
        "surroundings.",
    ),
)
WET_EDGE: Final = "Look at the edge between wet and dry on the KI-starch strip."

# How badly each hazard, unseen, could hurt a team in this clothing: 3 what can kill at
# once, 2 what can injure at once, 1 what the clothing mostly keeps off.
# Common practice, no source: SCBA answers what is breathed, vapour-tight gear what
# reaches the skin, nothing answers fire, a burst or gamma.
_SKIN: Final = frozenset(
    {
        Hazard.ACID_VAPOUR,
        Hazard.BASE_VAPOUR,
        Hazard.OXIDISER_VAPOUR,
        Hazard.FLUORIDE_VAPOUR,
    }
)
_BREATHED: Final = frozenset({Hazard.OXYGEN_DEFICIENT, Hazard.TOXIC_GAS})


def weight(hazard: Hazard, ensemble: Ensemble) -> int:
    """3, 2 or 1, as above."""
    if hazard in _SKIN:
        return 1 if ensemble.vapour_tight else 2
    if hazard in _BREATHED:
        return 1 if ensemble.has_scba else 3
    return 2 if hazard is Hazard.GAMMA_RADIATION else 3


# A hazard that was never looked for tells more than one whose answer is merely old. One
# that the instrument carried cannot tell in this air tells least: the same instrument,
# read again, leaves it open (weights: common practice, no source).
_OPEN: Final[Mapping[Status, int]] = {
    Status.NOT_CHECKED: 3,
    Status.CANNOT_TELL: 3,
    Status.OUT_OF_DATE: 2,
}
_NEEDS_OTHER_MEANS: Final = 1


def openness(row: CoverageRow) -> int:
    """How much a check of this row could still tell: 0 where it is known."""
    if row.status is Status.CANNOT_TELL and any(
        said.sentence.other_means for said in recognise(row.because)
    ):
        return _NEEDS_OTHER_MEANS
    return _OPEN.get(row.status, 0)


def how_to_look(hazard: Hazard, status: Status, because: str) -> str:
    """The check for one hazard, as a sentence to act on; it meets the doubt named."""
    if status is Status.CANNOT_TELL and (step := next_step(because)):
        return step
    return next((check.how for check in CHECKS if hazard in check.answers), "")


def _worths(check: Check, worth: Mapping[Hazard, int]) -> tuple[int, int]:
    each = [worth.get(hazard, 0) for hazard in check.answers]
    return sum(each), max(each)


def look_next(
    rows: Sequence[CoverageRow],
    *,
    ensemble: Ensemble,
    acid_found: bool,
    wet_edge: bool = False,
) -> str:
    """The check with the greatest worth; "" where nothing is open.

    After any acid finding fluoride comes first, until it is known: the acid may be
    hydrogen fluoride. Where what weighs most in a check is a doubt, the answer is the
    step that meets the doubt.
    """
    worth = {
        row.hazard: openness(row) * weight(row.hazard, ensemble)
        for row in rows
        if openness(row)
    }
    if acid_found and Hazard.FLUORIDE_VAPOUR in worth:
        return how_to_look(Hazard.FLUORIDE_VAPOUR, Status.NOT_CHECKED, "")
    # Of two checks worth the same, the one that answers the worse single hazard.
    best = max(CHECKS, key=lambda check: _worths(check, worth))
    asked = [row for row in rows if row.hazard in best.answers and row.hazard in worth]
    if not asked:
        return WET_EDGE if wet_edge else ""
    # Of two that weigh the same, the one that nobody has looked for: its check is the
    # usual one.
    first = max(
        asked,
        key=lambda row: (worth[row.hazard], row.status is not Status.CANNOT_TELL),
    )
    return how_to_look(first.hazard, first.status, first.because)
