"""Rules 24, 25, 33 and 34: air, accountability, gaps in monitoring, backup.

Figures: low-air alarm at 0.33 of rated pressure (NFPA 1981), PAR every 20 minutes (common
practice), first look within 5 minutes (no source), a backup by 29 CFR
1910.120(q)(3)(vi).
"""

import pytest

from tests.engine.documents import (
    ENSEMBLES,
    air,
    enter,
    entry,
    judge,
    leave,
    member,
    meter,
    par,
    ph,
    quantity,
    rate,
    team,
    ventilate,
    worksheet,
)

CREW = [team(members=[member("a"), member("b")])]


@pytest.mark.parametrize("ensemble", ENSEMBLES)
@pytest.mark.parametrize(
    ("psi", "action"),
    [
        pytest.param(4400, None, id="as filled"),
        pytest.param(1486, "stop", id="past any turn-around, above the alarm"),
        pytest.param(1485, "withdraw", id="NFPA 1981: 0.33 of 4500"),
        pytest.param(1484, "withdraw", id="under the alarm"),
        pytest.param(0, "withdraw", id="empty"),
    ],
)
def test_rule_24_turn_around_and_low_air(psi, action, ensemble):
    crew = [team(ensemble=ensemble, members=[member("a")])]
    seen = judge(worksheet(enter(0), air(1, psi), teams=crew))

    assert seen.on("low_air") == action


@pytest.mark.parametrize(
    ("value", "unit", "action"),
    [
        (99, "bar", "withdraw"),
        (99.1, "bar", "stop"),
        (9.9, "MPa", "withdraw"),
        (9.91, "MPa", "stop"),
        (300, "bar", None),
    ],
)
def test_rule_24_reads_any_pressure_unit(value, unit, action):
    crew = [team(members=[member("a", rated=300, start=300, unit="bar")])]
    seen = judge(worksheet(enter(0), air(1, value, unit), teams=crew))

    assert seen.on("low_air") == action


def test_rule_24_the_alarm_is_the_profiles():
    limits = {"low_air_fraction": 0.25}  # 1125 of 4500 psi

    for psi, action in [(1126, "stop"), (1125, "withdraw")]:
        seen = judge(worksheet(enter(0), air(1, psi), teams=CREW, limits=limits))
        assert seen.on("low_air") == action


def test_rule_24_the_lowest_bottle_leads():
    log = [enter(0), air(1, 1485, member="a"), air(2, 4300, member="b")]

    assert judge(worksheet(*log, teams=CREW)).on("low_air") == "withdraw"


@pytest.mark.parametrize(
    ("minutes", "action"),
    [
        pytest.param(19.9, None, id="under par_interval"),
        pytest.param(20, "caution", id="at par_interval"),
        pytest.param(39.9, "caution", id="under twice the interval"),
        pytest.param(40, "stop", id="at twice the interval"),
        pytest.param(90, "stop", id="long after"),
    ],
)
@pytest.mark.parametrize("ensemble", ENSEMBLES)
def test_rule_25_runs_by_time_alone(minutes, action, ensemble):
    document = worksheet(enter(0), ensemble=ensemble)

    assert judge(document, minutes).on("accountability") == action


@pytest.mark.parametrize(("minutes", "action"), [(34.9, None), (35, "caution")])
def test_rule_25_counts_from_the_last_par(minutes, action):
    document = worksheet(enter(0), par(15))

    assert judge(document, minutes).on("accountability") == action


def test_rule_25_a_par_ends_the_caution():
    assert judge(worksheet(enter(0), par(25))).on("accountability") is None


def test_rule_25_is_judged_at_each_entry():
    seen = judge(worksheet(enter(0), ph(45, 7)))

    assert seen.standing("e02") == "stop"


def test_rule_25_a_team_is_inside_from_its_first_reading():
    document = worksheet(ph(0, 7))

    assert judge(document, 19.9).on("accountability") is None
    assert judge(document, 20).on("accountability") == "caution"


def test_rule_25_needs_a_team_inside():
    assert judge(worksheet(enter(0), leave(10)), 60).on("accountability") is None
    assert (
        judge(worksheet(enter(0), leave(10), ph(11, 7)), 60).on("accountability")
        is None
    )


def test_rule_25_goes_by_each_team():
    teams = [team(), team("entry-2")]
    document = worksheet(
        enter(0), enter(0, team="entry-2"), par(15, team="entry-2"), teams=teams
    )

    seen = judge(document, 21)
    assert seen.on("accountability", "entry-1") == "caution"
    assert seen.on("accountability", "entry-2") is None


def test_rule_25_follows_the_profile():
    limits = {"par_interval": quantity(10, "min")}
    document = worksheet(enter(0), limits=limits)

    assert judge(document, 9.9).on("accountability") is None
    assert judge(document, 10).on("accountability") == "caution"
    assert judge(document, 20).on("accountability") == "stop"


@pytest.mark.parametrize("ensemble", ENSEMBLES)
def test_rule_25_a_member_unanswered_stops(ensemble):
    crew = [team(ensemble=ensemble, members=[member("a"), member("b")])]
    seen = judge(worksheet(enter(0), par(1, unanswered=["b"]), teams=crew))

    assert seen.on("accountability") == "stop"
    assert seen.action() == "stop"


def test_rule_25_nobody_unanswered_is_nothing():
    seen = judge(worksheet(enter(0), par(1, unanswered=[]), teams=CREW))

    assert seen.on("accountability") is None


