"""Units against the reference library's constants, and roentgen read as rem."""

import pytest

from screening.units import Dimension, factor
from tests.engine import documents as doc
from tests.published.sources import check

constants = pytest.importorskip("scipy.constants")

PSI = constants.psi
SCIPY = {
    (Dimension.PRESSURE, "bar"): constants.bar / PSI,
    (Dimension.PRESSURE, "kPa"): 1000 / PSI,
    (Dimension.PRESSURE, "MPa"): 1e6 / PSI,
    (Dimension.PRESSURE, "atm"): constants.atm / PSI,
    (Dimension.PRESSURE, "torr"): constants.torr / PSI,
    (Dimension.VOLUME, "ft^3"): constants.foot**3 / constants.liter,
    (Dimension.VOLUME, "m^3"): 1 / constants.liter,
    (Dimension.VOLUME, "gallon"): constants.gallon / constants.liter,
    (Dimension.LENGTH, "ft"): constants.foot,
    (Dimension.LENGTH, "yard"): constants.yard,
    (Dimension.LENGTH, "mile"): constants.mile,
    (Dimension.SPEED, "mph"): constants.mph,
    (Dimension.SPEED, "km/h"): constants.kmh,
    (Dimension.SPEED, "knot"): constants.knot,
    (Dimension.TIME, "min"): constants.minute,
    (Dimension.TIME, "h"): constants.hour,
    (Dimension.TEMPERATURE_DIFFERENCE, "delta_degC"): 1 / constants.degree_Fahrenheit,
}


@pytest.mark.parametrize(("dimension", "unit"), SCIPY)
def test_a_unit_converts_by_the_constant_of_the_reference_library(dimension, unit):
    # scipy.constants, exact definitions; tolerance: the figures of a float
    found = factor(unit, dimension)

    assert found is not None
    assert float(found.multiplier) == pytest.approx(SCIPY[dimension, unit], rel=1e-12)
    assert found.offset == 0


@pytest.mark.parametrize("value", [-40, 0, 21.5, 37.6, 100])
@pytest.mark.parametrize(("unit", "name"), [("degC", "Celsius"), ("kelvin", "Kelvin")])
def test_a_temperature_converts_as_the_reference_library_does(value, unit, name):
    # scipy.constants.convert_temperature
    kelvin_up = value + 273.15 if unit == "kelvin" else value
    found = factor(unit, Dimension.TEMPERATURE)
    expected = constants.convert_temperature(kelvin_up, name, "Fahrenheit")

    ours = float(found.multiplier) * kelvin_up + float(found.offset)

    assert ours == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(
    ("unit", "rem"),
    [
        check("from memory of the definition: 1 Sv is 100 rem", "Sv", 100),
        check("EPA-400/R-17/001 Table 3-1: 5 rem is 50 mSv", "mSv", 0.1),
        check("from memory of the definition of the microsievert", "uSv", 0.0001),
        check("EPA-400/R-17/001 Table 3-1, by thousandths", "mrem", 0.001),
    ],
)
def test_doses_in_rem(unit, rem):
    assert float(factor(unit, Dimension.DOSE).multiplier) == rem


@pytest.mark.from_memory
def test_a_roentgen_read_as_a_rem_is_within_the_field_rule():
    # from memory: 1 R is 0.0096 Gy in tissue; one for one is within 15 % and the safer
    read = float(factor("R", Dimension.DOSE).multiplier)

    assert factor("R", Dimension.DOSE).exposure
    assert read == pytest.approx(0.96, rel=0.15)
    assert read > 0.96


@pytest.mark.parametrize(
    ("value", "unit"),
    [
        check("NCRP Commentary 19: 10 mR/h", 10, "mR/h"),
        check("NCRP Commentary 19, R read as rem", 10, "mrem/h"),
        check("from memory of the field rule: 10 mR/h is 0.1 mSv/h", 0.1, "mSv/h"),
        check("from memory of the field rule, in microsievert", 100, "uSv/h"),
    ],
)
def test_the_outer_perimeter_is_one_place_in_every_unit(value, unit):
    at = doc.judge(doc.worksheet(doc.rate(1, value, unit))).said("gamma_radiation")
    under = doc.judge(doc.worksheet(doc.rate(1, value * 0.99, unit)))

    assert "hot zone" in at
    assert "hot zone" not in under.said("gamma_radiation")


@pytest.mark.parametrize(
    ("background", "rate", "raised"),
    [
        check("response team footnotes: three times background", 0.012, 0.036, False),
        check("response team footnotes: over it", 0.012, 0.037, True),
        check("response team footnotes: with a higher background", 0.05, 0.15, False),
        check("response team footnotes: over that", 0.05, 0.151, True),
    ],
)
def test_three_times_the_background_asks_for_a_look(background, rate, raised):
    # The footnotes ask at three times; the rule at more than that, as it is written.
    document = doc.worksheet(
        doc.rate(1, rate), background_dose_rate=doc.quantity(background, "mrem/h")
    )

    assert (doc.judge(document).on("gamma_radiation") == "caution") is raised
