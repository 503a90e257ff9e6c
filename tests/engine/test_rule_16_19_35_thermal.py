"""Rules 16 to 19, 35 and 36: the thermal imager, and signs seen, heard or felt.

Figures: 10 degF over the surroundings, a rise of 4 degF, steady over 10 minutes (common
practice, no source).
"""

import pytest

from tests.engine.documents import (
    ENSEMBLES,
    clear,
    enter,
    entry,
    imager,
    judge,
    leave,
    quantity,
    sign,
    team,
    worksheet,
)

TWO_TEAMS = [team(), team("entry-2")]
ELSEWHERE = enter(0, team="entry-2", place="far yard")

# surface, surroundings, whether it is warmer by the margin of 10 degF
MARGIN = [
    pytest.param((79.9, "degF"), (70, "degF"), False, id="9.9 degF"),
    pytest.param((80, "degF"), (70, "degF"), True, id="10 degF exactly"),
    pytest.param((80.1, "degF"), (70, "degF"), True, id="10.1 degF"),
    pytest.param((60, "degF"), (70, "degF"), False, id="colder"),
    pytest.param((25.5, "degC"), (20, "degC"), False, id="5.5 degC is 9.9 degF"),
    pytest.param((25.6, "degC"), (20, "degC"), True, id="5.6 degC is 10.08 degF"),
    pytest.param((35, "degC"), (85, "degF"), True, id="95 over 85 degF, exactly 10"),
    pytest.param((77.99, "degF"), (20, "degC"), False, id="9.99 over 20 degC"),
    pytest.param((78, "degF"), (293.15, "kelvin"), True, id="10 over 293.15 K"),
    pytest.param((298.70, "kelvin"), (20, "degC"), False, id="5.55 K is 9.99 degF"),
    pytest.param((298.71, "kelvin"), (20, "degC"), True, id="5.56 K is 10.008 degF"),
]


def looked_at(target, surface, surroundings, minutes=0, **fields):
    both = {"surface": quantity(*surface), "surroundings": quantity(*surroundings)}
    return entry("thermal_imager", minutes, target=target, **both, **fields)


@pytest.mark.parametrize("ensemble", ENSEMBLES)
@pytest.mark.parametrize(("surface", "surroundings", "warmer"), MARGIN)
def test_rule_16_a_hot_discharge_withdraws(surface, surroundings, warmer, ensemble):
    line = looked_at("relief_valve_discharge", surface, surroundings)
    seen = judge(worksheet(line, ensemble=ensemble))

    assert seen.on("hot_relief_discharge") == ("withdraw" if warmer else None)
    assert seen.action() == ("withdraw" if warmer else "continue")


@pytest.mark.parametrize("ensemble", ENSEMBLES)
@pytest.mark.parametrize(("surface", "surroundings", "warmer"), MARGIN)
def test_rule_17_a_warm_container_holds_the_approach(
    surface, surroundings, warmer, ensemble
):
    line = looked_at("closed_container", surface, surroundings, container="drum 1")
    seen = judge(worksheet(line, ensemble=ensemble))

    assert seen.on("container_heating") == ("stop" if warmer else None)
    assert seen.action() == ("stop" if warmer else "continue")


@pytest.mark.parametrize("ensemble", ENSEMBLES)
@pytest.mark.parametrize(
    ("readings", "rises"),
    [
        pytest.param([(70, "degF"), (73.9, "degF")], False, id="3.9 degF"),
        pytest.param([(70, "degF"), (74, "degF")], True, id="4 degF exactly"),
        pytest.param([(70, "degF"), (72, "degF"), (74, "degF")], True, id="in steps"),
        pytest.param(
            [(75, "degF"), (70, "degF"), (74, "degF")], True, id="since the coolest"
        ),
        pytest.param([(74, "degF"), (70, "degF")], False, id="cooling"),
        pytest.param([(20, "degC"), (22.2, "degC")], False, id="2.2 degC is 3.96"),
        pytest.param([(20, "degC"), (22.3, "degC")], True, id="2.3 degC is 4.14"),
        pytest.param([(20, "degC"), (72, "degF")], True, id="68 to 72 degF, exactly 4"),
        pytest.param(
            [(293.15, "kelvin"), (72, "degF")], True, id="293.15 K to 72 degF"
        ),
    ],
)
def test_rule_18_a_rising_container_withdraws_every_team(readings, rises, ensemble):
    teams = [team(ensemble=ensemble), team("entry-2", ensemble)]
    log = [
        looked_at("closed_container", surface, (70, "degF"), minute, container="drum 1")
        for minute, surface in enumerate(readings)
    ]
    seen = judge(worksheet(ELSEWHERE, *log, teams=teams))

    for id in ("entry-1", "entry-2"):
        assert seen.on("container_heating", id) == ("withdraw" if rises else None)


