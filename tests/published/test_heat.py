"""Heat index, work and rest, WBGT, and the table of the four-agency manual."""

from decimal import Decimal

import pytest

from screening.planning import (
    adjusted_temperature,
    heat_index,
    heat_index_category,
    monitoring_interval,
    next_work_period,
    reasons_not_to_enter,
    recommended_alert_limit,
    recommended_exposure_limit,
    wbgt,
    work_period_after_temperature,
)
from screening.units import Q
from tests.published.sources import check, near

FOUR_AGENCIES = "four-agency manual 1985, monitoring table"


@pytest.mark.parametrize(
    ("fahrenheit", "humidity", "expected"),
    [
        check("Weather Prediction Center, regression: 90 °F, 70 %", 90, 70, 105.92),
        check("Weather Prediction Center, regression: 95 °F, 55 %", 95, 55, 108.95),
        check("Weather Prediction Center, humid: 84 °F, 90 %", 84, 90, 98.34),
        check("Weather Prediction Center, humid: 86 °F, 90 %", 86, 90, 105.39),
        check("Weather Prediction Center, dry: 100 °F, 10 %", 100, 10, 94.12),
        check("Weather Prediction Center, simple form: 75 °F, 50 %", 75, 50, 74.78),
    ],
)
def test_heat_index_as_printed(fahrenheit, humidity, expected):
    felt = heat_index(Q(fahrenheit, "degF"), humidity)

    assert near(felt, "degF", expected, 0.1 if fahrenheit > 75 else 0.05)


@pytest.mark.parametrize(
    ("fahrenheit", "category"),
    [
        check("weather service chart: below its lowest category", "79.9", None),
        check("weather service chart: caution from 80 °F", "80", "caution"),
        check("weather service chart: up to 90 °F", "89.9", "caution"),
        check(
            "weather service chart: extreme caution from 90", "90", "extreme caution"
        ),
        check("weather service chart: up to 103 °F", "102.9", "extreme caution"),
        check("weather service chart: danger from 103 °F", "103", "danger"),
        check("weather service chart: up to 125 °F", "124.9", "danger"),
        check(
            "weather service chart: extreme danger from 125", "125", "extreme danger"
        ),
        check("weather service, Tulsa: 130 °F or higher", "130", "extreme danger"),
    ],
)
def test_the_category_of_a_heat_index(fahrenheit, category):
    assert heat_index_category(Q(fahrenheit, "degF")) == category


@pytest.mark.parametrize("fahrenheit", range(80, 113))
def test_heat_index_agrees_with_a_reference_library_at_every_degree(fahrenheit):
    # pythermalcomfort: the regression of Rothfusz alone, so every whole percent that
    # neither adjustment touches. Tolerance: its figures pass through °C and back.
    heat_index_rothfusz = pytest.importorskip(
        "pythermalcomfort.models"
    ).heat_index_rothfusz
    humidities = [rh for rh in range(13, 86) if simple_form(fahrenheit, rh) >= 80]
    celsius = (fahrenheit - 32) / 1.8
    reference = heat_index_rothfusz(
        tdb=[celsius] * len(humidities),
        rh=humidities,
        round_output=False,
        limit_inputs=False,
    ).hi

    ours = [
        heat_index(Q(fahrenheit, "degF"), rh).to("degC").magnitude for rh in humidities
    ]

    assert len(humidities) >= 11
    assert [float(felt) for felt in ours] == pytest.approx(list(reference), abs=0.001)


def simple_form(fahrenheit, humidity):
    """Weather Prediction Center: Steadman's form, averaged with the temperature."""
    simple = 0.5 * (fahrenheit + 61 + (fahrenheit - 68) * 1.2 + humidity * 0.094)
    return (simple + fahrenheit) / 2


