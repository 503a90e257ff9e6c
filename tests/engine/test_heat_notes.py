"""What is said of heat: a note beside the verdict, never a finding.

Figures: adjusted temperature and intervals by the four-agency manual 1985 (WE-32: 77 °F in
full sun is 90 °F, 15 minutes in a suit, 45 in work clothes); the work and rest rule by the
archived OSHA page on heat; categories of the heat index by the weather service's chart.
"""

import pytest

from tests.engine.documents import enter, judge, leave, quantity, team, worksheet


def notes(*log, degf=77, humidity=50, minutes=None, ensemble="level_b"):
    document = worksheet(*log, ensemble=ensemble, humidity=humidity)
    weather = document["incident"]["weather"]
    if degf is None:
        del weather["air_temperature"]
    else:
        weather["air_temperature"] = quantity(degf, "degF")
    return judge(document, minutes).team("entry-1")["heat"]


def one(said, words):
    (found,) = [sentence for sentence in said if words in sentence]
    return found


def test_a_team_inside_is_told_when_to_look_at_people_and_why():
    check = one(notes(enter(0), minutes=10), "Look at people")

    assert "after each 15 min of work" in check
    assert "90 °F" in check
    assert "full sun" in check
    assert "four-agency guidance manual 1985" in check
    assert "in for 10 min, next in 5 min" in check


@pytest.mark.parametrize(
    ("minutes", "words"),
    [
        pytest.param(14, "in for 14 min, next in 60 s", id="none yet"),
        pytest.param(15, "1 due by now", id="at the interval itself"),
        pytest.param(
            44, "2 due by now, the last 14 min ago, next in 60 s", id="before the third"
        ),
        pytest.param(
            47, "3 due by now, the last 2 min ago, next in 13 min", id="after the third"
        ),
    ],
)
def test_looks_that_were_due_are_counted_since_none_is_logged(minutes, words):
    check = one(notes(enter(0), minutes=minutes), "Look at people")

    assert words in check
    assert ("this log keeps none" in check) == (minutes >= 15)
    assert check.startswith("Due now. ") == (minutes >= 15)


def test_work_clothes_that_breathe_give_longer():
    assert "each 45 min" in one(
        notes(enter(0), minutes=1, ensemble="level_d"), "Look at people"
    )


def test_the_rule_for_after_the_work_period_has_its_figures_and_source():
    rule = one(notes(enter(0), minutes=1), "start of rest")

    for words in ("pulse over 110", "99.6 °F", "a third shorter", "100.6 °F", "OSHA"):
        assert words in rule


@pytest.mark.parametrize(
    ("degf", "humidity", "words"),
    [
        pytest.param(90, 70, '106 °F, "danger"', id="WE-24: 105.92 °F"),
        pytest.param(86, 90, '105 °F, "danger"', id="105.39 °F"),
        pytest.param(84, 90, '98 °F, "extreme caution"', id="98.34 °F"),
    ],
)
def test_the_heat_index_comes_with_the_category_of_the_weather_service(
    degf, humidity, words
):
    index = one(notes(enter(0), degf=degf, humidity=humidity, minutes=1), "Heat index")

    assert words in index
    assert "National Weather Service" in index
    assert "suit" in index


def test_a_heat_index_below_the_categories_is_left_to_the_report():
    said = notes(enter(0), degf=75, humidity=50, minutes=1)

    assert not any("Heat index" in sentence for sentence in said)


def test_without_humidity_there_is_no_heat_index():
    said = notes(enter(0), humidity=None, minutes=1)

    assert not any("Heat index" in sentence for sentence in said)
    assert any("Look at people" in sentence for sentence in said)


def test_without_a_temperature_it_is_said_that_nothing_can_be_said():
    assert notes(enter(0), degf=None, minutes=1) == [
        "No air temperature is given: nothing can be said of heat"
    ]


def test_a_cool_day_asks_for_nothing():
    # 50 °F in full sun is 63 °F; the four-agency table begins at 72.5 °F
    assert notes(enter(0), degf=50, minutes=30) == []


def test_a_team_that_came_out_is_told_the_rule_for_its_rest_only():
    said = notes(enter(0), leave(20), minutes=25)

    assert len(said) == 1
    assert "start of rest" in said[0]


def test_a_team_that_was_never_in_is_told_nothing():
    document = worksheet(enter(0), teams=[team(), team("second", role="backup")])

    assert judge(document, 10).team("second")["heat"] == []


@pytest.mark.parametrize("degf", [None, 50, 77, 110])
def test_heat_changes_no_verdict_and_is_no_finding(degf):
    document = worksheet(enter(0))
    cool = judge(document, 4).team("entry-1")
    if degf is None:
        del document["incident"]["weather"]["air_temperature"]
    else:
        document["incident"]["weather"]["air_temperature"] = quantity(degf, "degF")

    hot = judge(document, 4).team("entry-1")

    assert hot["action"] == cool["action"]
    assert not [f for f in hot["findings"] if f["hazard"] == "heat_stress"]
