"""First isolation distances: only the general ones, and only as a reminder.

The distances of the guidebook's green pages (by substance, day and night) are not here:
they could not be read, and they change with each edition. No page of the edition of 2024
with a figure could be read either. The pages behind the distances below did not say their
edition, so they are on no screen; a figure that was read with its edition stands with its
substance in the table of substances. The current Emergency Response Guidebook governs:
whoever shows a figure of this module shows `EDITION` and `GOVERNS` beside it.
"""

from decimal import Decimal
from typing import TYPE_CHECKING, Final, Literal

from screening.planning.quantities import magnitude, quantity

if TYPE_CHECKING:
    from screening.planning.quantities import Measure

State = Literal["gas", "liquid", "solid"]

GOVERNS: Final = "The current Emergency Response Guidebook governs."
EDITION: Final = "From guidebook pages that did not state their edition."
SMALL_SPILL_LITRES: Final = Decimal(208)  # 55 US gal
_FIRST_METRES: Final[dict[State, int]] = {"gas": 100, "liquid": 50, "solid": 25}
TANK_IN_FIRE_METRES: Final = Decimal(800)


def spill_size(volume: "Measure") -> Literal["small", "large"]:
    """`small` below 208 L (55 US gal), else `large`; 208 L itself counts as large.

    Source: Emergency Response Guidebook 2016, instructions to Table 1, on a page of
    Transport Canada (208 L is in neither).
    """
    litres = magnitude(volume, "L", "volume", low=0)
    return "small" if litres < SMALL_SPILL_LITRES else "large"


def initial_isolation(state: State) -> "Measure":
    """Metres to isolate at least, in all directions, for a release not yet identified.

    Source: Emergency Response Guidebook, guides 124, 125 and 126 (gases, 100 m), 141 and
    153 (liquids 50 m, solids 25 m); a guide for the substance may ask for more.
    """
    if state not in _FIRST_METRES:
        raise ValueError(f"state must be gas, liquid or solid, not {state!r}")
    return quantity(Decimal(_FIRST_METRES[state]), "m")


def tank_in_fire_isolation() -> "Measure":
    """800 m all round. Source: Emergency Response Guidebook, guides 124 and 141."""
    return quantity(TANK_IN_FIRE_METRES, "m")
