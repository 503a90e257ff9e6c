"""Rules 20 to 23: the dosimeter.

Figures: turn-back doses 5, 10 and 25 rem from EPA-400/R-17/001, Table 3-1; 10 mrem/h and
10 rem/h from NCRP Report 165 and Commentary 19; three times background and the way out of
5 minutes are settings.
"""

import re
from datetime import datetime

import pytest

from tests.engine.documents import (
    ENSEMBLES,
    change,
    clear,
    dose,
    enter,
    entry,
    judge,
    leave,
    moment,
    quantity,
    rate,
    team,
    worksheet,
)

BACKGROUND = {"background_dose_rate": quantity(0.01, "mrem/h")}
TEAMS = [team(), team("backup", role="backup")]


@pytest.mark.parametrize("ensemble", ENSEMBLES)
@pytest.mark.parametrize(
    ("value", "unit", "action"),
    [
        pytest.param(0.01, "mrem/h", None, id="background"),
        pytest.param(0.03, "mrem/h", None, id="rule 20: three times it, not over"),
        pytest.param(0.031, "mrem/h", "caution", id="rule 20: over three times it"),
        pytest.param(0.3, "uSv/h", None, id="0.3 uSv/h is 0.03 mrem/h"),
        pytest.param(0.31, "uSv/h", "caution", id="0.31 uSv/h is 0.031 mrem/h"),
        pytest.param(10, "mrem/h", "caution", id="NCRP: hot line"),
        pytest.param(9.99, "rem/h", "caution", id="rule 23: under dose_rate_turn_back"),
        pytest.param(10, "rem/h", "stop", id="rule 22: at dose_rate_turn_back"),
        pytest.param(10.1, "rem/h", "stop", id="rule 22: over it"),
        pytest.param(99.9, "mSv/h", "caution", id="99.9 mSv/h is 9.99 rem/h"),
        pytest.param(100, "mSv/h", "stop", id="100 mSv/h is 10 rem/h"),
        pytest.param(0.1, "Sv/h", "stop", id="0.1 Sv/h is 10 rem/h"),
        pytest.param(100_000, "uSv/h", "stop", id="100,000 uSv/h is 10 rem/h"),
        pytest.param(10_000, "mrem/h", "stop", id="10,000 mrem/h is 10 rem/h"),
        pytest.param(10, "R/h", "stop", id="R read as rem"),
        pytest.param(9_999, "mR/h", "caution", id="mR read as mrem"),
    ],
)
def test_dose_rates(value, unit, action, ensemble):
    seen = judge(worksheet(rate(0, value, unit), ensemble=ensemble, **BACKGROUND))

    assert seen.on("gamma_radiation") == action
    assert seen.action() == (action or "continue")


@pytest.mark.parametrize(
    ("value", "action"), [(0.1, None), (0.101, "caution"), (0.099, None)]
)
def test_rule_20_without_a_background_the_profiles_counts(value, action):
    assert judge(worksheet(rate(0, value))).on("gamma_radiation") == action


@pytest.mark.parametrize(("alarm", "action"), [(True, "caution"), (False, None)])
@pytest.mark.parametrize("ensemble", ENSEMBLES)
def test_rule_20_an_alarm_is_not_in_itself_a_withdrawal(alarm, action, ensemble):
    line = entry("dosimeter", 0, alarm=alarm)
    seen = judge(worksheet(line, ensemble=ensemble))

    assert seen.on("gamma_radiation") == action


@pytest.mark.parametrize(
    ("value", "fields", "hot"),
    [
        pytest.param(10, {}, True, id="at 10 mrem/h"),
        pytest.param(9.9, {}, False, id="under it"),
        pytest.param(10, {"contact": True}, False, id="on contact"),
        pytest.param(100, {"distance": quantity(1, "m")}, True, id="at one metre"),
    ],
)
def test_rule_20_says_where_the_hot_zone_begins(value, fields, hot):
    said = judge(worksheet(rate(0, value, **fields))).said("gamma_radiation")

    assert ("hot zone" in said) is hot


def test_rules_20_to_23_never_say_that_an_ensemble_helps():
    said = judge(worksheet(rate(0, 1, "rem/h"))).said("gamma_radiation")

    assert "no ensemble" in said


@pytest.mark.parametrize(
    ("mission", "turn_back"),
    [
        pytest.param("rescue", 25, id="EPA-400: lifesaving"),
        pytest.param("product_control", 10, id="EPA-400: valuable property"),
        pytest.param("other", 5, id="EPA-400: all occupational"),
        pytest.param("reconnaissance", 5, id="spec: uses other"),
    ],
)
@pytest.mark.parametrize(
    ("part", "action"),
    [
        pytest.param(0.499, None, id="under half"),
        pytest.param(0.5, "caution", id="rule 20: half of it"),
        pytest.param(0.999, "caution", id="rule 20: just under"),
        pytest.param(1, "withdraw", id="rule 21: at it"),
        pytest.param(1.001, "withdraw", id="rule 21: over it"),
    ],
)
def test_doses(part, action, mission, turn_back):
    seen = judge(worksheet(dose(0, turn_back * part), teams=TEAMS, mission=mission))

    assert seen.on("gamma_radiation") == action


