"""Conversion at the edge: exact where a limit hangs on it, and pint left alone."""

import subprocess
import sys
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screening.units import (
    _KNOWN,
    Dimension,
    _worked_out,
    factor,
    pretty,
    to_canonical,
)


def canonical(value, unit, dimension):
    conversion = factor(unit, dimension)
    assert conversion is not None
    return to_canonical(Decimal(value), conversion, dimension)


@pytest.mark.parametrize(
    ("dimension", "unit"),
    [
        pytest.param(dimension, unit, id=f"{dimension}, {unit}")
        for dimension, table in _KNOWN.items()
        for unit, known in table.items()
        if not known.exposure  # pint reads R as the gas constant
    ],
)
def test_each_known_unit_converts_as_pint_converts_it(dimension, unit):
    assert _worked_out(unit, dimension) == _KNOWN[dimension][unit]


@pytest.mark.parametrize(
    ("value", "unit", "dimension", "expected"),
    [
        pytest.param("250", "mSv", Dimension.DOSE, "25", id="EPA 250 mSv is 25 rem"),
        pytest.param("0.25", "Sv", Dimension.DOSE, "25", id="Sv"),
        pytest.param("100", "uSv/h", Dimension.DOSE_RATE, "0.01", id="uSv/h"),
        pytest.param("100", "µSv/h", Dimension.DOSE_RATE, "0.01", id="micro sign"),
        pytest.param("100", "μSv/h", Dimension.DOSE_RATE, "0.01", id="Greek mu"),
        pytest.param("2", "mSv/min", Dimension.DOSE_RATE, "12", id="per minute"),
        pytest.param("0", "degC", Dimension.TEMPERATURE, "32", id="freezing"),
        pytest.param("37", "degC", Dimension.TEMPERATURE, "98.6", id="body"),
        pytest.param("0", "kelvin", Dimension.TEMPERATURE, "-459.67", id="zero K"),
        pytest.param("300", "degR", Dimension.TEMPERATURE, "-159.67", id="Rankine"),
        pytest.param(
            "5", "delta_degC", Dimension.TEMPERATURE_DIFFERENCE, "9", id="5Δ°C"
        ),
        pytest.param(
            "5", "kelvin", Dimension.TEMPERATURE_DIFFERENCE, "9", id="5 K apart"
        ),
        pytest.param("1.5", "h", Dimension.TIME, "5400", id="hours"),
        pytest.param("2", "day", Dimension.TIME, "172800", id="days, by pint"),
    ],
)
def test_temperatures_doses_and_times_convert_exactly(value, unit, dimension, expected):
    assert canonical(value, unit, dimension) == Decimal(expected)


@pytest.mark.parametrize(
    ("value", "unit", "expected"),
    [
        # 1 psi is 6894.757293168 Pa by definition of pound, inch and standard gravity.
        pytest.param("300", "bar", "4351.132132", id="bar"),
        pytest.param("30000", "kPa", "4351.132132", id="kPa"),
        pytest.param("30", "MPa", "4351.132132", id="MPa"),
        pytest.param("1", "atm", "14.695949", id="atm, by pint"),
        pytest.param("1500.1234567", "psi", "1500.1234567", id="psi stays as it is"),
    ],
)
def test_pressures_are_in_psi_to_six_decimals(value, unit, expected):
    assert canonical(value, unit, Dimension.PRESSURE) == Decimal(expected)


@given(st.integers(-4_500, 20_000))
def test_a_temperature_in_celsius_lies_exactly_where_fahrenheit_puts_it(tenths):
    celsius = Decimal(tenths) / 10

    fahrenheit = canonical(celsius, "degC", Dimension.TEMPERATURE)

    assert (fahrenheit - 32) * 5 == celsius * 9


@given(st.integers(0, 10**9))
def test_a_dose_is_the_same_whether_written_in_sievert_or_rem(count):
    micro = canonical(count, "uSv", Dimension.DOSE)

    assert micro == canonical(Decimal(count) / 10, "mrem", Dimension.DOSE)
    assert micro * 10_000 == count


