"""Rules 10 to 15, 26, 28 to 30 and 32: the gas meter.

Figures: 10 % of the LEL, 19.5 and 23.5 % oxygen from 29 CFR 1910.146(b); CO 200/1200 and
H2S 10/100 ppm from the NIOSH Pocket Guide; the others common practice, no source.
"""

import re

import pytest

from tests.engine.documents import (
    ENSEMBLES,
    SCBA,
    clear,
    enter,
    judge,
    ki,
    leave,
    meter,
    ph,
    team,
    worksheet,
)


@pytest.mark.parametrize("ensemble", ENSEMBLES)
@pytest.mark.parametrize(
    ("lel", "action"),
    [
        pytest.param(0, "continue", id="nothing shown"),
        pytest.param(0.9, "continue", id="under lel_caution_percent"),
        pytest.param(1, "caution", id="rule 11: at lel_caution_percent"),
        pytest.param(9.9, "caution", id="rule 11: under the limit"),
        pytest.param(10, "withdraw", id="rule 10: at the limit"),
        pytest.param(10.1, "withdraw", id="29 CFR 1910.146(b): in excess of 10 %"),
        pytest.param(100, "withdraw", id="top of the scale"),
    ],
)
def test_rules_10_and_11_flammable_gas(lel, action, ensemble):
    seen = judge(worksheet(meter(0, lel, 20.9), ensemble=ensemble))

    assert seen.action() == action
    assert seen.on("flammable_atmosphere") == (None if action == "continue" else action)


@pytest.mark.parametrize("ensemble", ENSEMBLES)
@pytest.mark.parametrize("lel", [None, 0, 100])
def test_rule_10_over_range_withdraws_whatever_figure_is_shown(lel, ensemble):
    seen = judge(worksheet(meter(0, lel, 20.9, over_range=["lel"]), ensemble=ensemble))

    assert seen.on("flammable_atmosphere") == "withdraw"


@pytest.mark.parametrize(
    "reading",
    [
        pytest.param(meter(2, 10, 20.9), id="rule 10"),
        pytest.param(meter(2, over_range=["lel"]), id="rule 10: over-range"),
        pytest.param(meter(2, oxygen=23.6), id="rule 13"),
    ],
)
@pytest.mark.parametrize("ensemble", ENSEMBLES)
def test_rules_10_and_13_withdraw_every_team_at_every_place(reading, ensemble):
    teams = [team(), team("entry-2", ensemble), team("backup", ensemble, "backup")]
    seen = judge(
        worksheet(
            enter(0), enter(0, team="entry-2", place="far yard"), reading, teams=teams
        )
    )

    assert seen.action("entry-1") == "withdraw"
    assert seen.action("entry-2") == "withdraw"
    assert seen.action("backup") == "withdraw"


def test_rule_10_a_team_that_has_left_must_not_go_back():
    seen = judge(worksheet(enter(0), meter(1, 12, 20.9), leave(2)))

    assert seen.action() == "withdraw"


def test_rule_11_gives_the_rate_and_an_interval():
    log = [meter(minute, 1 + minute, 20.9) for minute in range(5)]
    said = judge(worksheet(*log)).said("flammable_atmosphere")

    assert "min" in said
    assert re.search(r"\d\D+\d", said)
    assert said != judge(worksheet(log[-1])).said("flammable_atmosphere")


@pytest.mark.parametrize(
    ("oxygen", "doubted"),
    [
        pytest.param(9.9, True, id="the sensor hardly works"),
        pytest.param(19.4, True, id="under oxygen_min_for_lel"),
        pytest.param(19.5, False, id="at oxygen_min_for_lel"),
        pytest.param(20.9, False, id="fresh air"),
        pytest.param(23.5, False, id="at oxygen_enriched_percent"),
        pytest.param(23.6, True, id="over oxygen_enriched_percent"),
    ],
)
@pytest.mark.parametrize("ensemble", ENSEMBLES)
def test_rule_12_a_quiet_lel_sensor_needs_oxygen(oxygen, doubted, ensemble):
    seen = judge(worksheet(meter(0, 0, oxygen), ensemble=ensemble))

    assert seen.on("flammable_atmosphere") == ("caution" if doubted else None)
    assert seen.status("flammable_atmosphere") == (
        "cannot_tell" if doubted else "not_found"
    )


