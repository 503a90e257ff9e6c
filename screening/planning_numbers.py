"""The plain arithmetic that rules and planning share: Decimals in, Decimals out."""

from decimal import Decimal


def displaced_share(oxygen: Decimal, ambient: Decimal) -> Decimal:
    """Percent of the air that something else has taken the place of.

    Both in % by volume. A drop of 0.1 from 20.9 is 0.478 % of the air, 4,785 ppm.
    Source: arithmetic, common practice.
    """
    if ambient <= 0:
        raise ValueError("ambient oxygen must be above zero")
    return (ambient - oxygen) / ambient * 100


def stay_seconds(
    limit_rem: Decimal, dose_rem: Decimal, rate: Decimal
) -> Decimal | None:
    """Seconds until `limit_rem` at `rate` (rem/h); zero when passed, None without a rate.

    Source: arithmetic, common practice.
    """
    if dose_rem >= limit_rem:
        return Decimal(0)
    if rate <= 0:
        return None
    # Multiplied first: a time that comes out even then is even, not a hair below.
    return (limit_rem - dose_rem) * 3600 / rate


def turn_around_psi(
    start: Decimal, reserve: Decimal, way_in: Decimal | None
) -> Decimal:
    """The gauge pressure at which to turn, all in psi.

    The way out costs what the way in cost: reserve + way in, and never above the start.
    Where the way in is not known, half of what lies above the reserve is kept for the way
    out. A way in that cost nothing is not known: the gauge was read at the door.
    Source: common practice; NFPA 1404: out of the IDLH area before the reserve is used.
    """
    if way_in is None or way_in <= 0:
        return (start + reserve) / 2
    return min(start, reserve + way_in)