@pytest.mark.parametrize("ensemble", ENSEMBLES)
@pytest.mark.parametrize(
    ("value", "unit", "action"),
    [
        (25, "rem", "withdraw"),
        (250, "mSv", "withdraw"),
        (249.9, "mSv", "caution"),
        (0.25, "Sv", "withdraw"),
        (250_000, "uSv", "withdraw"),
        (25_000, "mrem", "withdraw"),
        (24_999, "mrem", "caution"),
        (25, "R", "withdraw"),
        (25_000, "mR", "withdraw"),
        (24_999, "mR", "caution"),
    ],
)
def test_rule_21_counts_the_same_in_every_unit(value, unit, action, ensemble):
    seen = judge(worksheet(dose(0, value, unit), ensemble=ensemble))

    assert seen.on("gamma_radiation") == action


def test_roentgen_read_as_rem_is_stated_in_the_result():
    def naming_both(unit: str) -> list[str]:
        seen = judge(worksheet(rate(0, 0.01, unit)))
        return [
            sentence
            for sentence in seen.sentences()
            if re.search(r"\bm?R(/h)?\b", sentence) and re.search(r"\brem\b", sentence)
        ]

    assert naming_both("mR/h")
    assert not naming_both("mrem/h")


@pytest.mark.parametrize("mission", ["rescue", "product_control"])
def test_rule_21_the_turn_back_dose_is_the_profiles(mission):
    limits = {f"dose_turn_back_{mission}": quantity(8, "rem")}
    seen = judge(worksheet(dose(0, 8), teams=TEAMS, mission=mission, limits=limits))

    assert seen.on("gamma_radiation") == "withdraw"


def test_a_dose_is_the_teams_own():
    teams = [team(), team("entry-2")]
    same_place = enter(0, team="entry-2")
    seen = judge(worksheet(same_place, enter(0), dose(1, 30), teams=teams))

    assert seen.action("entry-1") == "withdraw"
    assert seen.on("gamma_radiation", "entry-2") is None


def test_a_dose_follows_its_team_to_another_place():
    seen = judge(worksheet(dose(0, 30), enter(1, place="street")))

    assert seen.on("gamma_radiation") == "withdraw"


def test_the_highest_dose_in_the_team_counts():
    members = [{"id": "a"}, {"id": "b"}]
    log = [dose(0, 30, member="a"), dose(1, 1, member="b")]
    seen = judge(worksheet(*log, teams=[team(members=members)]))

    assert seen.on("gamma_radiation") == "withdraw"


def test_a_lower_dose_read_later_lifts_nothing():
    assert judge(worksheet(dose(0, 30), dose(1, 3))).on("gamma_radiation") == "withdraw"


def test_a_dose_cannot_be_cleared():
    log = [enter(0), dose(1, 30), leave(2), rate(3, 0.01), dose(3, 30)]
    seen = judge(worksheet(*log, clear(4, "gamma_radiation")))

    assert seen.on("gamma_radiation") == "withdraw"


# --- stay time -----------------------------------------------------------------------
# 25 rem less the dose taken, at the rate read: 24.2 rem leaves 0.8, which is 5 minutes at
# 9.6 rem/h; 24.0 leaves 1.0, which is 6 minutes 15 at 9.6.


@pytest.mark.parametrize("ensemble", ENSEMBLES)
@pytest.mark.parametrize(
    ("rem_per_hour", "action"),
    [
        pytest.param(9.5, "caution", id="longer than the way out"),
        pytest.param(9.6, "caution", id="5 minutes, exactly the way out"),
        pytest.param(9.7, "stop", id="shorter than the way out"),
    ],
)
def test_rule_23_turns_back_when_the_stay_is_shorter_than_the_way_out(
    rem_per_hour, action, ensemble
):
    log = [dose(0, 24.2), rate(0, rem_per_hour, "rem/h")]
    seen = judge(worksheet(*log, ensemble=ensemble))

    assert seen.on("gamma_radiation") == action


def test_rule_23_in_one_reading():
    both = {"dose": quantity(24.2, "rem"), "dose_rate": quantity(9.7, "rem/h")}
    seen = judge(worksheet(entry("dosimeter", 0, **both)))

    assert seen.on("gamma_radiation") == "stop"


def test_rule_23_follows_the_profiles_way_out():
    log = [dose(0, 24.2), rate(0, 4, "rem/h")]  # 12 minutes

    assert judge(worksheet(*log)).on("gamma_radiation") == "caution"
    limits = {"exit_time": quantity(13, "min")}
    assert judge(worksheet(*log, limits=limits)).on("gamma_radiation") == "stop"


@pytest.mark.parametrize(
    ("minutes", "action"), [(0, "caution"), (1, "caution"), (2, "stop"), (9, "stop")]
)
def test_rule_23_is_judged_as_time_passes(minutes, action):
    document = worksheet(enter(0), dose(0, 24.0), rate(0, 9.6, "rem/h"))

    assert judge(document, minutes).on("gamma_radiation") == action


