"""Breathing air: how long a cylinder lasts, and the pressure at which to turn round."""

from decimal import Decimal
from typing import TYPE_CHECKING, Final

from screening.planning.quantities import Number, magnitude, number, quantity

if TYPE_CHECKING:
    from screening.planning.quantities import Measure

# Source: rate of 42 CFR 84, as NFPA forum pages give it: 1,200 L is a 30-minute cylinder.
RATED_LITRES_PER_MINUTE: Final = Decimal(40)
# Kept back by the rule used in Europe. Source: two supplier pages.
KEPT_BACK_MINUTES: Final = Decimal(10)


def air_time(
    pressure: "Measure",
    rated_pressure: "Measure",
    rated_volume: "Measure",
    consumption: "Measure",
    reserve_fraction: Number,
) -> "Measure":
    """Minutes until the reserve is reached; zero when it has been.

    `rated_volume` is the free air in the full cylinder, `consumption` a volume per time,
    `reserve_fraction` a share of the rated pressure (0 to 1).
    Source: arithmetic; 1,200 L at 40 L/min is the 30 minutes of a rated cylinder
    (42 CFR 84, NFPA 1981).
    """
    gauge = magnitude(pressure, "psi", "pressure", low=0)
    full = magnitude(rated_pressure, "psi", "rated_pressure", above=0)
    litres = magnitude(rated_volume, "L", "rated_volume", above=0)
    per_minute = magnitude(consumption, "L/minute", "consumption", above=0)
    reserve = number(reserve_fraction, "reserve_fraction", low=0, high=1)
    usable = max(gauge / full - reserve, Decimal(0)) * litres
    return quantity(usable / per_minute, "minute")


def turn_around_pressure(
    start: "Measure", way_in: "Measure", reserve: "Measure"
) -> "Measure":
    """The gauge pressure at which to turn, in the unit of `start`.

    `way_in` is the pressure that the way in cost: the way out costs as much, so it is
    reserve + way in, and never above the pressure at the start.
    Source: common practice; NFPA 1404: out of the IDLH area before the reserve is used.
    """
    unit = str(start.units) if hasattr(start, "units") else "psi"
    begun = magnitude(start, unit, "start", low=0)
    magnitude(start, "psi", "start")
    used = magnitude(way_in, unit, "way_in", low=0)
    kept = magnitude(reserve, unit, "reserve", low=0)
    return quantity(min(begun, kept + used), unit)


def planned_duration(
    water_volume: "Measure", pressure: "Measure", consumption: "Measure | None" = None
) -> "Measure":
    """Minutes by the rule used in Europe: litres × bar / 40 − 10, zero at least.

    40 L/min unless given. Source: two supplier pages: 6 L at 300 bar is 35 minutes.
    """
    litres = magnitude(water_volume, "L", "water_volume", above=0)
    bar = magnitude(pressure, "bar", "pressure", low=0)
    per_minute = RATED_LITRES_PER_MINUTE
    if consumption is not None:
        per_minute = magnitude(consumption, "L/minute", "consumption", above=0)
    return quantity(
        max(litres * bar / per_minute - KEPT_BACK_MINUTES, Decimal(0)), "minute"
    )
