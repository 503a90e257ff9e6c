"""The calculations: edges, other units, and what they refuse. Published values are
checked in `tests/published/`."""

import subprocess
import sys
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screening import planning as calculations
from screening.ensembles import Ensemble
from screening.units import Q, ureg

planning: Any = calculations  # untyped, to be asked for what the types refuse
positive = st.decimals("0.001", "1000", places=3)


def test_importing_the_calculations_does_not_import_pint():
    code = "import sys, screening.planning; print('pint' in sys.modules)"

    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )

    assert done.stdout.strip() == "False"


def test_results_are_decimal_quantities_of_the_one_registry():
    stay = planning.stay_time(Q(5, "rem"), Q(0, "rem"), Q(1, "rem/h"))

    assert isinstance(stay.magnitude, Decimal)
    assert stay == ureg.Quantity(Decimal(300), "minute")


def test_float_and_integer_magnitudes_are_taken_at_their_shortest_decimal():
    made: Any = ureg.Quantity

    stay = planning.stay_time(made(1, "rem"), made(0.9, "rem"), made(0.1, "rem/hour"))

    assert stay.to("hour").magnitude == 1


def test_no_dose_rate_means_no_end_of_the_stay():
    stay = planning.stay_time(Q(5, "rem"), Q(0, "rem"), Q(0, "rem/h"))

    assert stay.magnitude == Decimal("Infinity")


@pytest.mark.parametrize("dose", ["5", "5.01"])
def test_at_the_limit_or_past_it_the_stay_is_over(dose):
    assert planning.stay_time(Q(5, "rem"), Q(dose, "rem"), Q(1, "rem/h")).magnitude == 0


@given(limit=positive, rate=positive, more=positive)
def test_more_dose_rate_never_allows_a_longer_stay(limit, rate, more):
    slow = planning.stay_time(Q(limit, "rem"), Q(0, "rem"), Q(rate, "rem/h"))
    fast = planning.stay_time(Q(limit, "rem"), Q(0, "rem"), Q(rate + more, "rem/h"))

    assert fast <= slow


def test_the_dose_rate_comes_back_in_the_unit_it_was_given_in():
    rate = planning.dose_rate_at(Q(4, "mSv/hour"), Q(100, "cm"), Q(2, "m"))

    assert rate == Q(1, "mSv/hour")
    assert str(rate.units) == "millisievert / hour"


def test_below_the_target_no_shield_is_needed():
    assert planning.half_value_layers(Q(1, "mrem/h"), Q(2, "mrem/h")) == 0


def test_contamination_needs_a_figure():
    with pytest.raises(ValueError, match="beta_gamma or alpha"):
        planning.contamination_in_outer_perimeter()


@pytest.mark.parametrize("oxygen", ["20.9", "21.5", "100"])
def test_nothing_is_displaced_where_oxygen_is_not_low(oxygen):
    assert planning.displaced_air(oxygen) == 0


def test_displaced_air_takes_the_air_of_the_place_as_its_measure():
    assert planning.displaced_air("20.0", ambient_percent="20.0") == 0
    assert planning.displaced_air(0) == 100


@given(parts=st.dictionaries(positive.map(lambda d: d / 10), positive, min_size=1))
def test_a_mixture_lies_between_the_limits_of_its_parts(parts):
    mixed = planning.mixture_lel(parts)

    assert min(parts) * Decimal("0.999999") <= mixed <= max(parts) * Decimal("1.000001")


def test_shares_of_a_fuel_may_be_amounts():
    shares = {"5.0": "0.8", "2.1": "0.2"}
    amounts = {"5.0": "4", "2.1": "1"}

    assert planning.mixture_lel(shares) == planning.mixture_lel(amounts)


@given(ppm=positive, molar_mass=positive, celsius=st.integers(-40, 60))
def test_ppm_and_mass_are_one_another_backwards(ppm, molar_mass, celsius):
    where = (Q(molar_mass, "g/mol"), Q(celsius, "degC"), Q(90, "kPa"))

    back = planning.mg_m3_to_ppm(planning.ppm_to_mg_m3(ppm, *where), *where)

    assert abs(back - ppm) < Decimal("1e-15") * ppm + Decimal("1e-20")