def test_rule_23_ends_with_the_teams_next_dose_rate():
    log = [enter(0), dose(0, 24.2), rate(0, 9.7, "rem/h"), rate(1, 0.01)]
    seen = judge(worksheet(*log))

    assert seen.standing("e03") == "stop"
    assert seen.on("gamma_radiation") == "caution"  # the dose is over half


def test_rule_23_goes_with_the_team_from_a_place_at_the_turn_back_rate():
    # At 100 rem/h 25 rem are taken in 15 minutes; after 12 of them the way out is too long.
    log = [enter(0), rate(0, 100, "rem/h"), enter(12, place="hall")]

    assert judge(worksheet(*log), 12).on("gamma_radiation") == "stop"


def test_one_members_dosimeter_says_nothing_of_what_another_has_taken_since():
    # 2 rem and half an hour at 8 rem/h: 6 rem, over half of 10, whatever b has.
    members = [{"id": "a"}, {"id": "b"}]
    log = [
        enter(0),
        dose(0, 2, member="a"),
        rate(0, 8, "rem/h"),
        dose(30, 1, member="b"),
    ]
    document = worksheet(*log, teams=[team(members=members)], mission="product_control")

    assert judge(document, 30).team("entry-1")["clocks"]["dose_rem"] == 6


def test_rule_23_does_not_end_with_another_teams_dose_rate():
    teams = [team(), team("entry-2")]
    log = [enter(0), dose(0, 24.2), rate(0, 9.7, "rem/h"), rate(1, 1, team="entry-2")]

    assert judge(worksheet(*log, teams=teams)).on("gamma_radiation") == "stop"


@pytest.mark.parametrize("rem_per_hour", [5, 10, 20])
def test_rules_22_and_23_give_the_stay_time(rem_per_hour):
    said = judge(worksheet(rate(0, rem_per_hour, "rem/h"))).said("gamma_radiation")

    minutes = 25 * 60 / rem_per_hour
    figures = [float(n) for n in re.findall(r"\d+(?:\.\d+)?", said)]
    whole_hours = minutes // 60
    assert minutes in figures or whole_hours in figures or minutes / 60 in figures


def test_rule_22_stands_until_it_is_cleared():
    log = [enter(0), rate(0, 10, "rem/h"), rate(1, 0.01)]

    assert judge(worksheet(*log)).on("gamma_radiation") == "stop"
    seen = judge(worksheet(*log, clear(2, "gamma_radiation")))
    assert seen.on("gamma_radiation") is None


def test_rule_22_elsewhere_is_a_caution():
    teams = [team(), team("entry-2")]
    log = [rate(0, 10, "rem/h"), enter(0, team="entry-2", place="hall")]

    assert judge(worksheet(*log, teams=teams)).on("gamma_radiation", "entry-2") == (
        "caution"
    )


def test_a_low_dose_rate_ends_by_itself():
    log = [rate(0, 5), rate(1, 0.01)]

    assert judge(worksheet(*log)).on("gamma_radiation") is None


def test_no_ensemble_stops_gamma_so_a_change_changes_nothing():
    log = [enter(0), rate(0, 10, "rem/h"), change(1, "level_a")]

    assert judge(worksheet(*log)).on("gamma_radiation") == "stop"


# --- a stay that has passed ------------------------------------------------------------


def stay_until(*log, minutes, **changes):
    """Turn-back dose 5 rem (mission "other"); at 10 rem/h it is reached in 30 min."""
    document = worksheet(*log, mission="other", **changes)
    return same(judge(document, minutes).team()["clocks"]["stay_until"])


def same(text):
    """A moment, whatever offset it is written with."""
    return datetime.fromisoformat(text)


STAY = (enter(0), rate(0, 10, "rem/h"))


@pytest.mark.parametrize("minutes", [0, 29, 30, 31, 300])
def test_the_end_of_a_stay_stays_where_it_is_before_and_after_it_has_passed(minutes):
    assert stay_until(*STAY, minutes=minutes) == same(moment(30))


def test_a_later_reading_or_leaving_does_not_move_a_stay_that_has_passed():
    read = rate(40, 20, "rem/h")

    assert stay_until(*STAY, read, minutes=50) == same(moment(30))
    assert stay_until(*STAY, leave(45), minutes=50) == same(moment(30))
    assert stay_until(*STAY, leave(45), enter(60), minutes=70) == same(moment(30))


def test_a_dose_that_is_read_above_the_limit_has_passed_it_when_it_was_read():
    assert stay_until(*STAY, dose(10, 6), minutes=20) == same(moment(10))


def test_a_lower_dose_that_is_read_after_all_gives_the_rest_of_the_stay_back():
    """The dosimeter has 4 rem where the rate alone made 6: 1 rem more is 6 min."""
    log = (enter(0), rate(0, 10, "rem/h"), dose(36, 4))

    assert stay_until(*log, minutes=36) == same(moment(42))


def test_outside_a_stay_is_as_of_going_in_now():
    log = (*STAY, leave(12))

    assert stay_until(*log, minutes=12) == same(moment(30))
    assert stay_until(*log, minutes=20) == same(moment(38))