def test_rule_18_needs_no_margin_over_the_surroundings():
    seen = judge(worksheet(imager(0, 60, 80), imager(1, 64, 80)))

    assert seen.on("container_heating") == "withdraw"


def test_rule_18_compares_a_container_with_itself():
    seen = judge(worksheet(imager(0, 70), imager(1, 75, container="drum 2")))

    assert seen.on("container_heating") is None


def test_rule_18_follows_the_profile():
    limits = {"thermal_rise": {"value": 2, "unit": "delta_degF"}}

    log = (imager(0, 70), imager(1, 72))
    assert judge(worksheet(*log, limits=limits)).action() == "withdraw"
    assert judge(worksheet(*log)).action() == "continue"


@pytest.mark.parametrize("ensemble", ENSEMBLES)
def test_rule_16_withdraws_every_team(ensemble):
    teams = [team(), team("entry-2", ensemble)]
    discharge = imager(1, 90, target="relief_valve_discharge", container=None)
    seen = judge(worksheet(ELSEWHERE, discharge, teams=teams))

    assert seen.action("entry-2") == "withdraw"


# Rule 19: whether three readings at these minutes are steady shows in whether the stop of
# a warm container can be cleared.
STEADY = [
    pytest.param([0, 5, 10], [90, 90, 90], True, id="flat over ten minutes"),
    pytest.param([0, 5, 9.9], [90, 90, 90], False, id="under thermal_steady_time"),
    pytest.param([0, 5, 10], [92, 93, 91], True, id="within the rise, ends cooler"),
    pytest.param([0, 5, 10], [93.9, 90, 90], True, id="3.9 degF apart"),
    pytest.param([0, 5, 10], [94, 90, 90], False, id="4 degF apart"),
    pytest.param([0, 5, 10], [90, 90, 90.1], False, id="last warmer than the first"),
    pytest.param([0, 10], [90, 90], False, id="two readings only"),
    pytest.param([0, 1, 11, 12], [90, 90, 90, 90], True, id="last three span eleven"),
    pytest.param([0, 9, 10, 11], [90, 90, 90, 90], False, id="last three span two"),
]


@pytest.mark.parametrize(("minutes", "surfaces", "steady"), STEADY)
def test_rule_19_only_a_steady_container_can_be_cleared(minutes, surfaces, steady):
    log = [imager(m, s) for m, s in zip(minutes, surfaces, strict=True)]

    assert judge(worksheet(*log)).on("container_heating") == "stop"
    cleared = judge(worksheet(*log, clear(minutes[-1] + 1, "container_heating")))
    assert cleared.on("container_heating") == ("caution" if steady else "stop")


@pytest.mark.parametrize(
    ("surroundings", "expected"), [(80, "caution"), (80.1, None), (85, None)]
)
def test_rule_19_is_a_caution_while_warmer_than_its_surroundings(
    surroundings, expected
):
    log = [imager(m, 90, 70) for m in (0, 5)] + [imager(10, 90, surroundings)]
    seen = judge(worksheet(*log, clear(11, "container_heating")))

    assert seen.on("container_heating") == expected


def test_rule_19_a_rise_that_has_flattened_can_be_cleared_once_all_are_out():
    log = [enter(0), imager(0, 80), imager(1, 95)]
    log += [leave(2)] + [imager(m, 95) for m in (3, 8, 13)]

    assert judge(worksheet(*log)).on("container_heating") == "withdraw"
    seen = judge(worksheet(*log, clear(14, "container_heating")))
    assert seen.on("container_heating") == "caution"