def test_thin_or_warm_air_holds_less_of_a_gas_by_mass():
    mass = Q("17.031", "g/mol")
    here = planning.ppm_to_mg_m3(100, mass)

    assert planning.ppm_to_mg_m3(100, mass, Q(40, "degC")) < here
    assert planning.ppm_to_mg_m3(100, mass, pressure=Q(80, "kPa")) < here


def test_saturated_vapour_never_fills_more_than_all_of_the_air():
    assert planning.saturated_vapour_percent(Q(8, "atm")) == 100
    assert planning.saturated_vapour_percent(Q(1, "atm"), Q(2, "atm")) == 50


def test_far_above_its_range_the_limit_of_hot_vapour_is_refused():
    with pytest.raises(ValueError, match="temperature is beyond the range"):
        planning.lel_at_temperature("5.0", Q(2000, "degC"))


def test_air_time_is_zero_at_the_reserve_and_below():
    full, litres, rate = Q(4500, "psi"), Q(1840, "L"), Q(40, "L/min")

    for gauge in (1485, 1000, 0):
        time = planning.air_time(Q(gauge, "psi"), full, litres, rate, "0.33")
        assert time.magnitude == 0


def test_air_time_in_other_units_is_the_same_time():
    psi = planning.air_time(
        Q(3000, "psi"), Q(4500, "psi"), Q(1800, "L"), Q(40, "L/min"), "0.25"
    )
    mixed = planning.air_time(
        Q(3000, "psi").to("bar"),
        Q(4500, "psi"),
        Q("1.8", "m^3"),
        Q("2.4", "m^3/hour"),
        "0.25",
    )

    assert float(psi.to("s").magnitude) == pytest.approx(float(mixed.to("s").magnitude))


@pytest.mark.parametrize(
    ("start", "way_in", "reserve", "turn"),
    [
        pytest.param(300, 50, 100, 150, id="the way out is paid for"),
        pytest.param(300, 0, 100, 100, id="no way in, only the reserve"),
        pytest.param(300, 150, 200, 300, id="never above the start: turn at once"),
        pytest.param(80, 10, 100, 80, id="started below the reserve"),
    ],
)
def test_turn_around_pressure(start, way_in, reserve, turn):
    gauge = planning.turn_around_pressure(
        Q(start, "bar"), Q(way_in, "bar"), Q(reserve, "bar")
    )

    assert gauge.magnitude == turn
    assert str(gauge.units) == "bar"


def test_a_short_cylinder_by_the_european_rule_gives_nothing():
    assert planning.planned_duration(Q(1, "L"), Q(200, "bar")).magnitude == 0


@pytest.mark.parametrize("worn", [w for w in Ensemble if w is not Ensemble.LEVEL_D])
def test_every_ensemble_but_the_work_uniform_is_watched_as_impermeable(worn):
    assert planning.monitoring_interval(Q(80, "degF"), worn) == Q(90, "minute")


def test_a_boundary_given_in_celsius_does_not_fall_off_its_row():
    assert planning.monitoring_interval(Q("22.5", "degC"), "level_a") == Q(
        120, "minute"
    )
    assert planning.adjusted_temperature(Q("22.5", "degC"), 0).magnitude == Decimal(
        "72.5"
    )


@given(
    fahrenheit=st.integers(40, 120),
    humidity=st.integers(0, 100),
)
def test_the_heat_index_is_never_absurd(fahrenheit, humidity):
    felt = planning.heat_index(Q(fahrenheit, "degF"), humidity).magnitude

    assert fahrenheit - 15 <= felt
    assert felt.is_finite()


def test_three_faults_before_entry_are_all_named():
    reasons = planning.reasons_not_to_enter(
        age=30,
        pulse=140,
        diastolic_mmhg=96,
        breaths_per_minute=25,
        temperature=Q("96.9", "degF"),
    )

    assert len(reasons) == 4
    assert all("is over" in reason or "is below" in reason for reason in reasons)


REM, HOURLY, METRE = Q(1, "rem"), Q(1, "rem/h"), Q(1, "m")
PSI = Q(4500, "psi")
FULL = (PSI, PSI, Q(1200, "L"), Q(40, "L/min"))