@pytest.mark.parametrize(
    ("fahrenheit", "humidity", "expected"),
    [
        # The page's words by hand on the regression, which is checked above.
        check("Weather Prediction Center: at 13 % nothing is taken off", 95, 13, 90.41),
        check("Weather Prediction Center: at 12 % a quarter of one", 95, 12, 90.07),
        check("Weather Prediction Center: at 112 °F nothing is left", 112, 10, 106.75),
        check(
            "Weather Prediction Center: over it nothing is taken off", 113, 10, 107.82
        ),
        check("Weather Prediction Center: dry at 84 °F, by hand", 84, 10, 80.66),
        check("Weather Prediction Center: at 85 % nothing is added", 84, 85, 95.94),
        check("Weather Prediction Center: at 86 % a fiftieth", 86, 86, 103.03),
        check("Weather Prediction Center: at 80 °F seven tenths", 80, 90, 86.34),
        check("Weather Prediction Center: at 87 °F nothing is added", 87, 90, 109.18),
        check("Weather Prediction Center: nor taken off at 88 °F", 88, 90, 113.25),
    ],
)
def test_the_adjustments_begin_where_the_page_says(fahrenheit, humidity, expected):
    assert near(heat_index(Q(fahrenheit, "degF"), humidity), "degF", expected, 0.01)


@pytest.mark.parametrize(
    ("watts", "ral", "rel"),
    [
        check("NIOSH 2016-106 section 8.1: 180 W", 180, 28.10, 30.76),
        check("NIOSH 2016-106 section 8.1: 300 W", 300, 24.97, 28.21),
        check("NIOSH 2016-106 section 8.1: 415 W", 415, 22.99, 26.59),
    ],
)
def test_niosh_limits_by_metabolic_rate(watts, ral, rel):
    work = Q(watts, "watt")

    assert near(recommended_alert_limit(work), "degC", ral, 0.05)
    assert near(recommended_exposure_limit(work), "degC", rel, 0.05)


def test_wbgt_in_the_sun_and_indoors():
    # engineering reference page; NIOSH 2016-106 section 9.3.2
    wet = Q(25, "degC")

    assert wbgt(wet, Q(45, "degC"), Q(32, "degC")).magnitude == Decimal("29.7")
    assert wbgt(wet, Q(35, "degC")).magnitude == Decimal("28.0")


@pytest.mark.parametrize("dry", [15, 25, 32, 45])
@pytest.mark.parametrize("globe", [20, 30, 45, 60])
@pytest.mark.parametrize("wet", [10, 18, 25, 31])
def test_wbgt_agrees_with_a_reference_library(wet, globe, dry):
    # pythermalcomfort, after ISO 7243
    reference = pytest.importorskip("pythermalcomfort.models").wbgt
    sun = reference(wet, globe, tdb=dry, with_solar_load=True, round_output=False)
    shade = reference(wet, globe, round_output=False)
    quantities = (Q(wet, "degC"), Q(globe, "degC"), Q(dry, "degC"))

    assert near(wbgt(*quantities), "degC", float(sun.wbgt), 1e-6)
    assert near(wbgt(*quantities[:2]), "degC", float(shade.wbgt), 1e-6)


@pytest.mark.parametrize(
    ("fahrenheit", "suit", "breathing"),
    [
        check(f"{FOUR_AGENCIES}: 90 and above", "90", 15, 45),
        check(f"{FOUR_AGENCIES}: just below 90", "89.9", 30, 60),
        check(f"{FOUR_AGENCIES}: 87.5", "87.5", 30, 60),
        check(f"{FOUR_AGENCIES}: just below 87.5", "87.4", 60, 90),
        check(f"{FOUR_AGENCIES}: 82.5", "82.5", 60, 90),
        check(f"{FOUR_AGENCIES}: just below 82.5", "82.4", 90, 120),
        check(f"{FOUR_AGENCIES}: 77.5", "77.5", 90, 120),
        check(f"{FOUR_AGENCIES}: just below 77.5", "77.4", 120, 150),
        check(f"{FOUR_AGENCIES}: 72.5", "72.5", 120, 150),
    ],
)
def test_the_monitoring_table_row_by_row(fahrenheit, suit, breathing):
    adjusted = Q(fahrenheit, "degF")

    assert monitoring_interval(adjusted, "level_a") == Q(suit, "minute")
    assert monitoring_interval(adjusted, "level_d") == Q(breathing, "minute")


