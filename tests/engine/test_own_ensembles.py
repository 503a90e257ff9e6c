"""A member who wears something else than the team: the team is judged by the weakest.

Actions by ensemble are those of the specification's section 4, as in the tests of each
rule: pH 2 in the air is a caution in level A and a stop in all else (rule 1); a corrosive
liquid stops turnout gear and not level C (rule 4); hydrogen sulfide at its ceiling stops
level C and not turnout gear (rule 15).
"""

import pytest

from screening.verdicts import Action
from tests.engine.documents import (
    change,
    enter,
    judge,
    member,
    meter,
    ph,
    quantity,
    refused,
    team,
    worksheet,
)

LIQUID = {"sample": "liquid", "moistened": False}


def crew(worn, *own, **more):
    """One team; `own` are what its members wear, None for what the team wears."""
    members = [
        {**member(f"m{n}"), **({"ensemble": each} if each else {})}
        for n, each in enumerate(own)
    ]
    return team(ensemble=worn, members=members, **more)


def seen(log, *given, minutes=None, **changes):
    return judge(worksheet(*log, teams=[crew(*given)], **changes), minutes)


@pytest.mark.parametrize(
    ("own", "action"),
    [
        pytest.param((None, None), "caution", id="all as the team"),
        pytest.param((None, "level_b"), "stop", id="one in less"),
        pytest.param(("level_b", "level_b"), "stop", id="all in less"),
        pytest.param((None, "level_a"), "caution", id="named, and the same"),
    ],
)
def test_a_team_is_judged_by_the_weakest_worn(own, action):
    assert seen([enter(0), ph(1, 2)], "level_a", *own).action() == action


def test_one_in_more_makes_no_team_milder():
    assert seen([enter(0), ph(1, 2)], "level_b", None, "level_a").action() == "stop"


def test_each_finding_counts_for_the_one_it_is_worst_for():
    """Turnout gear and level C: neither is the weaker one for everything."""
    liquid = seen([enter(0), ph(1, 2, **LIQUID)], "level_c", None, "turnout_scba")
    gas = seen(
        [enter(0), meter(1, 0, 20.9, h2s_ppm=10)], "level_c", None, "turnout_scba"
    )

    assert liquid.on("corrosive_liquid") == "stop"
    assert gas.on("toxic_gas") == "stop"


def test_elsewhere_it_is_a_caution_for_the_weakest_too():
    log = [enter(0), ph(1, 2, **LIQUID), meter(2, 0, 20.9, h2s_ppm=10)]
    log.append(ph(3, 7, place="yard"))

    assert seen(log, "turnout_scba", None).on("toxic_gas") is None
    assert seen(log, "turnout_scba", "level_c").on("toxic_gas") == "caution"


def test_a_change_of_the_teams_ensemble_is_one_of_all_its_members():
    log = [enter(0), ph(1, 2), change(2, "level_a")]
    after = seen(log, "level_a", "level_b")

    assert after.action() == "caution"
    assert "own_ensembles" not in after.team()


def test_heat_goes_by_whoever_is_to_be_looked_at_first():
    """77 °F, 90 °F with full sun: 15 min in a suit, 45 in work clothes (four-agency manual
    1985)."""
    hot = {"weather": {"air_temperature": quantity(77, "degF")}}
    mixed = seen([enter(0)], "level_d", "level_b", **hot)

    assert mixed.team()["clocks"]["heat"]["check_every_minutes"] == 15


def test_the_result_says_who_wears_what():
    mixed = seen([enter(0)], "level_b", None, "level_c").team()

    assert mixed["ensemble"] == "level_b"
    assert mixed["own_ensembles"] == {"m1": "level_c"}


def test_without_an_own_ensemble_the_result_is_as_before():
    assert "own_ensembles" not in seen([enter(0)], "level_b", None).team()


def test_a_backup_is_as_good_as_its_weakest_for_the_strongest_inside():
    second = crew("level_a", None, "level_c", role="backup", id="second")
    teams = [crew("level_b", None, None), second]

    notes = judge(worksheet(enter(0), teams=teams)).team()["crew"]

    assert any("Level C" in said and "Level B" in said for said in notes)


def test_an_ensemble_that_there_is_not_is_refused_with_its_place():
    document = worksheet(enter(0), teams=[crew("level_b", None, "bunker gear")])

    assert refused(document) == ["/teams/0/members/1/ensemble"]


@pytest.mark.parametrize("worn", ["level_a", "level_b", "turnout_scba", "level_c"])
def test_a_weaker_member_never_makes_it_milder(worn):
    log = [enter(0), ph(1, 2), meter(2, 3, 20.9, h2s_ppm=10), ph(3, 2, **LIQUID)]
    alone = seen(log, worn, None).action()

    for own in ("level_a", "level_b", "turnout_scba", "level_c", "level_d"):
        mixed = seen(log, worn, own).action()
        assert Action[mixed.upper()] >= Action[alone.upper()]