def test_rule_12_says_where_the_sensor_hardly_works():
    under = judge(worksheet(meter(0, 0, 9.9))).said("flammable_atmosphere")
    at = judge(worksheet(meter(0, 0, 10))).said("flammable_atmosphere")

    assert "hardly" in under
    assert "hardly" not in at


@pytest.mark.parametrize(
    ("lel", "action"), [(1, "caution"), (9.9, "caution"), (10, "withdraw")]
)
@pytest.mark.parametrize("oxygen", [5, 19.4, 23.6])
def test_rule_12_a_reading_over_a_limit_counts_all_the_same(lel, action, oxygen):
    seen = judge(worksheet(meter(0, lel, oxygen)))

    assert seen.on("flammable_atmosphere") == action
    assert seen.status("flammable_atmosphere") == "found"


def test_rule_12_follows_the_profile():
    limits = {"oxygen_min_for_lel": 16}

    assert (
        judge(worksheet(meter(0, 0, 16), limits=limits)).on("flammable_atmosphere")
        is None
    )
    assert (
        judge(worksheet(meter(0, 0, 15.9), limits=limits)).on("flammable_atmosphere")
        == "caution"
    )


def test_rule_12_ends_with_a_reading_that_can_tell():
    seen = judge(worksheet(meter(0, 0, 19.4), meter(1, 0, 20.9)))

    assert seen.on("flammable_atmosphere") is None


@pytest.mark.parametrize("ensemble", ENSEMBLES)
@pytest.mark.parametrize(
    ("oxygen", "hazard", "action"),
    [
        pytest.param(0, "oxygen_deficient", "rule 14", id="rule 14: none"),
        pytest.param(19.4, "oxygen_deficient", "rule 14", id="rule 14: under"),
        pytest.param(19.5, "oxygen_deficient", "caution", id="rule 28: at 19.5"),
        pytest.param(20.4, "oxygen_deficient", "caution", id="rule 28: at the drop"),
        pytest.param(20.5, "oxygen_deficient", None, id="under the drop"),
        pytest.param(20.9, "oxygen_deficient", None, id="ambient"),
        pytest.param(20.9, "oxygen_enriched", None, id="ambient, other side"),
        pytest.param(21.3, "oxygen_enriched", None, id="under the rise"),
        pytest.param(21.4, "oxygen_enriched", "caution", id="rule 29: at the rise"),
        pytest.param(23.5, "oxygen_enriched", "caution", id="rule 29: at 23.5"),
        pytest.param(23.6, "oxygen_enriched", "withdraw", id="rule 13: over 23.5"),
    ],
)
def test_rules_13_14_28_29_oxygen(oxygen, hazard, action, ensemble):
    seen = judge(worksheet(meter(0, oxygen=oxygen), ensemble=ensemble))

    if action == "rule 14":
        action = "caution" if ensemble in SCBA else "withdraw"
    assert seen.on(hazard) == action


@pytest.mark.parametrize(
    ("oxygen", "share_ppm"),
    [
        pytest.param(19.4, 71_770, id="rule 14: 1.5 of 20.9"),
        pytest.param(10, 521_531, id="rule 14: 10.9 of 20.9"),
    ],
)
def test_rule_14_says_how_much_air_is_displaced(oxygen, share_ppm):
    seen = judge(worksheet(meter(0, 0, oxygen)))
    said = seen.said("oxygen_deficient")

    figures = [float(n.replace(",", "")) for n in re.findall(r"\d[\d,.]*\d|\d", said)]
    assert any(abs(n - share_ppm) <= share_ppm * 0.01 for n in figures)
    assert any(abs(n - share_ppm / 10_000) <= 0.5 for n in figures)
    assert "ppm" in said
    assert "%" in said
    assert "lel" in said


