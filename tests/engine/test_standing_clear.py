"""The commander's clear: when it holds, and each way in which it does not."""

import pytest

from tests.engine.documents import (
    change,
    clear,
    enter,
    fluoride,
    imager,
    judge,
    ki,
    leave,
    meter,
    ph,
    rate,
    strike,
    team,
    worksheet,
)

ACID = [enter(0), ph(1, 2)]
LEL = [enter(0), meter(1, 12, 20.9)]
TWO = [team(), team("entry-2")]


def metered(**fields):
    return {
        "id": "meter-1", "kind": "gas_meter", "sensors": ["lel", "oxygen"],
        "last_bump_test": "2026-03-04T08:00:00-05:00", "calibration_due": "2026-06-01",
        **fields,
    }  # fmt: skip


def liquid(paper, *args, **fields):
    return paper(*args, sample="liquid", moistened=None, **fields)


HOLDS = [
    pytest.param([*ACID, ph(2, 7)], "acid_vapour", None, id="a wet quiet strip"),
    pytest.param([*ACID, ph(2, 5)], "acid_vapour", "caution", id="its caution stays"),
    pytest.param(
        [*ACID, ph(2, 9)], "acid_vapour", None, id="base now, which is another hazard"
    ),
    pytest.param(
        [*ACID, leave(2), ph(3, 7)], "acid_vapour", None, id="a probe from outside"
    ),
    pytest.param([enter(0), ph(1, 10), ph(2, 7)], "base_vapour", None, id="base"),
    pytest.param([ki(1, "blue_black"), ki(2)], "oxidiser_vapour", None, id="oxidiser"),
    pytest.param(
        [fluoride(1, "changed"), fluoride(2)], "fluoride_vapour", None, id="fluoride"
    ),
    pytest.param(
        [liquid(ph, 1, 1), liquid(ph, 2, 7)], "corrosive_liquid", None,
        id="liquid, same paper",
    ),
    pytest.param(
        [liquid(fluoride, 1, "changed"), liquid(fluoride, 2)], "fluoride_liquid", None,
        id="fluoride liquid, same paper",
    ),
    pytest.param(
        [liquid(ki, 1, "blue_black"), liquid(ki, 2, edge_checked=True)],
        "oxidiser_liquid", None, id="oxidiser liquid, same paper, edge checked",
    ),
    pytest.param(
        [*LEL, leave(2), meter(3, 0, 20.9)], "flammable_atmosphere", None,
        id="LEL, all out",
    ),
    pytest.param(
        [*LEL, leave(2), meter(3, 5, 20.9)], "flammable_atmosphere", "caution",
        id="LEL, all out, its caution stays",
    ),
    pytest.param(
        [*LEL, meter(2, 0, 20.9), leave(3)], "flammable_atmosphere", None,
        id="LEL, read before leaving",
    ),
    pytest.param(
        [enter(0), meter(1, oxygen=24), leave(2), meter(3, oxygen=20.9)],
        "oxygen_enriched", None, id="oxygen enriched, all out",
    ),
    pytest.param(
        [meter(1, co_ppm=1300), meter(2, co_ppm=100)], "toxic_gas", "continue",
        id="CO, noted on SCBA",
    ),
    pytest.param([rate(1, 11, "rem/h"), rate(2, 0.01)], "gamma_radiation", None,
                 id="dose rate"),
    pytest.param(
        [enter(0), imager(1, 95, target="relief_valve_discharge", container=None),
         leave(2), imager(3, 60, target="relief_valve_discharge", container=None)],
        "hot_relief_discharge", None, id="discharge cold, all out",
    ),
    pytest.param(
        [*ACID, ph(2, 7), ph(3, 7, moistened=False)], "acid_vapour", None,
        id="a later strip that cannot tell does not count",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("log", "hazard", "left"), HOLDS)
def test_a_clear_holds(log, hazard, left):
    seen = judge(worksheet(*log, clear(5, hazard), humidity=10))

    assert seen.on(hazard) == left


REFUSED = [
    pytest.param(ACID, "acid_vapour", "stop", id="nothing read since"),
    pytest.param(
        [ph(0, 7), *ACID], "acid_vapour", "stop", id="quiet reading was before"
    ),
    pytest.param(
        [*ACID, ph(2, 7, moistened=False)], "acid_vapour", "stop", id="dry in dry air"
    ),
    pytest.param(
        [*ACID, ph(2, 7, faded=True)], "acid_vapour", "stop", id="rule 5: faded paper"
    ),
    pytest.param([*ACID, ph(2, bleached=True)], "acid_vapour", "stop", id="white paper"),
    pytest.param(
        [*ACID, liquid(ph, 2, 7)], "acid_vapour", "stop", id="liquid test of a vapour"
    ),
    pytest.param([*ACID, ki(2)], "acid_vapour", "stop", id="another paper"),
    pytest.param([*ACID, meter(2, 0, 20.9)], "acid_vapour", "stop", id="a meter"),
    pytest.param([*ACID, ph(2, 3)], "acid_vapour", "stop", id="still at the stop"),
    pytest.param(
        [*ACID, ph(2, 7), ph(3, 3)], "acid_vapour", "stop", id="quiet, then found again"
    ),
    pytest.param(
        [*ACID, ph(2, 7, place="hall"), enter(3)], "acid_vapour", "stop",
        id="read at another place",
    ),
    pytest.param(
        [ki(1, "blue_black"), ki(2, moistened=False)], "oxidiser_vapour", "stop",
        id="dry KI-starch",
    ),
    pytest.param(
        [fluoride(1, "changed"), fluoride(2, moistened=False)], "fluoride_vapour",
        "stop", id="dry fluoride paper",
    ),
    pytest.param(
        [liquid(ph, 1, 1), ph(2, 7)], "corrosive_liquid", "stop",
        id="vapour test of a liquid",
    ),
    pytest.param(
        [liquid(ph, 1, 1), liquid(ki, 2, edge_checked=True)], "corrosive_liquid",
        "stop", id="liquid, another paper",
    ),
    pytest.param(
        [liquid(fluoride, 1, "changed"), liquid(ph, 2, 7)], "fluoride_liquid", "stop",
        id="fluoride liquid, another paper",
    ),
    pytest.param([*LEL, meter(2, 0, 20.9)], "flammable_atmosphere", "withdraw",
                 id="the team withdrawn is still in"),
    pytest.param([*LEL, leave(2)], "flammable_atmosphere", "withdraw",
                 id="out, nothing read since"),
    pytest.param(
        [*LEL, leave(2), meter(3, 0, 19.4)], "flammable_atmosphere", "withdraw",
        id="LEL with low oxygen",
    ),
    pytest.param(
        [*LEL, leave(2), meter(3, 0, 23.6)], "flammable_atmosphere", "withdraw",
        id="LEL with high oxygen",
    ),
    pytest.param(
        [*LEL, leave(2), meter(3, 0)], "flammable_atmosphere", "withdraw",
        id="LEL without oxygen",
    ),
    pytest.param(
        [*LEL, leave(2), meter(3, 0, 20.9), enter(4)], "flammable_atmosphere",
        "withdraw", id="gone back in",
    ),
    pytest.param(
        [enter(0), meter(1, over_range=["lel"]), meter(2, 0, 20.9), leave(3)],
        "flammable_atmosphere", "withdraw", id="section 6: over-range, no exit since",
    ),
    pytest.param(
        [meter(1, gases={"ammonia": 400}), meter(2, voc_ppm=0)], "toxic_gas", "stop",
        id="a VOC reading alone",
    ),
    pytest.param(
        [rate(1, 11, "rem/h"), rate(2, 10, "rem/h")], "gamma_radiation", "stop",
        id="dose rate still at the limit",
    ),
    pytest.param(
        [imager(1, 90), imager(2, 70)], "container_heating", "stop", id="not steady"
    ),
]  # fmt: skip


@pytest.mark.parametrize(("log", "hazard", "left"), REFUSED)
def test_a_clear_does_not_hold_and_the_result_says_why(log, hazard, left):
    without = judge(worksheet(*log, humidity=10), 5)
    refused = judge(worksheet(*log, clear(5, hazard), humidity=10), 5)

    assert without.on(hazard) == left
    assert refused.on(hazard) == left
    assert set(refused.sentences()) - set(without.sentences()) - {f"e{len(log) + 1:02}"}


def test_a_clear_elsewhere_clears_nothing_here():
    log = [*ACID, ph(2, 7), clear(3, "acid_vapour", place="hall"), enter(4)]

    assert judge(worksheet(*log)).on("acid_vapour") == "stop"


def test_a_clear_of_one_hazard_leaves_the_others():
    log = [enter(0), ph(1, 2), ki(1, "blue_black"), ph(2, 7), clear(3, "acid_vapour")]
    seen = judge(worksheet(*log))

    assert seen.on("acid_vapour") is None
    assert seen.on("oxidiser_vapour") == "stop"


def test_a_reading_on_a_stop_for_another_ensemble_refuses_the_clear():
    log = [meter(1, co_ppm=1300), meter(2, co_ppm=200), clear(3, "toxic_gas")]
    in_scba = judge(worksheet(*log))
    in_level_c = judge(worksheet(*log, change(4, "level_c")))

    assert in_scba.on("toxic_gas") == "continue"
    assert in_level_c.on("toxic_gas") == "withdraw"  # the first still stands


def test_a_clear_that_did_not_hold_does_not_hold_later_by_itself():
    log = [*ACID, clear(2, "acid_vapour"), ph(3, 7)]

    assert judge(worksheet(*log)).on("acid_vapour") == "stop"
    assert judge(worksheet(*log, clear(4, "acid_vapour"))).on("acid_vapour") is None


def test_what_was_cleared_can_be_found_again():
    log = [*ACID, ph(2, 7), clear(3, "acid_vapour"), ph(4, 2)]

    assert judge(worksheet(*log)).on("acid_vapour") == "stop"


@pytest.mark.parametrize("hazard", ["acid_vapour", "low_air", "heat_stress"])
def test_a_clear_of_what_does_not_stand_changes_nothing(hazard):
    seen = judge(worksheet(ki(1, "blue_black"), clear(2, hazard)))

    assert seen.hazards() == {"oxidiser_vapour"}
    assert seen.action() == "stop"


def test_every_team_withdrawn_must_be_out():
    log = [enter(0, team="entry-2", place="far yard"), *LEL, leave(2)]
    log += [meter(3, 0, 20.9)]
    out = leave(4, team="entry-2", place="far yard")
    decision = clear(5, "flammable_atmosphere")

    one_in = judge(worksheet(*log, decision, teams=TWO))
    assert one_in.action("entry-1") == "withdraw"
    assert one_in.action("entry-2") == "withdraw"
    all_out = judge(worksheet(*log, out, decision, teams=TWO))
    assert all_out.on("flammable_atmosphere", "entry-1") is None
    assert all_out.on("flammable_atmosphere", "entry-2") is None


def test_a_team_that_was_never_withdrawn_may_stay_in():
    teams = [team(ensemble="level_d"), team("entry-2", "level_d")]
    log = [
        enter(0, team="entry-2", place="far yard"), meter(1, oxygen=18), leave(2),
        meter(3, oxygen=20.9), clear(4, "oxygen_deficient"),
    ]  # fmt: skip

    assert judge(worksheet(*log, teams=teams)).on("oxygen_deficient") is None


def test_a_team_withdrawn_in_what_it_wore_then_must_be_out():
    log = [enter(0), meter(1, oxygen=18), meter(2, oxygen=20.9)]
    decision = clear(4, "oxygen_deficient")
    stays = judge(worksheet(*log, decision, ensemble="level_d"))
    leaves = judge(worksheet(*log, leave(3), decision, ensemble="level_d"))

    assert stays.on("oxygen_deficient") == "withdraw"
    assert leaves.on("oxygen_deficient") is None


@pytest.mark.parametrize(
    ("instrument", "holds"),
    [
        pytest.param(metered(), True, id="bumped today, calibrated"),
        pytest.param(
            metered(last_bump_test="2026-03-03T23:59:00-05:00"), False,
            id="bumped yesterday",
        ),
        pytest.param(
            metered(calibration_due="2026-03-03"), False, id="calibration overdue"
        ),
    ],
)  # fmt: skip
def test_a_clear_needs_an_instrument_in_order(instrument, holds):
    log = [*LEL, leave(2), meter(3, 0, 20.9, instrument="meter-1")]
    seen = judge(
        worksheet(*log, clear(4, "flammable_atmosphere"), instruments=[instrument])
    )

    assert seen.on("flammable_atmosphere") == (None if holds else "withdraw")


def test_another_meter_can_tell_where_one_was_over_range():
    log = [
        enter(0), meter(1, over_range=["lel"], instrument="meter-1"),
        meter(2, 0, 20.9, instrument="meter-2"), leave(3),
        clear(4, "flammable_atmosphere"),
    ]  # fmt: skip
    meters = [metered(), metered(id="meter-2")]

    assert judge(worksheet(*log, instruments=meters)).on("flammable_atmosphere") is None


def test_hydrogen_fluoride_is_a_fluoride_hazard_and_cleared_as_one():
    log = [enter(0), ph(1, 2), fluoride(2, "changed"), leave(3), ph(4, 7), fluoride(5)]

    acid_only = judge(worksheet(*log, clear(6, "acid_vapour")))
    assert acid_only.on("acid_vapour") is None
    assert acid_only.on("fluoride_vapour") == "withdraw"
    both = judge(worksheet(*log, clear(6, "acid_vapour"), clear(7, "fluoride_vapour")))
    assert both.action() == "continue"


def test_hydrogen_fluoride_is_not_cleared_while_the_team_is_in():
    log = [enter(0), ph(1, 2), fluoride(2, "changed"), ph(3, 7), fluoride(4)]
    seen = judge(worksheet(*log, clear(5, "fluoride_vapour")))

    assert seen.on("fluoride_vapour") == "withdraw"


def test_fuel_is_not_cleared_while_an_oxidiser_stands_and_gas_still_reads():
    log = [enter(0), ki(1, "blue_black"), meter(2, 5, 20.9), leave(3)]
    decision = clear(5, "flammable_atmosphere")

    still = judge(worksheet(*log, meter(4, 2, 20.9), decision))
    assert still.on("flammable_atmosphere") == "withdraw"
    gone = judge(worksheet(*log, meter(4, 0, 20.9), decision))
    assert gone.on("flammable_atmosphere") is None
    assert gone.on("oxidiser_vapour") == "stop"


def test_striking_the_reading_behind_a_clear_brings_the_hazard_back():
    log = [*ACID, ph(2, 7), clear(3, "acid_vapour"), strike(4, "e03")]
    seen = judge(worksheet(*log))

    assert seen.standing("e04") == "continue"
    assert seen.on("acid_vapour") == "stop"


def test_striking_a_clear_brings_the_hazard_back():
    log = [*ACID, ph(2, 7), clear(3, "acid_vapour"), strike(4, "e04")]

    assert judge(worksheet(*log)).on("acid_vapour") == "stop"


def test_a_late_finding_from_before_the_clear_is_cleared_with_the_rest():
    document = worksheet(*ACID, ph(3, 7), clear(4, "acid_vapour"))
    document["log"].append({**ph(2, 1), "id": "late"})

    assert judge(document).on("acid_vapour") is None


def test_a_late_finding_from_after_the_quiet_reading_makes_the_clear_not_hold():
    document = worksheet(*ACID, ph(2, 7), clear(4, "acid_vapour"))
    document["log"].append({**ph(3, 1), "id": "late"})

    assert judge(document).on("acid_vapour") == "stop"


def test_a_liquid_is_not_cleared_by_the_test_that_found_it():
    found = ki(0, "blue_black", sample="liquid")
    seen = judge(worksheet(found, clear(1, "oxidiser_liquid")))
    unchecked = ki(1, sample="liquid")
    again = judge(worksheet(found, unchecked, clear(2, "oxidiser_liquid")))

    assert seen.on("oxidiser_liquid") == "caution"
    assert again.on("oxidiser_liquid") == "caution"
