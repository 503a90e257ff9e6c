"""How findings stand: at a place, elsewhere, in another ensemble, and cautions that end."""

import pytest

from tests.engine.documents import (
    ENSEMBLES,
    air,
    bump,
    change,
    dose,
    enter,
    fluoride,
    imager,
    judge,
    ki,
    leave,
    member,
    meter,
    ph,
    rate,
    sign,
    strike,
    team,
    worksheet,
)

# What each reading means at its place, and for a team elsewhere, per ensemble in the
# order level_a, level_b, turnout_scba, level_c, level_d; None is no finding.
STOP_IN_ALL_BUT_A = ("caution", "stop", "stop", "stop", "stop")
EVERYWHERE = ("withdraw",) * 5
CAUTION = ("caution",) * 5
NOTHING = (None,) * 5
PLACES = [
    pytest.param(ph(0, 2), "acid_vapour", STOP_IN_ALL_BUT_A, CAUTION, id="rule 1"),
    pytest.param(ph(0, 5), "acid_vapour", CAUTION, NOTHING, id="rule 2"),
    pytest.param(ph(0, 12), "base_vapour", STOP_IN_ALL_BUT_A, CAUTION, id="rule 3"),
    pytest.param(ph(0, 8), "base_vapour", CAUTION, NOTHING, id="rule 3, weak"),
    pytest.param(
        ph(0, 1, sample="liquid"), "corrosive_liquid",
        ("caution", "caution", "stop", "caution", "stop"), NOTHING, id="rule 4",
    ),
    pytest.param(
        ki(0, "blue_black"), "oxidiser_vapour", STOP_IN_ALL_BUT_A, CAUTION, id="rule 6"
    ),
    pytest.param(
        ki(0, "blue_black", sample="liquid"), "oxidiser_liquid", CAUTION, NOTHING,
        id="rule 7",
    ),
    pytest.param(
        fluoride(0, "changed"), "fluoride_vapour", STOP_IN_ALL_BUT_A, CAUTION,
        id="rule 9, vapour",
    ),
    pytest.param(
        fluoride(0, "changed", sample="liquid"), "fluoride_liquid",
        ("caution", "caution", "stop", "stop", "stop"), NOTHING, id="rule 9, liquid",
    ),
    pytest.param(
        meter(0, 10, 20.9), "flammable_atmosphere", EVERYWHERE, EVERYWHERE, id="rule 10"
    ),
    pytest.param(
        meter(0, 5, 20.9), "flammable_atmosphere", CAUTION, NOTHING, id="rule 11"
    ),
    pytest.param(
        meter(0, 0, 19.4), "flammable_atmosphere", CAUTION, NOTHING, id="rule 12"
    ),
    pytest.param(
        meter(0, oxygen=23.6), "oxygen_enriched", EVERYWHERE, EVERYWHERE, id="rule 13"
    ),
    pytest.param(
        meter(0, oxygen=19), "oxygen_deficient",
        ("caution", "caution", "caution", "withdraw", "withdraw"), CAUTION, id="rule 14",
    ),
    pytest.param(
        meter(0, co_ppm=300), "toxic_gas",
        ("continue", "continue", "continue", "stop", "stop"),
        (None, None, None, "caution", "caution"), id="rule 15, CO at the ceiling",
    ),
    pytest.param(
        meter(0, gases={"ammonia": 300}), "toxic_gas",
        ("caution", "stop", "stop", "withdraw", "withdraw"), CAUTION,
        id="rule 15, ammonia at the IDLH",
    ),
    pytest.param(
        meter(0, oxygen=20), "oxygen_deficient", CAUTION, NOTHING, id="rule 28"
    ),
    pytest.param(
        meter(0, oxygen=22), "oxygen_enriched", CAUTION, NOTHING, id="rule 29"
    ),
    pytest.param(meter(0, voc_ppm=5), "toxic_gas", CAUTION, NOTHING, id="rule 30"),
    pytest.param(
        imager(0, 90, target="relief_valve_discharge", container=None),
        "hot_relief_discharge", EVERYWHERE, EVERYWHERE, id="rule 16",
    ),
    pytest.param(
        imager(0, 90), "container_heating", ("stop",) * 5, CAUTION, id="rule 17"
    ),
    pytest.param(
        rate(0, 10, "rem/h"), "gamma_radiation", ("stop",) * 5, CAUTION, id="rule 22"
    ),
    pytest.param(rate(0, 5), "gamma_radiation", CAUTION, NOTHING, id="rule 20"),
    pytest.param(dose(0, 25), "gamma_radiation", EVERYWHERE, NOTHING, id="rule 21"),
    pytest.param(
        sign(0, "bulging"), "container_heating", EVERYWHERE, EVERYWHERE, id="rule 35"
    ),
    pytest.param(
        sign(0, "symptoms"), "unexplained_sign", ("stop",) * 5, CAUTION, id="rule 36"
    ),
    pytest.param(sign(0, "odour"), "unexplained_sign", CAUTION, NOTHING, id="rule 36"),
]  # fmt: skip


