"""Heat: when to look at people, how long they work, and how hot it feels to them."""

from decimal import Decimal
from typing import TYPE_CHECKING, Final

from screening.ensembles import Ensemble
from screening.planning.quantities import Number, magnitude, number, quantity

if TYPE_CHECKING:
    from screening.planning.quantities import Measure

# Adjusted temperature (°F) at or above, minutes to the first check for normal work
# clothes that breathe, and for impermeable suits.
MONITORING_TABLE: Final[tuple[tuple[Decimal, int, int], ...]] = (
    (Decimal("90"), 45, 15),
    (Decimal("87.5"), 60, 30),
    (Decimal("82.5"), 90, 60),
    (Decimal("77.5"), 120, 90),
    (Decimal("72.5"), 150, 120),
)
FULL_SUN_DEGF: Final = Decimal(13)
PULSE_AT_REST_LIMIT: Final = 110
# Temperature in the mouth at the end of work, before drinking: over the first the next
# work period is shorter, over the second there is no suit. Source: archived OSHA page on
# heat.
ORAL_SHORTER_DEGF: Final = Decimal("99.6")
ORAL_NO_SUIT_DEGF: Final = Decimal("100.6")
# Heat index (°F) at or above, and the category's name. Offices of the weather service
# print 105 and 130 as well for the upper two; the lower bounds of both charts are taken.
HEAT_INDEX_CATEGORIES: Final[tuple[tuple[Decimal, str], ...]] = (
    (Decimal(125), "extreme danger"),
    (Decimal(103), "danger"),
    (Decimal(90), "extreme caution"),
    (Decimal(80), "caution"),
)
TWO_THIRDS: Final = Decimal(2) / Decimal(3)


def adjusted_temperature(
    air_temperature: "Measure", sunshine_fraction: Number
) -> "Measure":
    """Air temperature with the sun counted in: °F + 13 × share of full sunshine.

    The thermometer's bulb is shielded; the share is 1 with no cloud, 0 with full cover.
    Source: NIOSH/OSHA/USCG/EPA guidance manual of 1985, table of monitoring frequency.
    """
    fahrenheit = magnitude(air_temperature, "degF", "air_temperature")
    sun = number(sunshine_fraction, "sunshine_fraction", low=0, high=1)
    return quantity(fahrenheit + FULL_SUN_DEGF * sun, "degF")


def monitoring_interval(
    adjusted: "Measure", ensemble: Ensemble | str
) -> "Measure | None":
    """Minutes of work until the first physiological check; None below 72.5 °F.

    `adjusted` is an `adjusted_temperature`. Only the work uniform (level D) counts as
    breathing; levels A, B, C and turnout gear with SCBA take the row of impermeable suits,
    the shorter of the two. On a boundary the shorter interval holds. The table is for fit,
    acclimatised people at moderate work (250 kcal/h); others are looked at sooner. Below
    it, people in encapsulating suits are watched from 70 °F on.
    Source: four-agency guidance manual of 1985, same table (public copies).
    """
    fahrenheit = magnitude(adjusted, "degF", "adjusted")
    try:
        worn = Ensemble(ensemble)
    except ValueError:
        known = ", ".join(Ensemble)
        raise ValueError(f"ensemble must be one of {known}, not {ensemble!r}") from None
    minutes = minutes_to_first_check(fahrenheit, worn)
    return None if minutes is None else quantity(Decimal(minutes), "minute")


def minutes_to_first_check(adjusted_degf: Decimal, worn: Ensemble) -> int | None:
    """`monitoring_interval` in plain numbers."""
    for at_least, breathing, impermeable in MONITORING_TABLE:
        if adjusted_degf >= at_least:
            return breathing if worn is Ensemble.LEVEL_D else impermeable
    return None


def next_work_period(work_period: "Measure", pulse_at_start_of_rest: int) -> "Measure":
    """The next work period: a third shorter when the pulse is over 110, else the same.

    The pulse is counted as early as possible in the rest, which keeps its length.
    Source: four-agency guidance manual of 1985, ch. 8, on an archived OSHA page.
    """
    minutes = magnitude(work_period, "minute", "work_period", above=0)
    pulse = number(pulse_at_start_of_rest, "pulse_at_start_of_rest", above=0)
    share = TWO_THIRDS if pulse > PULSE_AT_REST_LIMIT else Decimal(1)
    return quantity(minutes * share, "minute")


def work_period_after_temperature(
    work_period: "Measure", oral_temperature: "Measure"
) -> "Measure":
    """As above, by oral temperature: a third shorter over 99.6 °F, zero over 100.6 °F.

    Zero means no semipermeable or impermeable garment for now.
    Source: archived OSHA page on heat.
    """
    minutes = magnitude(work_period, "minute", "work_period", above=0)
    fahrenheit = magnitude(oral_temperature, "degF", "oral_temperature")
    if fahrenheit > ORAL_NO_SUIT_DEGF:
        return quantity(Decimal(0), "minute")
    share = TWO_THIRDS if fahrenheit > ORAL_SHORTER_DEGF else Decimal(1)
    return quantity(minutes * share, "minute")


def heat_index(
    air_temperature: "Measure", relative_humidity_percent: Number
) -> "Measure":
    """The US National Weather Service heat index in °F, for the shade and a light wind.

    Below 80 °F by the simple form averaged with the air temperature, as that page words
    it (74.78 °F at 75 °F and 50 %; the simple form alone would say 74.55).
    It says nothing of what a suit adds. Source: Weather Prediction Center, "The heat
    index equation" (Rothfusz 1990, SR 90-23, with both adjustments).
    """
    t = magnitude(air_temperature, "degF", "air_temperature")
    rh = number(relative_humidity_percent, "relative_humidity_percent", low=0, high=100)
    return quantity(heat_index_degf(t, rh), "degF")


