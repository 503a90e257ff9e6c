"""Distance, stay time, shielding and perimeters."""

from decimal import Decimal

import pytest

from screening.planning import (
    contamination_in_outer_perimeter,
    dose_rate_at,
    half_value_layers,
    halving_distance,
    radiation_zone,
    shield_thickness,
    stay_time,
    tenth_value_layer,
)
from screening.units import Q
from tests.published.sources import check, near


@pytest.mark.parametrize(
    ("distance", "expected"),
    [
        check("common practice, inverse square: four times as far", 4, "6.25"),
        check("common practice, inverse square: half as far", "0.5", "400"),
    ],
)
def test_dose_rate_falls_with_the_square_of_the_distance(distance, expected):
    rate = dose_rate_at(Q(100, "mrem/h"), Q(1, "m"), Q(distance, "m"))

    assert rate.to("mrem/h").magnitude == Decimal(expected)


@pytest.mark.parametrize(
    ("limit", "dose", "rate", "minutes"),
    [
        check("EPA-400/R-17/001 Table 3-1: 5 rem, none taken", 5, 0, 10, 30),
        check("EPA-400/R-17/001 Table 3-1: 25 rem, 10 taken", 25, 10, 60, 15),
        check("EPA-400/R-17/001 Table 3-1: 10 rem, passed", 10, 11, 60, 0),
    ],
)
def test_stay_time_is_what_is_left_of_the_guideline(limit, dose, rate, minutes):
    stay = stay_time(Q(limit, "rem"), Q(dose, "rem"), Q(rate, "rem/h"))

    assert stay.to("minute").magnitude == minutes


@pytest.mark.parametrize(
    ("rem", "msv"),
    [
        check("EPA-400/R-17/001 Table 3-1: all occupational exposures", 5, 50),
        check("EPA-400/R-17/001 Table 3-1: critical infrastructure", 10, 100),
        check("EPA-400/R-17/001 Table 3-1: lifesaving", 25, 250),
        check("from memory of the definition of the sievert", 100, 1000),
    ],
)
def test_rem_and_millisievert_are_the_same_dose_exactly(rem, msv):
    assert Q(rem, "rem") == Q(msv, "mSv")
    assert stay_time(Q(msv, "mSv"), Q(0, "rem"), Q(rem, "rem/h")).magnitude == 60


def test_the_distance_that_halves_the_rate_does():
    # physics: inverse square
    farther = halving_distance(Q(10, "m"))

    assert near(dose_rate_at(Q(8, "rem/h"), Q(10, "m"), farther), "rem/h", 4, 1e-9)


def test_four_half_value_layers_of_lead_for_caesium():
    # training slide p. 408: Cs-137, 6.5 mm of lead, 40 to 2.5 mR/h
    assert half_value_layers(Q(40, "mrem/h"), Q("2.5", "mrem/h")) == 4
    lead = shield_thickness(Q("6.5", "mm"), Q(40, "mrem/h"), Q("2.5", "mrem/h"))
    assert lead.to("mm").magnitude == 26


@pytest.mark.parametrize(
    ("layer", "tenth", "tolerance"),
    [
        check("mathematics, log2 10: concrete, 38 mm", 38, 126, 1),
        check("university manual: Cs-137 in lead, 2.1 cm", "6.5", 21.6, 1.1),
        check("from memory of IAEA and NCRP tables: Co-60 in lead, 4.0 cm", 12, 40, 4),
    ],
)
def test_a_tenth_value_layer_is_log2_ten_half_value_layers(layer, tenth, tolerance):
    assert near(tenth_value_layer(Q(layer, "mm")), "mm", tenth, tolerance)


def test_the_handbook_that_multiplies_by_the_root_of_ten_is_wrong():
    # radiation data handbook p. 53 prints 120 mm for 38 mm of concrete
    assert not near(tenth_value_layer(Q(38, "mm")), "mm", 120, 5)


@pytest.mark.parametrize(
    ("layers", "left"),
    [
        check("university manual: three half-value layers leave 1/8", 3, "0.125"),
        check(
            "university manual: three tenth-value layers leave 1/1000", None, "0.001"
        ),
    ],
)
def test_layers_multiply(layers, left):
    rate, target = Q(1, "rem/h"), Q(left, "rem/h")

    needed = shield_thickness(Q(10, "mm"), rate, target)

    if layers is not None:
        assert needed.magnitude == layers * 10
    else:
        tenth = tenth_value_layer(Q(10, "mm"))
        assert near(needed, "mm", 3 * float(tenth.magnitude), 1e-6)


@pytest.mark.parametrize(
    ("rate", "unit", "zone"),
    [
        check("NCRP Commentary 19: under 10 mR/h", "9.9", "mrem/h", "outside"),
        check("NCRP Commentary 19: 10 mR/h", "10", "mrem/h", "outer"),
        check("NCRP Commentary 19: under 10 R/h", "9.9", "rem/h", "outer"),
        check("NCRP Commentary 19: 10 R/h", "10", "rem/h", "inner"),
    ],
)
def test_a_perimeter_belongs_to_what_is_inside_it(rate, unit, zone):
    assert radiation_zone(Q(rate, unit)) == zone


@pytest.mark.parametrize(
    ("kind", "activity", "inside"),
    [
        check(
            "NCRP Commentary 19: 60,000 dpm/cm² is 1,000 Bq", "beta_gamma", 1000, True
        ),
        check("NCRP Commentary 19: just under it", "beta_gamma", 999, False),
        check("NCRP Commentary 19: 6,000 dpm/cm² alpha, 100 Bq", "alpha", 100, True),
        check("NCRP Commentary 19: just under that", "alpha", 99, False),
    ],
)
def test_contamination_counts_against_the_outer_perimeter(kind, activity, inside):
    surface = Q(activity, "Bq/cm**2")

    assert contamination_in_outer_perimeter(**{kind: surface}) is inside