@pytest.mark.parametrize(("reading", "hazard", "here", "elsewhere"), PLACES)
@pytest.mark.parametrize("ensemble", ENSEMBLES)
def test_a_finding_at_its_place_and_elsewhere(
    reading, hazard, here, elsewhere, ensemble
):
    teams = [team(ensemble=ensemble), team("entry-2", ensemble)]
    seen = judge(
        worksheet(enter(-1, team="entry-2", place="far yard"), reading, teams=teams)
    )

    column = ENSEMBLES.index(ensemble)
    assert seen.on(hazard, "entry-1") == here[column]
    assert seen.on(hazard, "entry-2") == elsewhere[column]


@pytest.mark.parametrize(("reading", "hazard", "here", "elsewhere"), PLACES)
@pytest.mark.parametrize("before", ["level_a", "level_d"])
@pytest.mark.parametrize("ensemble", ENSEMBLES)
def test_a_change_of_ensemble_judges_all_that_stands_again(
    reading, hazard, here, elsewhere, before, ensemble
):
    seen = judge(worksheet(reading, change(1, ensemble), ensemble=before))

    assert seen.on(hazard) == here[ENSEMBLES.index(ensemble)]


def test_a_team_that_moves_away_is_cautioned_and_stopped_again_on_coming_back():
    seen = judge(
        worksheet(ph(0, 2), ph(1, 7, place="hall"), ph(2, 7, place="tank room"))
    )

    assert [seen.standing(f"e{n:02}") for n in (1, 2, 3)] == ["stop", "caution", "stop"]


def test_a_missing_place_is_a_place_of_its_own():
    seen = judge(worksheet(ph(0, 2, place=None), ph(1, 7, place="hall")))

    assert seen.standing("e01") == "stop"
    assert seen.standing("e02") == "caution"
    assert seen.findings("acid_vapour")[0]["place"] == ""


def test_every_team_at_the_place_is_judged_by_what_it_wears():
    teams = [team(), team("entry-2", "level_a"), team("entry-3", "level_d")]
    at_the_place = [enter(0, team=id) for id in ("entry-2", "entry-3")]
    seen = judge(worksheet(*at_the_place, meter(1, oxygen=19), teams=teams))

    assert seen.entry("e03")["standing"] == {
        "entry-1": "caution",
        "entry-2": "caution",
        "entry-3": "withdraw",
    }


def test_a_team_outside_has_the_verdict_it_would_have_on_going_back():
    seen = judge(worksheet(enter(0), ph(1, 2), leave(2)))

    assert seen.action() == "stop"


def test_two_liquids_may_be_two_puddles():
    log = [
        ph(0, 1, sample="liquid"), ph(1, 7, sample="liquid"),
        ki(2, "blue_black", sample="liquid"),
        ki(3, sample="liquid", edge_checked=True),
        fluoride(4, "changed", sample="liquid"), fluoride(5, sample="liquid"),
    ]  # fmt: skip
    seen = judge(worksheet(*log))

    for hazard in ("corrosive_liquid", "oxidiser_liquid", "fluoride_liquid"):
        assert seen.on(hazard) is not None