def test_rule_28_gives_the_share_of_air_displaced():
    said = judge(worksheet(meter(0, oxygen=20.4))).said("oxygen_deficient")

    figures = [float(n.replace(",", "")) for n in re.findall(r"\d[\d,.]*\d|\d", said)]
    assert any(abs(n - 2.39) <= 0.02 for n in figures)  # WE-2: 0.5 of 20.9


def test_rules_28_and_29_follow_the_profile():
    limits = {"oxygen_ambient": 20.8, "oxygen_drop": 0.3}

    for oxygen, hazards in [
        (20.6, set()),
        (20.5, {"oxygen_deficient"}),
        (21.0, set()),
        (21.1, {"oxygen_enriched"}),
    ]:
        seen = judge(worksheet(meter(0, oxygen=oxygen), limits=limits))
        assert seen.hazards() == hazards, oxygen


# Rule 15. Hydrogen chloride: ceiling 5, IDLH 50 ppm; ammonia IDLH 300 ppm; chlorine IDLH
# 10 ppm (NIOSH Pocket Guide).
CO_AND_H2S = [
    ("co_ppm", 1, "caution"),
    ("co_ppm", 199, "caution"),
    ("co_ppm", 200, "stop"),
    ("co_ppm", 1199, "stop"),
    ("co_ppm", 1200, "withdraw"),
    ("h2s_ppm", 1, "caution"),
    ("h2s_ppm", 9.9, "caution"),
    ("h2s_ppm", 10, "stop"),
    ("h2s_ppm", 99.9, "stop"),
    ("h2s_ppm", 100, "withdraw"),
]


@pytest.mark.parametrize("ensemble", ENSEMBLES)
@pytest.mark.parametrize(("field", "value", "unprotected"), CO_AND_H2S)
def test_rule_15_carbon_monoxide_and_hydrogen_sulphide(
    field, value, unprotected, ensemble
):
    seen = judge(worksheet(meter(0, **{field: value}), ensemble=ensemble))

    expected = "continue" if ensemble in SCBA else unprotected
    assert seen.action() == expected
    assert seen.on("toxic_gas") == expected  # on SCBA it is noted, as a continue


@pytest.mark.parametrize("field", ["co_ppm", "h2s_ppm"])
def test_rule_15_nothing_shown_is_nothing_found(field):
    seen = judge(worksheet(meter(0, **{field: 0}), ensemble="level_d"))

    assert seen.on("toxic_gas") is None
    assert seen.status("toxic_gas") == "not_found"


@pytest.mark.parametrize("ensemble", ENSEMBLES)
@pytest.mark.parametrize(
    ("name", "ppm", "unprotected", "on_scba"),
    [
        ("hydrogen chloride", 4.9, "caution", "caution"),
        ("hydrogen chloride", 5, "stop", "caution"),
        ("hydrogen chloride", 44.9, "stop", "caution"),
        ("hydrogen chloride", 50, "withdraw", "stop"),
        ("ammonia", 1, "caution", "caution"),
        ("ammonia", 300, "withdraw", "stop"),
        ("chlorine", 0.1, "caution", "caution"),
        ("chlorine", 9.9, "stop", "caution"),
        ("chlorine", 10, "withdraw", "stop"),
    ],
)
def test_rule_15_named_gases_touch_skin_and_eyes_too(
    name, ppm, unprotected, on_scba, ensemble
):
    seen = judge(worksheet(meter(0, gases={name: ppm}), ensemble=ensemble))

    if ensemble == "level_a":
        expected = "caution"
    else:
        expected = on_scba if ensemble in SCBA else unprotected
    assert seen.on("toxic_gas") == expected
    assert seen.action() == expected


def test_rule_15_the_ceilings_are_the_profiles():
    limits = {"co_ceiling_ppm": 50, "co_idlh_ppm": 500}

    for ppm, action in [
        (49, "caution"),
        (50, "stop"),
        (499, "stop"),
        (500, "withdraw"),
    ]:
        document = worksheet(meter(0, co_ppm=ppm), ensemble="level_d", limits=limits)
        assert judge(document).action() == action


