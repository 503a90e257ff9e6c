"""Heat index, work and rest, WBGT, and the table of the four-agency manual."""

from decimal import Decimal

import pytest

from screening.planning import (
    adjusted_temperature,
    heat_index,
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


@pytest.mark.parametrize("celsius", [28, 31, 35, 38, 41])
@pytest.mark.parametrize("humidity", [45, 60, 80])
def test_heat_index_agrees_with_a_reference_library(celsius, humidity):
    # pythermalcomfort: the same regression by Rothfusz, in °C and without adjustments
    heat_index_rothfusz = pytest.importorskip(
        "pythermalcomfort.models"
    ).heat_index_rothfusz
    reference = heat_index_rothfusz(tdb=celsius, rh=humidity, round_output=False).hi

    ours = heat_index(Q(celsius, "degC"), humidity)

    assert near(ours, "degC", float(reference), 0.06)


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


@pytest.mark.parametrize(("wet", "globe", "dry"), [(18, 30, 25), (25, 45, 32)])
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


def test_a_hospital_text_keeps_a_fast_pulse_out_and_nothing_else_at_its_edge():
    # hospital decontamination text: 0.7 × (220 − 40) is 126
    reasons = reasons_not_to_enter(
        age=40,
        pulse=127,
        diastolic_mmhg=94,
        breaths_per_minute=24,
        temperature=Q("99.5", "degF"),
    )

    assert reasons == ("pulse 127 is over 126",)
