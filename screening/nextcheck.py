"""The next check: which one tells most, and how it is done.

A check may answer several hazards at once (one wet pH strip, both acid and base). Its worth
is the sum, over the hazards that are not known and that it answers, of how badly each
could hurt this team in what it wears. The weights are stated here and are a choice.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from screening.ensembles import Ensemble
from screening.verdicts import CoverageRow, Hazard, Status


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    answers: tuple[Hazard, ...]
    how: str


_METER: Final = (
    "Read the gas meter low, at the waist and at head height: oxygen and LEL together, with "
    "every toxic sensor it has."
)
CHECKS: Final[tuple[Check, ...]] = (
    Check(
        answers=(
            Hazard.FLAMMABLE_ATMOSPHERE,
            Hazard.OXYGEN_ENRICHED,
            Hazard.OXYGEN_DEFICIENT,
            Hazard.TOXIC_GAS,
        ),
        how=_METER,
    ),
    Check(
        answers=(Hazard.ACID_VAPOUR, Hazard.BASE_VAPOUR),
        how="Wet a fresh pH strip with neutral water and hold it ahead on the hook.",
    ),
    Check(
        answers=(Hazard.OXIDISER_VAPOUR,),
        how="Wet a fresh KI-starch strip with neutral water and cast it ahead on the hook.",
    ),
    Check(
        answers=(Hazard.FLUORIDE_VAPOUR,),
        how="Wet a fresh fluoride strip as its leaflet says and hold it to the leak.",
    ),
    Check(
        answers=(Hazard.GAMMA_RADIATION,),
        how="Hold the dosimeter ahead for half a minute and read the dose rate.",
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


# A hazard that was never looked for tells more than one whose answer is merely old.
_OPEN: Final[Mapping[Status, int]] = {
    Status.NOT_CHECKED: 3,
    Status.CANNOT_TELL: 3,
    Status.OUT_OF_DATE: 2,
}


def how_to_look(hazard: Hazard, status: Status, because: str) -> str:
    """The check for one hazard, as a sentence to act on."""
    for check in CHECKS:
        if hazard in check.answers:
            return check.how
    return ""


def look_next(
    rows: Sequence[CoverageRow],
    *,
    ensemble: Ensemble,
    acid_found: bool,
    wet_edge: bool = False,
) -> str:
    """The check with the greatest worth; "" where nothing is open.

    After any acid finding fluoride comes first, until it is known: the acid may be
    hydrogen fluoride.
    """
    still_open = {row.hazard: _OPEN[row.status] for row in rows if row.status in _OPEN}
    if acid_found and Hazard.FLUORIDE_VAPOUR in still_open:
        return how_to_look(Hazard.FLUORIDE_VAPOUR, Status.NOT_CHECKED, "")
    worth = {
        check.how: sum(
            still_open[hazard] * weight(hazard, ensemble)
            for hazard in check.answers
            if hazard in still_open
        )
        for check in CHECKS
    }
    best = max(worth, key=lambda how: worth[how])
    if worth[best] == 0:
        return WET_EDGE if wet_edge else ""
    return best