def heat_index_degf(t: Decimal, rh: Decimal) -> Decimal:
    """`heat_index` in plain numbers: °F and percent in, °F out."""
    simple = (t + 61 + (t - 68) * Decimal("1.2") + rh * Decimal("0.094")) / 2
    averaged = (simple + t) / 2
    if averaged < 80:
        return averaged
    return _regression(t, rh) + _heat_index_adjustment(t, rh)


def heat_index_category(index: "Measure") -> str | None:
    """The US National Weather Service's word for a heat index; None below 80 °F.

    For people in shade and ordinary clothes: a suit is not counted in. A boundary belongs
    to the category above it. Source: National Weather Service heat index chart, 80, 90,
    103 and 125 °F, as quoted in a public page; the Tulsa office's page has 105 and 130.
    """
    return category_of_degf(magnitude(index, "degF", "index"))


def category_of_degf(index: Decimal) -> str | None:
    """`heat_index_category` in plain numbers, °F."""
    for at_least, name in HEAT_INDEX_CATEGORIES:
        if index >= at_least:
            return name
    return None


def _regression(t: Decimal, rh: Decimal) -> Decimal:
    return (
        Decimal("-42.379")
        + Decimal("2.04901523") * t
        + Decimal("10.14333127") * rh
        - Decimal("0.22475541") * t * rh
        - Decimal("0.00683783") * t * t
        - Decimal("0.05481717") * rh * rh
        + Decimal("0.00122874") * t * t * rh
        + Decimal("0.00085282") * t * rh * rh
        - Decimal("0.00000199") * t * t * rh * rh
    )


def _heat_index_adjustment(t: Decimal, rh: Decimal) -> Decimal:
    if rh < 13 and 80 <= t <= 112:
        return -(13 - rh) / 4 * ((17 - abs(t - 95)) / 17).sqrt()
    if rh > 85 and 80 <= t <= 87:
        return (rh - 85) / 10 * (87 - t) / 5
    return Decimal(0)


def wbgt(
    natural_wet_bulb: "Measure", globe: "Measure", air: "Measure | None" = None
) -> "Measure":
    """Wet-bulb globe temperature in °C: in the sun with `air`, without it indoors.

    0.7 wet bulb + 0.2 globe + 0.1 air, or 0.7 wet bulb + 0.3 globe.
    Source: engineering reference page; NIOSH 2016-106 §9.3.2, ISO 7243.
    """
    wet = magnitude(natural_wet_bulb, "degC", "natural_wet_bulb")
    black = magnitude(globe, "degC", "globe")
    if air is None:
        return quantity(Decimal("0.7") * wet + Decimal("0.3") * black, "degC")
    dry = magnitude(air, "degC", "air")
    return quantity(
        Decimal("0.7") * wet + Decimal("0.2") * black + Decimal("0.1") * dry, "degC"
    )


def recommended_alert_limit(metabolic_rate: "Measure") -> "Measure":
    """NIOSH RAL for unacclimatised people: 59.9 − 14.1 log10 M, °C WBGT over one hour.

    M in watts, work and rest averaged; for ordinary work clothes.
    Source: NIOSH 2016-106 §8.1, quoted by several public sources.
    """
    watts = magnitude(metabolic_rate, "watt", "metabolic_rate", above=0)
    return quantity(Decimal("59.9") - Decimal("14.1") * watts.log10(), "degC")


def recommended_exposure_limit(metabolic_rate: "Measure") -> "Measure":
    """NIOSH REL for acclimatised people: 56.7 − 11.5 log10 M; the rest as the RAL.

    Source: as `recommended_alert_limit`: NIOSH 2016-106 §8.1.
    """
    watts = magnitude(metabolic_rate, "watt", "metabolic_rate", above=0)
    return quantity(Decimal("56.7") - Decimal("11.5") * watts.log10(), "degC")


def reasons_not_to_enter(
    *,
    age: int,
    pulse: Number,
    diastolic_mmhg: Number,
    breaths_per_minute: Number,
    temperature: "Measure",
) -> tuple[str, ...]:
    """Which figures of one published pre-entry examination are out of bounds.

    Local policy and medical control decide: no such examination is law for responders.
    Source: a hospital's decontamination text: pulse over 0.7 × (220 − age), diastolic
    over 95, respiration over 24, temperature below 97 or over 99.5 °F.
    """
    most = Decimal("0.7") * (220 - number(age, "age", above=0, high=120))
    fahrenheit = magnitude(temperature, "degF", "temperature")
    beats = number(pulse, "pulse", above=0)
    breaths = number(breaths_per_minute, "breaths_per_minute", above=0)
    pressure = number(diastolic_mmhg, "diastolic_mmhg", above=0)
    checks = (
        (beats > most, f"pulse {beats} is over {most.normalize():f}"),
        (pressure > 95, f"diastolic pressure {pressure} is over 95 mmHg"),
        (breaths > 24, f"respiration {breaths} is over 24 a minute"),
        (fahrenheit < 97, f"temperature {fahrenheit} °F is below 97 °F"),
        (fahrenheit > Decimal("99.5"), f"temperature {fahrenheit} °F is over 99.5 °F"),
    )
    return tuple(reason for out, reason in checks if out)
