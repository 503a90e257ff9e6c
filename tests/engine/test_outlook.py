"""What is said beside the verdict: trends with an interval, heat, numbers of people."""

import re

import pytest

from tests.engine.documents import (
    air,
    change,
    enter,
    imager,
    judge,
    member,
    meter,
    quantity,
    rate,
    team,
    worksheet,
)


def outlook(document, minutes=None):
    return judge(document, minutes).team("entry-1")


def test_a_rising_lel_is_told_with_its_rate_and_an_interval():
    log = [meter(m, lel, 20.9) for m, lel in [(0, 2), (1, 3), (2, 4), (3, 5), (4, 6)]]

    told = outlook(worksheet(*log))["trends"]

    # Straight line of 1 % a minute, 6 now: the limit of 10 in 4 minutes (arithmetic).
    line = next(sentence for sentence in told if sentence.startswith("LEL"))
    assert "rising 1 % a minute" in line
    early, late = re.search(r"in (\d+) (?:s|min) to (\d+) (?:s|min)", line).groups()
    assert int(early) <= 240
    assert int(late) >= 4


def test_one_wild_reading_in_a_quiet_series_makes_no_rise():
    values = [0, 0, 0, 8, 0, 0, 0]
    log = [meter(m, lel, 20.9) for m, lel in enumerate(values)]

    told = outlook(worksheet(*log))["trends"]

    assert not any("LEL: rising" in sentence for sentence in told)


@pytest.mark.parametrize("readings", [1, 2])
def test_too_few_readings_make_no_trend(readings):
    log = [meter(m, m, 20.9) for m in range(readings)]

    assert outlook(worksheet(*log))["trends"] == []


def test_a_container_gets_its_figures_and_never_a_time_of_failure():
    log = [imager(m, 20 + 3 * m, 19, container="drum 6") for m in range(3)]

    told = outlook(worksheet(*log))["trends"]

    assert any("drum 6" in sentence.lower() for sentence in told)
    assert not any("fail" in sentence or "limit" in sentence for sentence in told)


def test_heat_takes_full_sun_and_the_impermeable_row():
    # WE-32: 77 °F with full sun is 90.0 °F: first check after 15 min, 45 in a work uniform
    # (four-agency table, read).
    document = worksheet(enter(0), ensemble="level_b")
    document["incident"]["weather"]["air_temperature"] = quantity(77, "degF")

    heat = outlook(document, 1)["clocks"]["heat"]

    assert heat["adjusted_temperature_degF"] == 90
    assert heat["check_every_minutes"] == 15
    document["teams"][0]["ensemble"] = "level_d"
    assert outlook(document, 1)["clocks"]["heat"]["check_every_minutes"] == 45


def test_the_heat_index_is_the_weather_services():
    # WE-24: 90 °F, 70 % gives 105.92 °F (weather service page, read).
    document = worksheet(enter(0), humidity=70)
    document["incident"]["weather"]["air_temperature"] = quantity(90, "degF")

    heat = outlook(document, 1)["clocks"]["heat"]

    assert heat["heat_index_degF"] == pytest.approx(105.92, abs=0.1)


def test_numbers_of_people_are_said_and_change_no_verdict():
    alone = outlook(worksheet(enter(0), teams=[team(members=[member("a")])]))
    two = [team(members=[member("a"), member("b")])]
    two.append(team("second", role="backup", members=[member("c"), member("d")]))
    paired = outlook(worksheet(enter(0), teams=two))

    assert any("1910.120(q)(3)(v)" in sentence for sentence in alone["crew"])
    assert any("need not wait" in sentence for sentence in alone["crew"])
    assert alone["action"] == paired["action"] == "continue"
    assert paired["crew"] == []


@pytest.mark.parametrize(
    ("worn", "weaker"),
    [
        pytest.param(["level_b"], False, id="the same"),
        pytest.param(["level_a"], False, id="more"),
        pytest.param(["turnout_scba"], True, id="no splash protection"),
        pytest.param(["level_c"], True, id="no air of its own"),
        pytest.param(["level_c", "level_b"], False, id="the best of two answers"),
    ],
)
def test_a_backup_in_weaker_clothing_is_said(worn, weaker):
    people = [member("a"), member("b")]
    teams = [team(ensemble="level_b", members=people)]
    teams += [
        team(f"second-{n}", ensemble, role="backup", members=people)
        for n, ensemble in enumerate(worn)
    ]

    crew = outlook(worksheet(enter(0), teams=teams))["crew"]

    assert len(crew) == weaker
    assert all("wears less than this team: " in sentence for sentence in crew)


def test_a_backup_that_changed_into_less_is_said():
    people = [member("a"), member("b")]
    teams = [
        team(ensemble="level_b", members=people),
        team("second", ensemble="level_b", role="backup", members=people),
    ]
    changed = change(1, "level_d", team="second")

    (said,) = outlook(worksheet(enter(0), changed, teams=teams))["crew"]

    assert "Level D, work uniform, against Level B" in said


def test_the_lowest_bottle_leads_the_team():
    people = [member("a"), member("b")]
    log = [enter(0)]
    log += [air(1, 4300, member="a"), air(1, 4300, member="b")]
    log += [air(6, 4200, member="a"), air(6, 3700, member="b")]

    clocks = outlook(worksheet(*log, teams=[team(members=people)]))["clocks"]

    by_member = {clock["member"]: clock for clock in clocks["air"]}
    assert by_member["a"]["psi_per_minute"] == pytest.approx(20)
    assert by_member["b"]["psi_per_minute"] == pytest.approx(120)
    slowest = by_member["b"]["seconds_to_turn_around"]
    assert slowest < by_member["a"]["seconds_to_turn_around"]
    assert clocks["turn_around_due"] is not None


def test_the_distance_that_halves_the_rate_is_told_with_its_assumption():
    line = rate(0, 50, distance=quantity(2, "m"))

    said = judge(worksheet(line)).said("gamma_radiation")

    assert "2.9 m" in said  # 2 m times the square root of 2: inverse square, physics
    assert "point source" in said