# --- rule 33 -------------------------------------------------------------------------

LOOKED = (meter(1, 0, 20.9), ph(1, 7), rate(1, 0.01))
NAMES = {
    "flammable_atmosphere": "flammable",
    "oxygen_deficient": "oxygen",
    "acid_vapour": "acid",
    "base_vapour": "base",
    "gamma_radiation": "gamma",
}


@pytest.mark.parametrize("ensemble", ENSEMBLES)
@pytest.mark.parametrize(
    ("minutes", "action"), [(0, None), (4.9, None), (5, "caution"), (60, "caution")]
)
def test_rule_33_asks_after_the_first_look(minutes, action, ensemble):
    document = worksheet(enter(0), ensemble=ensemble)

    seen = judge(document, minutes)
    assert seen.on("monitoring") == action
    if action:
        for name in NAMES.values():
            assert name in seen.said("monitoring")


def test_rule_33_counts_from_the_first_reading_without_an_enter():
    document = worksheet(ph(0, 7))

    assert judge(document, 4.9).on("monitoring") is None
    assert judge(document, 5).on("monitoring") == "caution"


def test_rule_33_is_quiet_where_all_was_looked_at():
    assert judge(worksheet(enter(0), *LOOKED), 5).on("monitoring") is None


@pytest.mark.parametrize(
    ("missing", "names"),
    [
        (0, {"flammable", "oxygen"}),
        (1, {"acid", "base"}),
        (2, {"gamma"}),
    ],
)
def test_rule_33_names_each_gap(missing, names):
    log = [line for n, line in enumerate(LOOKED) if n != missing]
    finding = judge(worksheet(enter(0), *log), 5).findings("monitoring")[0]

    assert {name for name in NAMES.values() if name in finding["because"].lower()} == (
        names
    )


@pytest.mark.parametrize(
    "blind",
    [
        pytest.param((meter(1, 0), ph(1, 7), rate(1, 0.01)), id="LEL without oxygen"),
        pytest.param(
            (meter(1, 0, 20.9), ph(1, 7, moistened=False), rate(1, 0.01)), id="dry pH"
        ),
        pytest.param(
            (meter(1, 0, 20.9), ph(1, 7, sample="liquid"), rate(1, 0.01)),
            id="liquid pH",
        ),
        pytest.param(
            (
                meter(1, 0, 20.9),
                ph(1, 7),
                entry("dosimeter", 1, dose=quantity(0, "rem")),
            ),
            id="dose alone",
        ),
    ],
)
def test_rule_33_counts_what_cannot_be_told(blind):
    seen = judge(worksheet(enter(0), *blind, humidity=20), 5)

    assert seen.on("monitoring") == "caution"


def test_rule_33_comes_and_goes_by_time_alone_and_with_readings():
    log = [enter(0), *LOOKED]

    assert judge(worksheet(*log), 6).on("monitoring") is None  # meter 5 minutes old
    assert judge(worksheet(*log), 6.1).on("monitoring") == "caution"
    again = judge(worksheet(*log, meter(7, 0, 20.9)))
    assert again.on("monitoring") is None
    assert again.standing("e05") == "continue"


def test_rule_33_follows_the_team_to_a_new_place():
    log = [enter(0), *LOOKED, enter(5, place="hall")]

    assert judge(worksheet(*log)).on("monitoring") == "caution"


def test_rule_33_counts_readings_from_before_a_ventilation_as_out_of_date():
    log = [enter(0), *LOOKED, ventilate(4)]

    assert judge(worksheet(*log), 5).on("monitoring") == "caution"


def test_rule_33_takes_the_readings_of_another_team():
    teams = [team(), team("entry-2")]
    log = [{**line, "team": "entry-2"} for line in LOOKED]

    assert judge(worksheet(enter(0), *log, teams=teams), 5).on("monitoring") is None


def test_rule_33_counts_what_was_found_as_looked_at():
    log = [enter(0), meter(1, 0, 20.9), ph(1, 2), rate(1, 0.01)]
    finding = judge(worksheet(*log), 5).findings("monitoring")

    assert not any("acid" in f["because"].lower() for f in finding)


def test_rule_33_is_for_a_team_inside():
    assert judge(worksheet(enter(0), leave(4)), 60).on("monitoring") is None


def test_rule_33_follows_the_profile():
    document = worksheet(enter(0), limits={"first_look": quantity(2, "min")})

    assert judge(document, 1.9).on("monitoring") is None
    assert judge(document, 2).on("monitoring") == "caution"


# --- rule 34 -------------------------------------------------------------------------


@pytest.mark.parametrize("mission", ["reconnaissance", "product_control", "other"])
@pytest.mark.parametrize("ensemble", ENSEMBLES)
@pytest.mark.parametrize(
    ("role", "action"),
    [
        ("backup", None),
        ("decon", "caution"),
        ("other", "caution"),
        ("entry", "caution"),
    ],
)
def test_rule_34_asks_for_a_backup(role, action, ensemble, mission):
    teams = [team(ensemble=ensemble), team("second", role=role)]
    seen = judge(worksheet(enter(0), teams=teams, mission=mission))

    assert seen.on("accountability") == action


def test_rule_34_does_not_hold_up_a_rescue():
    assert judge(worksheet(enter(0))).on("accountability") is None


def test_rule_34_is_for_a_team_inside():
    document = worksheet(enter(0), leave(1), mission="other")

    assert judge(document, 0.5).on("accountability") == "caution"
    assert judge(document).on("accountability") is None
