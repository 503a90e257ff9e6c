"""What one cell shows of another gas, and what the meter's figures come to."""

from decimal import Decimal

import pytest

from screening.evidence import evidence
from screening.planning import corrected_lel
from screening.statements import CROSS_SENSITIVITY, SensorSeen
from screening.substances import WEAK_TO_LAMPS
from tests.engine import documents as doc
from tests.published.sources import check, row

MANUAL = "instrument manual, sensor data of 1992"
TWO = "two instrument manuals"
FOUR = "four-agency manual 1985"


def judged(*log, ensemble="level_c", **setup):
    return doc.judge(doc.worksheet(*log, ensemble=ensemble, **setup))


def weigh(name, *readings):
    (found,) = evidence(readings, [row(name)])
    return found


SHARES = [
    check(f"{MANUAL}: H2 under 60 of 100", "carbon monoxide", "hydrogen", "0.60"),
    check(f"{MANUAL}: NO2 under 15", "carbon monoxide", "nitrogen dioxide", "0.15"),
    check(f"{MANUAL}: HCN under 15", "carbon monoxide", "hydrogen cyanide", "0.15"),
    check(f"{MANUAL}: H2S under 10", "carbon monoxide", "hydrogen sulfide", "0.10"),
    check(f"{MANUAL}: Cl2 under 10", "carbon monoxide", "chlorine", "0.10"),
    check(f"{MANUAL}: SO2 about 15", "hydrogen sulfide", "sulfur dioxide", "0.15"),
    check(f"{MANUAL}: NO2 −20", "hydrogen sulfide", "nitrogen dioxide", "-0.20"),
    check(f"{MANUAL}: Cl2 down to −25", "hydrogen sulfide", "chlorine", "-0.25"),
    check(f"{TWO}: Br2", "chlorine", "bromine", "1.0"),
    check(f"{TWO}: F2", "chlorine", "fluorine", "1.0"),
    check(f"{TWO}: ClO2", "chlorine", "chlorine dioxide", "1.0"),
    check(f"{TWO}: O3", "chlorine", "ozone", "1.0"),
    check(f"{TWO}: NO2, 0.4 and not 0.2", "chlorine", "nitrogen dioxide", "0.4"),
    check(f"{TWO}: H2S", "chlorine", "hydrogen sulfide", "-0.1"),
    check(f"{TWO}: SO2", "chlorine", "sulfur dioxide", "-0.01"),
]


@pytest.mark.parametrize(("cell", "gas", "share"), SHARES)
def test_what_a_cell_shows_of_another_gas(cell, gas, share):
    assert CROSS_SENSITIVITY[cell][gas][0] == Decimal(share)


def test_no_other_share_is_in_the_table():
    listed = {case.values[:2] for case in SHARES}

    assert listed == {
        (c, gas) for c, gases in CROSS_SENSITIVITY.items() for gas in gases
    }


def test_six_hundred_on_a_co_cell_may_be_a_thousand_of_hydrogen():
    # instrument manual of 1992: hydrogen shows less than 60 %, so 1,000 ppm under 600
    share = CROSS_SENSITIVITY["carbon monoxide"]["hydrogen"][0]
    shown = SensorSeen(sensor="co", value=share * 1000)

    assert shown.value == 600
    assert weigh("carbon monoxide", shown).weight == "not_excluded"
    assert weigh("hydrogen", shown).weight == "not_excluded"


@pytest.mark.parametrize(
    ("sulfide", "chlorine", "shown", "true_action", "shown_action"),
    [
        check(f"{MANUAL}: 20 with 10 of chlorine", 20, 10, "17.5", "stop", "stop"),
        check(f"{MANUAL}: 12 with 10 of chlorine", 12, 10, "9.5", "stop", "caution"),
    ],
)
def test_chlorine_hides_hydrogen_sulfide(
    sulfide, chlorine, shown, true_action, shown_action
):
    share = CROSS_SENSITIVITY["hydrogen sulfide"]["chlorine"][0]
    displayed = sulfide + share * chlorine

    assert displayed == Decimal(shown)
    assert judged(doc.meter(1, h2s_ppm=sulfide)).on("toxic_gas") == true_action
    assert judged(doc.meter(1, h2s_ppm=float(displayed))).on("toxic_gas") == (
        shown_action
    )
    # Where the gases are measured together the chlorine itself decides: its IDLH is 10.
    both = doc.meter(1, h2s_ppm=float(displayed), gases={"chlorine": chlorine})
    assert judged(both).on("toxic_gas") == "withdraw"


def test_a_quiet_sulfide_cell_beside_chlorine_is_doubted_by_name():
    found = judged(doc.meter(1, h2s_ppm=0, oxygen=20.9), suspects=["chlorine"])

    assert "chlorine" in str(found.row("toxic_gas"))
    assert "hydrogen sulfide" in str(found.row("toxic_gas"))


@pytest.mark.parametrize("name", sorted(WEAK_TO_LAMPS))
def test_a_quiet_lamp_does_not_speak_against_what_it_sees_only_weakly(name):
    # maker's technical note: hydrogen peroxide and nitrogen dioxide respond weakly to
    # lamps well above their ionisation energy
    quiet = SensorSeen(sensor="voc", value=Decimal(0), lamp_ev=Decimal("11.7"))

    assert row(name).ionisation_ev < Decimal("11.7")
    assert weigh(name, quiet).weight == "not_seen"
    assert weigh("benzene", quiet).weight == "contradicted"


# --- explosive limits as a verdict -----------------------------------------------------

LOOSE = {"lel_caution_percent": 10, "lel_withdraw_percent": 25.1}


@pytest.mark.parametrize(
    ("factor", "real", "default", "four_agencies"),
    [
        check("catalogue 2019 p. 109: toluene", "2.55", "25.5", "withdraw", "withdraw"),
        check("catalogue 2019 p. 109: pentane", "2.02", "20.2", "withdraw", "caution"),
        check("catalogue 2019 p. 109: hydrogen", "0.94", "9.4", "caution", None),
    ],
)
def test_ten_percent_shown_is_judged_by_what_it_is(
    factor, real, default, four_agencies
):
    # Ten shown on a methane meter; the corrected figure entered as the reading.
    figure = corrected_lel(10, factor)
    reading = doc.meter(1, lel=float(figure), oxygen=20.9)

    assert figure == Decimal(real)
    assert judged(reading).on("flammable_atmosphere") == default
    assert judged(reading, limits=LOOSE).on("flammable_atmosphere") == four_agencies


@pytest.mark.parametrize(
    ("lel", "action", "status"),
    [
        check(f"{FOUR}: in 18 % oxygen a reading is not valid", 0, "caution", None),
        check(f"{FOUR}: nor is one under the limit", 9.9, "caution", "found"),
        check("29 CFR 1910.146(b): one at the limit counts", 10, "withdraw", "found"),
    ],
)
def test_a_combustible_reading_in_eighteen_percent_of_oxygen(lel, action, status):
    # The table marks the reading invalid and asks for SCBA; a find counts all the same.
    reading = doc.meter(1, lel=lel, oxygen=18.0)

    on_filter, on_scba = judged(reading), judged(reading, ensemble="level_b")

    assert on_filter.on("flammable_atmosphere") == action
    assert on_filter.status("flammable_atmosphere") == (status or "cannot_tell")
    assert on_filter.on("oxygen_deficient") == "withdraw"
    assert on_scba.on("oxygen_deficient") == "caution"