def test_rule_19_each_container_found_at_the_place_must_be_steady():
    drum_2 = {"container": "drum 2"}
    log = [imager(m, 90) for m in (0, 5, 10)]
    warm = [imager(0, 90, **drum_2)]
    steady = [imager(m, 90, **drum_2) for m in (1, 6, 11)]
    decision = clear(12, "container_heating")

    assert judge(worksheet(*log, *warm, decision)).on("container_heating") == "stop"
    assert (
        judge(worksheet(*log, *steady, decision)).on("container_heating") == "caution"
    )


def test_rule_19_a_warm_container_elsewhere_does_not_keep_this_place():
    log = [imager(m, 90) for m in (0, 5, 10)]
    log += [imager(3, 90, place="hall", container="drum 2", team="entry-2")]
    seen = judge(worksheet(*log, clear(11, "container_heating"), teams=TWO_TEAMS))

    own = [f for f in seen.findings("container_heating") if f["place"] == "tank room"]
    assert [f["action"] for f in own] == ["caution"]


def test_a_shiny_surface_finds_but_cannot_be_steady():
    log = [imager(m, 90, shiny=True) for m in (0, 5, 10)]
    seen = judge(worksheet(*log, clear(11, "container_heating")))

    assert seen.on("container_heating") == "stop"


def test_anything_but_a_container_or_a_discharge_finds_nothing():
    seen = judge(worksheet(imager(0, 200, target="other", container=None)))

    assert seen.hazards() == set()


@pytest.mark.parametrize("minutes", [[0], [0, 1]])
def test_no_time_or_temperature_of_failure_is_ever_predicted(minutes):
    log = [imager(m, 90 + 10 * m) for m in minutes]
    said = judge(worksheet(*log)).said("container_heating")

    assert "will fail" not in said
    assert "fails in" not in said
    assert "time to" not in said


# --- signs ---------------------------------------------------------------------------


@pytest.mark.parametrize("ensemble", ENSEMBLES)
@pytest.mark.parametrize("what", ["rising_pitch", "bulging", "discoloured_shell"])
def test_rule_35_a_container_that_speaks_withdraws_every_team(what, ensemble):
    teams = [team(ensemble=ensemble), team("entry-2", ensemble)]
    seen = judge(worksheet(ELSEWHERE, sign(1, what), teams=teams))

    for id in ("entry-1", "entry-2"):
        assert seen.on("container_heating", id) == "withdraw"
        assert seen.action(id) == "withdraw"


SIGNS = [
    ("symptoms", "stop"),
    ("relief_device_operating", "caution"),
    ("frost", "caution"),
    ("visible_cloud", "caution"),
    ("odour", "caution"),
    ("dead_plants_or_animals", "caution"),
]


@pytest.mark.parametrize("ensemble", ENSEMBLES)
@pytest.mark.parametrize(("what", "action"), SIGNS)
def test_rule_36_other_signs(what, action, ensemble):
    seen = judge(worksheet(sign(0, what), ensemble=ensemble))

    assert seen.on("unexplained_sign") == action
    assert seen.action() == action
    assert seen.hazards() == {"unexplained_sign"}


@pytest.mark.parametrize(("what", "action"), SIGNS)
def test_a_sign_does_not_end_by_itself(what, action):
    seen = judge(worksheet(sign(0, what), sign(5, "odour"), imager(6, 70)))

    assert seen.on("unexplained_sign") == action


@pytest.mark.parametrize(("what", "action"), SIGNS)
def test_the_commanders_word_is_enough_for_a_sign(what, action):
    seen = judge(worksheet(sign(0, what), clear(1, "unexplained_sign")))

    assert seen.on("unexplained_sign") is None


def test_the_word_on_a_sign_waits_for_those_it_withdrew():
    log = [enter(0), sign(1, "bulging")]
    decision = clear(3, "container_heating")

    inside = judge(worksheet(*log, decision))
    assert inside.on("container_heating") == "withdraw"
    out = judge(worksheet(*log, leave(2), decision))
    assert out.on("container_heating") is None


def test_the_word_on_a_sign_waits_for_every_team():
    log = [enter(0), ELSEWHERE, sign(1, "bulging"), leave(2)]
    decision = clear(4, "container_heating")

    one_in = judge(worksheet(*log, decision, teams=TWO_TEAMS))
    assert one_in.on("container_heating") == "withdraw"
    all_out = judge(
        worksheet(
            *log, leave(3, team="entry-2", place="far yard"), decision, teams=TWO_TEAMS
        )
    )
    assert all_out.on("container_heating") is None
