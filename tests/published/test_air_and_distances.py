"""How long a cylinder lasts, and the few isolation figures that could be read."""

from decimal import Decimal

import pytest

from screening.planning import (
    air_time,
    initial_isolation,
    planned_duration,
    spill_size,
    tank_in_fire_isolation,
    turn_around_pressure,
)
from screening.units import Q
from tests.published.sources import check, near, row


def full_cylinder(litres, consumption, reserve):
    pressure = Q(4500, "psi")
    return air_time(
        pressure, pressure, Q(litres, "L"), Q(consumption, "L/min"), reserve
    )


@pytest.mark.parametrize(
    ("litres", "consumption", "minutes"),
    [
        check("NFPA forum, rate of 42 CFR 84: 1,200 L at 40 L/min", 1200, 40, 30),
        check("NFPA forum, rate of 42 CFR 84: 1,800 L at 40 L/min", 1800, 40, 45),
        check("42 CFR 84 by proportion: 2,400 L at 40 L/min", 2400, 40, 60),
        check("supplier page: 1,200 L at 60 L/min", 1200, 60, 20),
        check("supplier page: 1,800 L at 60 L/min", 1800, 60, 30),
        check("supplier page by proportion: 2,400 L at 60 L/min", 2400, 60, 40),
    ],
)
def test_a_full_cylinder_lasts_its_volume_over_the_rate(litres, consumption, minutes):
    assert full_cylinder(litres, consumption, 0).to("minute").magnitude == minutes


@pytest.mark.parametrize(
    ("litres", "consumption", "minutes", "printed"),
    [
        check("NFPA forum: 30-minute cylinder, about 19", 1200, 40, 20.1, 19),
        check("NFPA forum: 45-minute cylinder, about 28 to 29", 1800, 40, 30.15, 28.5),
        check("NFPA forum: 60-minute cylinder, about 37 to 38", 2400, 40, 40.2, 37.7),
    ],
)
def test_time_to_the_low_air_alarm_of_a_third(litres, consumption, minutes, printed):
    time = full_cylinder(litres, consumption, "0.33")

    assert near(time, "minute", minutes, 0.001)
    assert near(time, "minute", printed, 2.5)


@pytest.mark.parametrize(
    ("litres", "minutes"),
    [
        check("arithmetic on the supplier page's 60 L/min: 1,200 L", 1200, 13.4),
        check("arithmetic on the supplier page's 60 L/min: 2,400 L", 2400, 26.8),
    ],
)
def test_hard_work_reaches_the_alarm_sooner(litres, minutes):
    assert near(full_cylinder(litres, 60, "0.33"), "minute", minutes, 0.1)


def test_the_rule_of_litres_times_bar_less_ten_minutes():
    # two supplier pages: 6 L at 300 bar is 35 minutes
    assert planned_duration(Q(6, "L"), Q(300, "bar")).to("minute").magnitude == 35


def test_the_way_out_is_paid_for_before_the_reserve_is_touched():
    # NFPA 1404: be out of the IDLH area before the reserve is used
    turn = turn_around_pressure(Q(4400, "psi"), Q(900, "psi"), Q(1485, "psi"))

    assert turn.to("psi").magnitude == 2385


@pytest.mark.parametrize(
    ("litres", "size"),
    [
        check("Emergency Response Guidebook 2016, Table 1: below 208 L", 207, "small"),
        check("Emergency Response Guidebook 2016, Table 1: in neither", 208, "large"),
        check("Emergency Response Guidebook 2016, Table 1: above 208 L", 209, "large"),
    ],
)
def test_a_spill_of_exactly_208_litres_counts_as_large(litres, size):
    assert spill_size(Q(litres, "L")) == size


@pytest.mark.parametrize(
    ("state", "metres"),
    [
        check("Emergency Response Guidebook, guides 124 to 126: gases", "gas", 100),
        check("Emergency Response Guidebook, guides 141, 153: liquids", "liquid", 50),
        check("Emergency Response Guidebook, guide 141: solids", "solid", 25),
    ],
)
def test_first_isolation_by_state(state, metres):
    assert initial_isolation(state) == Q(metres, "m")


def test_a_tank_in_a_fire_keeps_people_half_a_mile_away():
    # Emergency Response Guidebook, guides 124 and 141: 800 m
    assert tank_in_fire_isolation() == Q(Decimal(800), "m")


@pytest.mark.parametrize(
    ("name", "metres", "edition"),
    [
        check(
            "Emergency Response Guidebook 2012, guide 125, quoted for UN 1005",
            "ammonia", 100, "2012",
        ),
    ],
)  # fmt: skip
def test_isolation_of_a_substance_stands_with_its_edition(name, metres, edition):
    cell = row(name).isolation

    assert cell.value == metres
    assert cell.status == "read"
    assert edition in cell.note
    assert edition in cell.source