# found, a later reading that can tell and finds nothing, later ones that must not end it
ENDING = [
    pytest.param(
        ph(0, 5), ph(1, 7), "acid_vapour",
        [ph(1, 7, moistened=False), ph(1, 7, sample="liquid"), ph(1, 7, place="hall"),
         meter(1, 0, 20.9), ki(1)],
        id="weak acid",
    ),
    pytest.param(
        ph(0, 8), ph(1, 7), "base_vapour",
        [ph(1, 7, moistened=False), ph(1, 7, sample="liquid"), ph(1, bleached=True)],
        id="weak base",
    ),
    pytest.param(
        meter(0, 5, 20.9), meter(1, 0, 20.9), "flammable_atmosphere",
        [meter(1, 0, 19.4), meter(1, 0, 23.6), meter(1, 0), meter(1, oxygen=20.9),
         meter(1, voc_ppm=0), meter(1, 0, 20.9, place="hall")],
        id="LEL under the limit",
    ),
    pytest.param(
        meter(0, oxygen=20.4), meter(1, oxygen=20.9), "oxygen_deficient",
        [meter(1, 0), meter(1, oxygen=20.9, place="hall")],
        id="small oxygen drop",
    ),
    pytest.param(
        meter(0, oxygen=21.4), meter(1, oxygen=20.9), "oxygen_enriched",
        [meter(1, 0), meter(1, oxygen=20.9, place="hall")],
        id="small oxygen rise",
    ),
    pytest.param(
        meter(0, voc_ppm=5), meter(1, voc_ppm=0, co_ppm=0), "toxic_gas",
        [meter(1, 0, 20.9), meter(1, voc_ppm=0), ph(1, 7)],
        id="unexplained vapour",
    ),
    pytest.param(
        rate(0, 5), rate(1, 0.01), "gamma_radiation",
        [dose(1, 0.001), rate(1, 0.01, place="hall")],
        id="low dose rate",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("found", "quiet", "hazard", "blind"), ENDING)
def test_a_caution_ends_with_a_reading_that_can_tell(found, quiet, hazard, blind):
    assert judge(worksheet(found)).on(hazard) == "caution"
    assert judge(worksheet(found, quiet)).on(hazard) is None


@pytest.mark.parametrize(("found", "quiet", "hazard", "blind"), ENDING)
def test_a_caution_does_not_end_with_a_reading_that_cannot_tell(
    found, quiet, hazard, blind
):
    for line in blind:  # `enter` brings the team back where the reading moved it
        seen = judge(worksheet(found, line, enter(2), humidity=10))

        assert seen.on(hazard) == "caution", line
        assert seen.status(hazard) == "found", line


def test_a_caution_is_replaced_by_a_later_one():
    seen = judge(worksheet(meter(0, 8, 20.9), meter(1, 3, 20.9)))

    assert len(seen.findings("flammable_atmosphere")) == 1
    assert "3" in seen.findings("flammable_atmosphere")[0]["because"]


STANDS = [
    pytest.param([ph(0, 2)] + [ph(m, 7) for m in range(1, 9)], "stop", id="acid"),
    pytest.param([ph(0, 12), ph(1, 7), ph(2, 5)], "stop", id="base, then weak acid"),
    pytest.param([ki(0, "blue_black"), ki(1), ki(2)], "stop", id="oxidiser"),
    pytest.param([fluoride(0, "changed"), fluoride(1)], "stop", id="fluoride"),
    pytest.param([meter(0, 10, 20.9), meter(1, 0, 20.9)], "withdraw", id="LEL"),
    pytest.param([meter(0, oxygen=24), meter(1, 0, 20.9)], "withdraw", id="oxygen"),
    pytest.param([imager(0, 90), imager(1, 70)], "stop", id="warm drum"),
    pytest.param(
        [imager(0, 90), imager(1, 95), imager(9, 70), imager(15, 70), imager(19, 70)],
        "withdraw", id="risen drum, cooled and steady",
    ),
    pytest.param([rate(0, 12, "rem/h"), rate(1, 0.01)], "stop", id="dose rate"),
    pytest.param([sign(0, "symptoms"), ph(1, 7)], "stop", id="symptoms"),
    pytest.param(
        [air(0, 1400), air(1, 4400)], "withdraw", id="low air, the letter of the rule"
    ),
]  # fmt: skip


@pytest.mark.parametrize(("log", "action"), STANDS)
def test_a_stop_or_withdraw_stands_whatever_is_read_later(log, action):
    teams = [team(members=[member()])]
    limits = {"par_interval": {"value": 9, "unit": "h"}}
    seen = judge(worksheet(*log, teams=teams, limits=limits))

    assert seen.action() == action


@pytest.mark.parametrize("ensemble", ["level_a"])
def test_what_is_a_stop_for_others_does_not_end_by_itself_for_the_vapour_tight(
    ensemble,
):
    log = [ph(0, 2), ph(1, 7)]

    assert judge(worksheet(*log, ensemble=ensemble)).action() == "caution"
    assert (
        judge(worksheet(*log, change(2, "level_b"), ensemble=ensemble)).action()
        == "stop"
    )


# --- contradiction -------------------------------------------------------------------


def gas_meter(id):
    return {
        "id": id, "kind": "gas_meter", "sensors": ["lel", "oxygen"],
        "last_bump_test": "2026-03-04T08:00:00-05:00", "calibration_due": "2026-06-01",
    }  # fmt: skip


@pytest.mark.parametrize("quiet_first", [True, False])
def test_of_two_instruments_the_stricter_stands_and_the_contradiction_is_named(
    quiet_first,
):
    loud = meter(1, 5, 20.9, instrument="meter-1")
    quiet = meter(1, 0, 20.9, instrument="meter-2")
    log = [quiet, loud] if quiet_first else [loud, quiet]
    seen = judge(
        worksheet(*log, instruments=[gas_meter("meter-1"), gas_meter("meter-2")])
    )

    assert seen.on("flammable_atmosphere") == "caution"
    assert any("meter-1" in s and "meter-2" in s for s in seen.sentences())


# --- strikes -------------------------------------------------------------------------


def test_a_strike_judges_without_the_entry_from_then_on():
    document = worksheet(ph(0, 2), strike(2, "e01"))

    assert judge(document, 1).action() == "stop"
    seen = judge(document)
    assert seen.action() == "continue"
    assert seen.standing("e01") == "stop"
    assert seen.standing("e02") == "continue"
    assert seen.status("acid_vapour") == "not_checked"


def test_a_strike_of_an_exit_puts_the_team_back_inside():
    document = worksheet(enter(0), leave(1), strike(2, "e02"))

    assert judge(document, 25).on("accountability") == "caution"


def test_a_strike_of_a_change_brings_the_old_ensemble_back():
    log = [ph(0, 2), change(1, "level_a"), strike(2, "e02")]

    assert judge(worksheet(*log)).action() == "stop"


def test_a_strike_may_be_put_right_itself():
    log = [ph(0, 2), strike(1, "e01"), strike(2, "e02")]

    assert judge(worksheet(*log)).action() == "stop"


def test_a_strike_of_an_earlier_rise_judges_the_trend_without_it():
    log = [imager(0, 70), imager(1, 74.5), imager(2, 71), strike(3, "e02")]
    seen = judge(worksheet(*log))

    assert seen.standing("e03") == "withdraw"
    assert seen.action() == "continue"


def test_a_strike_of_a_passed_bump_test_makes_quiet_readings_blind():
    log = [
        bump(0, "meter-1", True), meter(1, 0, 20.9, instrument="meter-1"),
        strike(2, "e01"),
    ]  # fmt: skip
    stale = {**gas_meter("meter-1"), "last_bump_test": "2026-03-03T08:00:00-05:00"}
    document = worksheet(*log, instruments=[stale])

    assert judge(document, 1).status("flammable_atmosphere") == "not_found"
    assert judge(document).status("flammable_atmosphere") == "cannot_tell"