@pytest.mark.parametrize(
    ("call", "argument"),
    [
        (lambda: planning.stay_time(METRE, REM, HOURLY), "limit"),
        (lambda: planning.stay_time(REM, Q(-1, "rem"), HOURLY), "dose"),
        (lambda: planning.stay_time(REM, REM, Q(-1, "rem/h")), "rate"),
        (lambda: planning.stay_time(5, REM, HOURLY), "limit"),
        (lambda: planning.dose_rate_at(METRE, METRE, METRE), "rate"),
        (lambda: planning.dose_rate_at(HOURLY, METRE, Q(0, "m")), "distance"),
        (lambda: planning.dose_rate_at(HOURLY, Q(0, "m"), METRE), "at"),
        (lambda: planning.displaced_air(101), "oxygen_percent"),
        (lambda: planning.displaced_air("NaN"), "oxygen_percent"),
        (lambda: planning.displaced_air(20, 0), "ambient_percent"),
        (lambda: planning.mixture_lel({}), "parts"),
        (lambda: planning.mixture_lel({0: 1}), "parts"),
        (lambda: planning.mixture_lel({5: 0}), "parts"),
        (lambda: planning.mixture_lel({5: -1}), "parts"),
        (lambda: planning.lel_to_ppm(-1, 5), "percent_of_lel"),
        (lambda: planning.lel_to_ppm(10, True), "lel_volume_percent"),
        (lambda: planning.corrected_lel(10, 0), "correction_factor"),
        (lambda: planning.ppm_to_mg_m3(1, METRE), "molar_mass"),
        (lambda: planning.mg_m3_to_ppm(METRE, Q(17, "g/mol")), "concentration"),
        (lambda: planning.maximum_use_concentration(1, 0, 10), "assigned"),
        (lambda: planning.heat_index(REM, 50), "air_temperature"),
        (
            lambda: planning.heat_index(Q(90, "degF"), 101),
            "relative_humidity_percent",
        ),
        (
            lambda: planning.adjusted_temperature(Q(80, "degF"), 50),
            "sunshine_fraction",
        ),
        (lambda: planning.monitoring_interval(Q(80, "degF"), "suit"), "ensemble"),
        (lambda: planning.wbgt(REM, REM), "natural_wet_bulb"),
        (lambda: planning.recommended_alert_limit(Q(0, "watt")), "metabolic_rate"),
        (lambda: planning.spill_size(METRE), "volume"),
        (lambda: planning.initial_isolation("plasma"), "state"),
        (lambda: planning.turn_around_pressure(5, METRE, METRE), "start"),
        (
            lambda: planning.air_time(METRE, METRE, METRE, METRE, 0),
            "pressure",
        ),
        (lambda: planning.air_time(*FULL, "1.01"), "reserve_fraction"),
        (lambda: planning.air_time(*FULL, "-0.01"), "reserve_fraction"),
        (lambda: planning.air_time(PSI, Q(0, "psi"), *FULL[2:], 0), "rated_pressure"),
        (lambda: planning.air_time(PSI, PSI, Q(0, "L"), FULL[3], 0), "rated_volume"),
        (lambda: planning.air_time(*FULL[:3], Q(0, "L/min"), 0), "consumption"),
        (lambda: planning.turn_around_pressure(PSI, Q(-1, "psi"), PSI), "way_in"),
        (lambda: planning.turn_around_pressure(PSI, PSI, Q(-1, "psi")), "reserve"),
        (lambda: planning.planned_duration(Q(0, "L"), Q(1, "bar")), "water_volume"),
        (lambda: planning.halving_distance(Q(0, "m")), "distance"),
        (lambda: planning.tenth_value_layer(Q(0, "mm")), "half_value_layer"),
        (lambda: planning.half_value_layers(Q(0, "rem/h"), HOURLY), "rate"),
        (lambda: planning.radiation_zone(Q(-1, "rem/h")), "rate"),
        (lambda: planning.saturated_vapour_percent(Q(-1, "kPa")), "vapour_pressure"),
        (lambda: planning.lel_at_temperature(0, Q(25, "degC")), "lel_volume_percent"),
        (lambda: planning.heat_index(Q(90, "degF"), -1), "relative_humidity_percent"),
        (lambda: planning.next_work_period(Q(0, "minute"), 100), "work_period"),
    ],
)
def test_a_bad_argument_is_refused_by_its_name(call, argument):
    with pytest.raises(ValueError, match=f"^.*{argument}.* must "):
        call()