@pytest.mark.parametrize(
    ("unit", "dimension", "rem"),
    [
        ("R", Dimension.DOSE, "1"),
        ("mR", Dimension.DOSE, "0.001"),
        ("µR", Dimension.DOSE, "0.000001"),
        ("R/h", Dimension.DOSE_RATE, "1"),
        ("mR/h", Dimension.DOSE_RATE, "0.001"),
        ("mR/hr", Dimension.DOSE_RATE, "0.001"),
        ("uR/hour", Dimension.DOSE_RATE, "0.000001"),
        ("mR/min", Dimension.DOSE_RATE, "0.06"),
        ("mR per min", Dimension.DOSE_RATE, "0.06"),
    ],
)
def test_exposure_is_read_as_rem_and_marked(unit, dimension, rem):
    conversion = factor(unit, dimension)

    assert conversion is not None
    assert conversion.multiplier == Decimal(rem)
    assert conversion.exposure


@pytest.mark.parametrize(
    ("unit", "dimension"),
    [
        pytest.param("psi", Dimension.DOSE, id="another dimension"),
        pytest.param("rem", Dimension.DOSE_RATE, id="dose for a rate"),
        pytest.param("rem/h", Dimension.DOSE, id="rate for a dose"),
        pytest.param("Gy", Dimension.DOSE, id="absorbed dose"),
        pytest.param("mGy/h", Dimension.DOSE_RATE, id="absorbed dose rate"),
        pytest.param("J/kg", Dimension.DOSE, id="joule per kilogram"),
        pytest.param("rad", Dimension.DOSE, id="rad"),
        pytest.param("R", Dimension.PRESSURE, id="R is the gas constant elsewhere"),
        pytest.param("R/m", Dimension.DOSE_RATE, id="R per metre"),
        pytest.param(
            "degC", Dimension.TEMPERATURE_DIFFERENCE, id="scale for difference"
        ),
        pytest.param("degR", Dimension.TEMPERATURE_DIFFERENCE, id="Rankine difference"),
        pytest.param("delta_degC", Dimension.TEMPERATURE, id="difference for a scale"),
        pytest.param("percent_lel", Dimension.PRESSURE, id="percent LEL"),
        pytest.param("furlong_per_pint_of_ale", Dimension.SPEED, id="unheard of"),
        pytest.param("PSI", Dimension.PRESSURE, id="wrong case"),
        pytest.param("", Dimension.PRESSURE, id="empty"),
        pytest.param("2 psi", Dimension.PRESSURE, id="number in the unit"),
        pytest.param("9**9**9", Dimension.PRESSURE, id="arithmetic"),
        pytest.param("psi**9**9", Dimension.PRESSURE, id="powers of powers"),
        pytest.param("psi; 1", Dimension.PRESSURE, id="code"),
        pytest.param("psi/0", Dimension.PRESSURE, id="division by zero"),
        pytest.param("psi*" * 20 + "psi", Dimension.PRESSURE, id="long"),
    ],
)
def test_what_is_no_unit_of_the_dimension_is_refused(unit, dimension):
    assert factor(unit, dimension) is None


@given(st.text(max_size=60), st.sampled_from(list(Dimension)))
def test_no_text_given_as_a_unit_raises(text, dimension):
    conversion = factor(text, dimension)

    assert conversion is None or conversion.multiplier > 0


@pytest.mark.parametrize(
    ("unit", "written"),
    [
        ("degC", "°C"),
        ("delta_degF", "Δ°F"),
        ("kelvin", "K"),
        ("uSv/h", "µSv/h"),
        ("urem", "µrem"),
        ("ft**3", "ft³"),
        ("m^2", "m²"),
        ("psi", "psi"),
        ("mrem/h", "mrem/h"),
    ],
)
def test_units_are_shown_as_people_write_them(unit, written):
    assert pretty(unit) == written


def test_the_registry_is_exact_and_keeps_percent_lel_apart():
    from pint import DimensionalityError

    from screening.units import Q, ureg

    assert Q("25", "rem") == Q("250", "mSv")
    assert ureg.Quantity(Decimal("1.5"), "percent_lel").magnitude == Decimal("1.5")
    with pytest.raises(DimensionalityError):
        Q("5", "percent").to("percent_lel")


def test_common_units_are_converted_without_pint():
    units = [
        (unit, dimension.value) for dimension, table in _KNOWN.items() for unit in table
    ]
    program = (
        "import sys\n"
        "from screening.units import Dimension, factor\n"
        f"for unit, dimension in {units!r}:\n"
        "    assert factor(unit, Dimension(dimension))\n"
        "print('pint' in sys.modules)"
    )

    answer = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )

    assert answer.stdout.strip() == "False"