def test_below_the_table_it_says_nothing():
    # four-agency manual 1985: the last row begins at 72.5 °F
    assert monitoring_interval(Q("72.4", "degF"), "level_a") is None


@pytest.mark.parametrize(
    ("fahrenheit", "sun", "adjusted", "suit"),
    [
        check(f"{FOUR_AGENCIES}: 80 °F in half sun", 80, "0.5", "86.5", 60),
        check(f"{FOUR_AGENCIES}: 77 °F in full sun", 77, 1, "90", 15),
        check(f"{FOUR_AGENCIES}: 87.5 °F, no sun", "87.5", 0, "87.5", 30),
    ],
)
def test_the_sun_adds_up_to_thirteen_degrees(fahrenheit, sun, adjusted, suit):
    temperature = adjusted_temperature(Q(fahrenheit, "degF"), sun)

    assert temperature.to("degF").magnitude == Decimal(adjusted)
    assert monitoring_interval(temperature, "level_a") == Q(suit, "minute")


def test_each_rest_that_begins_over_110_takes_a_third_off_the_next_period():
    # four-agency manual ch. 8, on an archived OSHA page; 30 to 20 in an EMS protocol
    first = Q(30, "minute")

    unchanged = next_work_period(first, 110)
    shorter = next_work_period(unchanged, 111)
    shorter_again = next_work_period(shorter, 111)

    assert unchanged.magnitude == 30
    assert near(shorter, "minute", 20, 1e-9)
    assert near(shorter_again, "minute", 13.3, 0.1)


@pytest.mark.parametrize(
    ("fahrenheit", "minutes"),
    [
        check("archived OSHA page on heat: 99.6 °F, no change", "99.6", 30),
        check("archived OSHA page on heat: 99.7 °F, a third shorter", "99.7", 20),
        check("archived OSHA page on heat: 100.6 °F, a third shorter", "100.6", 20),
        check("archived OSHA page on heat: 100.7 °F, no impermeable suit", "100.7", 0),
    ],
)
def test_work_by_oral_temperature(fahrenheit, minutes):
    period = work_period_after_temperature(Q(30, "minute"), Q(fahrenheit, "degF"))

    assert near(period, "minute", minutes, 1e-9)


HOSPITAL = "hospital decontamination text"
AT_EVERY_EDGE = {
    "age": 40,
    "pulse": 126,  # 0.7 × (220 − 40)
    "diastolic_mmhg": 95,
    "breaths_per_minute": 24,
    "temperature": Q("99.5", "degF"),
}


@pytest.mark.parametrize(
    ("changed", "reasons"),
    [
        check(f"{HOSPITAL}: nothing at its edge", {}, ()),
        check(f"{HOSPITAL}: pulse", {"pulse": 127}, ("pulse 127 is over 126",)),
        check(f"{HOSPITAL}: by age", {"age": 50}, ("pulse 126 is over 119",)),
        check(
            f"{HOSPITAL}: diastolic",
            {"diastolic_mmhg": 96},
            ("diastolic pressure 96 is over 95 mmHg",),
        ),
        check(
            f"{HOSPITAL}: breaths",
            {"breaths_per_minute": 25},
            ("respiration 25 is over 24 a minute",),
        ),
        check(
            f"{HOSPITAL}: fever",
            {"temperature": Q("99.6", "degF")},
            ("temperature 99.6 °F is over 99.5 °F",),
        ),
        check(f"{HOSPITAL}: at 97 °F", {"temperature": Q("97", "degF")}, ()),
        check(
            f"{HOSPITAL}: cold",
            {"temperature": Q("96.9", "degF")},
            ("temperature 96.9 °F is below 97 °F",),
        ),
    ],
)
def test_who_is_kept_out_by_a_hospital_text(changed, reasons):
    assert reasons_not_to_enter(**{**AT_EVERY_EDGE, **changed}) == reasons