@pytest.mark.parametrize("ensemble", ENSEMBLES)
@pytest.mark.parametrize(
    ("voc", "action"), [(0, None), (0.9, None), (1, "caution"), (5000, "caution")]
)
def test_rule_30_unexplained_vapour(voc, action, ensemble):
    seen = judge(worksheet(meter(0, voc_ppm=voc), ensemble=ensemble))

    assert seen.on("toxic_gas") == action
    assert not re.search(r"\d ?ppm of", seen.said("toxic_gas"))


# --- rule 26 -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("high", "low", "after", "masked"),
    [
        pytest.param(50, 9.9, 2, True, id="at 50, in two minutes"),
        pytest.param(80, 0, 1, True, id="well over, well under"),
        pytest.param(49.9, 9.9, 1, False, id="never at 50"),
        pytest.param(50, 10, 1, False, id="not below 10"),
        pytest.param(50, 9.9, 2.1, False, id="more than two minutes"),
    ],
)
def test_rule_26_a_falling_figure_blinds_the_meter_until_exit(high, low, after, masked):
    log = [
        enter(0),
        meter(1, high, 20.9),
        meter(1 + after, low, 20.9),
        meter(4, 0, 20.9),
        leave(5),
    ]

    told = judge(worksheet(*log, clear(6, "flammable_atmosphere")))
    assert told.on("flammable_atmosphere") == ("withdraw" if masked else None)

    log += [meter(6, 0, 20.9), clear(7, "flammable_atmosphere")]
    assert judge(worksheet(*log)).on("flammable_atmosphere") is None


def test_rule_26_is_for_one_place():
    log = [
        enter(0),
        meter(1, 60, 20.9),
        meter(2, 5, 20.9, place="hall"),
        meter(4, 0, 20.9),
        leave(5),
        clear(6, "flammable_atmosphere"),
    ]

    assert judge(worksheet(*log)).on("flammable_atmosphere") is None


# --- rule 32 -------------------------------------------------------------------------

OXIDISERS = {
    "KI-starch": ki(1, "blue_black"),
    "white paper": ph(1, bleached=True),
}


@pytest.mark.parametrize("ensemble", ENSEMBLES)
@pytest.mark.parametrize("oxidiser", OXIDISERS.values(), ids=OXIDISERS.keys())
@pytest.mark.parametrize("gas_at", [0.5, 1.5])
@pytest.mark.parametrize(("lel", "withdraws"), [(0.9, False), (1, True)])
def test_rule_32_oxidiser_with_fuel_withdraws(
    lel, withdraws, gas_at, oxidiser, ensemble
):
    teams = [team(ensemble=ensemble), team("entry-2", ensemble)]
    seen = judge(
        worksheet(
            enter(0, team="entry-2", place="far yard"),
            oxidiser,
            meter(gas_at, lel, 20.9),
            teams=teams,
        )
    )

    for id in ("entry-1", "entry-2"):
        assert (seen.on("flammable_atmosphere", id) == "withdraw") is withdraws


def test_rule_32_needs_both_at_one_place():
    seen = judge(worksheet(ki(0, "blue_black", place="hall"), meter(1, 5, 20.9)))

    assert seen.on("flammable_atmosphere") == "caution"


def test_rule_32_does_not_count_a_flammable_caution_that_has_ended():
    seen = judge(worksheet(meter(0, 5, 20.9), meter(1, 0, 20.9), ki(2, "blue_black")))

    assert seen.on("flammable_atmosphere") is None
    assert seen.action() == "stop"


def test_rule_32_is_not_lifted_by_quiet_readings():
    seen = judge(
        worksheet(ki(0, "blue_black"), meter(1, 5, 20.9), meter(2, 0, 20.9), ki(3))
    )

    assert seen.on("flammable_atmosphere") == "withdraw"


def test_rule_32_does_not_count_the_doubt_of_rule_12():
    seen = judge(worksheet(ki(0, "blue_black"), meter(1, 0, 19.4)))

    assert seen.on("flammable_atmosphere") == "caution"
