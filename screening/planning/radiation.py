"""Dose, dose rate, distance and shielding, for a point source of gamma radiation."""

from decimal import Decimal
from typing import TYPE_CHECKING, Final, Literal

from screening.planning.quantities import magnitude, quantity

if TYPE_CHECKING:
    from screening.planning.quantities import Measure

Zone = Literal["outside", "outer", "inner"]

# Source: NCRP Commentary 19 on a US health department page; R read as rem.
OUTER_PERIMETER_REM_PER_HOUR: Final = Decimal("0.010")
INNER_PERIMETER_REM_PER_HOUR: Final = Decimal(10)
OUTER_BETA_GAMMA_PER_MINUTE_CM2: Final = Decimal(60_000)
OUTER_ALPHA_PER_MINUTE_CM2: Final = Decimal(6_000)


def stay_time(limit: "Measure", dose: "Measure", rate: "Measure") -> "Measure":
    """Minutes until `limit` is reached at a steady `rate`, with `dose` taken already.

    `limit` and `dose` in rem or sievert, `rate` in either per time. Zero once the limit is
    passed; infinite where the rate is zero. ValueError for anything negative.
    Source: arithmetic, common practice; the limits have their own sources.
    """
    whole = magnitude(limit, "rem", "limit", low=0)
    taken = magnitude(dose, "rem", "dose", low=0)
    hourly = magnitude(rate, "rem/hour", "rate", low=0)
    if taken >= whole:
        return quantity(Decimal(0), "minute")
    if hourly == 0:
        return quantity(Decimal("Infinity"), "minute")
    return quantity((whole - taken) * 60 / hourly, "minute")


def dose_rate_at(rate: "Measure", at: "Measure", distance: "Measure") -> "Measure":
    """The rate at `distance` from a point source that gives `rate` at the distance `at`.

    In the unit of `rate`. Inverse square, nothing in between; nearer than about three
    times the size of the source it does not hold.
    Source: physics, common practice.
    """
    measured = magnitude(at, "m", "at", above=0)
    wanted = magnitude(distance, "m", "distance", above=0)
    magnitude(rate, "rem/hour", "rate", low=0)
    here = magnitude(rate, str(rate.units), "rate")
    return type(rate)(here * (measured / wanted) ** 2, rate.units)


def halving_distance(distance: "Measure") -> "Measure":
    """The distance from a point source at which the rate is half that at `distance`.

    Source: inverse square, so the square root of two times as far; physics.
    """
    here = magnitude(distance, str(distance.units), "distance", above=0)
    return type(distance)(here * Decimal(2).sqrt(), distance.units)


def half_value_layers(rate: "Measure", target: "Measure") -> Decimal:
    """How many half-value layers bring `rate` down to `target`; zero when it is below.

    Source: definition of the half-value layer. Scatter (build-up) makes a thick shield
    worse than this says.
    """
    here = magnitude(rate, "rem/hour", "rate", above=0)
    wanted = magnitude(target, "rem/hour", "target", above=0)
    if here <= wanted:
        return Decimal(0)
    layers = (here / wanted).ln() / Decimal(2).ln()
    whole = layers.to_integral_value()
    # 2**whole is exact where the logarithm is not.
    return whole if wanted * 2 ** int(whole) == here else layers


def shield_thickness(
    half_value_layer: "Measure", rate: "Measure", target: "Measure"
) -> "Measure":
    """Thickness of a shield that brings `rate` down to `target`, in the layer's unit.

    Source: definition of the half-value layer, as `half_value_layers`.
    """
    layer = magnitude(
        half_value_layer, str(half_value_layer.units), "half_value_layer", above=0
    )
    layers = half_value_layers(rate, target)
    return type(half_value_layer)(layer * layers, half_value_layer.units)


def tenth_value_layer(half_value_layer: "Measure") -> "Measure":
    """log2(10) = 3.322 half-value layers. Source: mathematics.

    One printed handbook multiplies by the square root of ten instead, which is wrong.
    """
    layer = magnitude(
        half_value_layer, str(half_value_layer.units), "half_value_layer", above=0
    )
    ratio = Decimal(10).ln() / Decimal(2).ln()
    return type(half_value_layer)(layer * ratio, half_value_layer.units)


def radiation_zone(rate: "Measure") -> Zone:
    """Where a dose rate puts a person; the perimeter itself counts as inside it.

    Source: NCRP Commentary 19 on a US health department page: outer perimeter 10 mR/h,
    inner 10 R/h; R read as rem.
    """
    hourly = magnitude(rate, "rem/hour", "rate", low=0)
    if hourly >= INNER_PERIMETER_REM_PER_HOUR:
        return "inner"
    return "outer" if hourly >= OUTER_PERIMETER_REM_PER_HOUR else "outside"


def contamination_in_outer_perimeter(
    *, beta_gamma: "Measure | None" = None, alpha: "Measure | None" = None
) -> bool:
    """Whether surface contamination lies within the outer perimeter.

    Disintegrations per area, such as Bq/cm²; 60,000 a minute and cm² of beta and gamma
    (1,000 Bq/cm²) or 6,000 of alpha (100 Bq/cm²).
    Source: NCRP Commentary 19 on a US health department page.
    """
    if beta_gamma is None and alpha is None:
        raise ValueError("beta_gamma or alpha must be given")
    pairs = (
        (beta_gamma, "beta_gamma", OUTER_BETA_GAMMA_PER_MINUTE_CM2),
        (alpha, "alpha", OUTER_ALPHA_PER_MINUTE_CM2),
    )
    return any(
        magnitude(activity, "1/minute/cm**2", name, low=0) >= edge
        for activity, name, edge in pairs
        if activity is not None
    )
