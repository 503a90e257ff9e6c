"""The next check meets the doubt named, and the one that tells most comes first."""

import pytest

from screening.ensembles import Ensemble
from screening.methods import by_id, reason, recognise, row_of
from screening.nextcheck import openness, shown_by, weight
from screening.verdicts import CoverageRow, Hazard, Status
from tests.engine.documents import (
    bump,
    dose,
    enter,
    fluoride,
    imager,
    judge,
    ki,
    leave,
    meter,
    ph,
    rate,
    worksheet,
)

OLD_BUMP = {
    "id": "meter-1", "kind": "gas_meter", "sensors": ["lel", "oxygen"],
    "last_bump_test": "2026-03-03T08:00:00-05:00", "calibration_due": "2026-06-01",
}  # fmt: skip


@pytest.mark.parametrize(
    ("log", "hazard", "words"),
    [
        pytest.param([meter(0, 0, 15)], "flammable_atmosphere", "no oxygen", id="oxygen"),
        pytest.param([meter(0, 0)], "flammable_atmosphere", "together", id="LEL alone"),
        pytest.param(
            [meter(0, 0, 20.9, instrument="meter-1")], "flammable_atmosphere",
            "Bump-test meter-1", id="bump_not_today",
        ),
        pytest.param(
            [meter(0, 0, 20.9, instrument="meter-1"), bump(1, "meter-1", False)],
            "oxygen_deficient", "Bump-test meter-1", id="bump_failed_after",
        ),
        pytest.param(
            [bump(0, "meter-1", False), meter(1, 0, 20.9, instrument="meter-1")],
            "oxygen_deficient", "Take meter-1 out of use", id="bump_failed",
        ),
        pytest.param(
            [ph(0, bleached=True)], "acid_vapour", "KI-starch", id="white paper"
        ),
        pytest.param([dose(0, 0)], "gamma_radiation", "dose rate", id="dose alone"),
        pytest.param(
            [meter(0, voc_ppm=0)], "toxic_gas", "a cell or tube", id="VOC alone"
        ),
    ],
)  # fmt: skip
def test_the_next_check_meets_the_doubt(log, hazard, words):
    row = judge(worksheet(*log, instruments=[OLD_BUMP]), 2).row(hazard)

    assert row["status"] == "cannot_tell"
    assert words in row["next_check"]


def test_an_overdue_calibration_asks_for_another_instrument():
    overdue = {**OLD_BUMP, "calibration_due": "2026-03-03"}
    line = meter(0, 0, 20.9, instrument="meter-1")
    row = judge(worksheet(line, instruments=[overdue])).row("oxygen_enriched")

    assert row_of(row["because"]) is by_id("C41")
    assert [said.sentence.key for said in recognise(row["because"])] == [
        "calibration_overdue"
    ]
    assert "in date" in row["next_check"]


# --- Which check comes first ----------------------------------------------------------


def look_next(*log, at=2, **setup):
    return judge(worksheet(*log, **setup), at).team()["look_next"]


def test_first_of_all_the_meter_then_what_the_clothing_lets_through():
    nothing = look_next(enter(0))
    metered = look_next(enter(0), meter(1, 0, 20.9, co_ppm=0))

    assert nothing.startswith("Read the gas meter low")
    assert metered.startswith("Wet a fresh pH strip")


def test_it_says_what_is_open():
    assert look_next(enter(0)).endswith(
        " Open: flammable atmosphere, oxygen enriched, oxygen deficient, toxic gas."
    )
    line = meter(1, 0, 20.9, co_ppm=0)
    assert look_next(enter(0), line).endswith(" Open: acid vapour, base vapour.")


def test_what_was_read_high_up_is_read_at_the_floor():
    line = meter(1, 0, 20.9, co_ppm=0, height="head")

    assert look_next(enter(0), line).startswith("Hold the probe at the floor")


def test_the_floor_is_asked_for_again_where_only_that_is_old():
    log = [
        meter(n, 0, 20.9, co_ppm=0, height=h) for n, h in ((0, "floor"), (6, "head"))
    ]
    row = judge(worksheet(*log), 7).row("oxygen_deficient")

    assert row["status"] == "out_of_date"
    assert row["because"].startswith("7 min ago, counts for 5 min: oxygen 20.9 %")
    assert row["because"].endswith("a heavy or cold gas would lie at the floor")
    assert row["next_check"].startswith("Hold the probe at the floor")


def test_where_flammable_gas_is_found_it_is_read_at_every_height():
    line = meter(1, 3, 20.9, co_ppm=0, height="waist")

    assert look_next(enter(0), line).startswith("Read the gas meter low, at the waist")


def test_what_rule_33_asks_for_comes_before_the_other_papers():
    log = [enter(0), meter(1, 0, 20.9, co_ppm=0), ph(1, 7)]

    assert look_next(*log).startswith("Hold the dosimeter")
    assert "KI-starch" in look_next(*log, rate(1.5, 0.01))


def test_in_vapour_tight_gear_gamma_comes_before_the_papers():
    line = meter(1, 0, 20.9, co_ppm=0)

    assert "dosimeter" in look_next(enter(0), line, ensemble="level_a")


@pytest.mark.parametrize(
    ("suspect", "words"),
    [
        pytest.param("hydrogen fluoride", "fluoride", id="hydrogen fluoride"),
        pytest.param("iodine", "KI-starch", id="iodine"),
    ],
)
def test_a_suspect_that_would_show_weighs_more(suspect, words):
    """Beside another strip that would be worth the same."""
    line = meter(1, 0, 20.9, co_ppm=0, height="floor", instrument="m")
    log = [enter(0), bump(0, "m", True), line, ph(1, 7), rate(1, 0.01)]

    assert words in look_next(*log, suspects=[suspect])


def test_a_suspect_without_a_sensor_comes_before_what_is_merely_old():
    log = [
        enter(0), ph(1, 7), ki(1), fluoride(1), rate(1, 0.01),
        meter(1, 0, 20.9, co_ppm=0, height="floor"),
    ]  # fmt: skip

    step = look_next(*log, suspects=["carbon dioxide"])

    assert step.startswith("Measure carbon dioxide with a cell or a detector tube")


def test_after_an_acid_fluoride_comes_first():
    step = look_next(enter(0), ph(1, 5))

    assert "fluoride" in step
    assert step.endswith("it may be hydrogen fluoride.")
    assert "fluoride" not in look_next(enter(0), ph(1, 5), fluoride(1.5))


@pytest.mark.parametrize(
    "acid",
    [
        pytest.param(ph(1, 5), id="vapour"),
        pytest.param(ph(1, 3, sample="liquid", moistened=None), id="liquid"),
    ],
)
@pytest.mark.parametrize("ensemble", ["level_a", "level_b", "turnout_scba", "level_d"])
def test_after_any_acid_whatever_is_worn(acid, ensemble):
    assert "fluoride" in look_next(enter(0), acid, ensemble=ensemble)


def test_after_a_base_it_does_not():
    base = ph(1, 13, sample="liquid", moistened=None)

    assert "fluoride" not in look_next(enter(0), base, ensemble="level_b")


def test_the_edge_of_a_strip_in_the_hand_comes_first_while_it_is_fresh():
    log = [enter(0), ki(1, sample="liquid", moistened=None)]
    seen = ki(1.5, sample="liquid", moistened=None, edge_checked=True)

    assert look_next(*log).startswith("Look at the edge between wet and dry")
    assert "edge" not in look_next(*log, seen)
    assert "edge" not in look_next(*log, at=12)


def test_a_container_is_looked_for_last_where_nobody_has_seen_one():
    log = [imager(0, 70, place="yard"), enter(1)]
    rest = [
        ph(1, 7), ki(1), fluoride(1), rate(1, 0.01),
        meter(1, 0, 20.9, co_ppm=0, height="floor"),
    ]  # fmt: skip

    assert look_next(*log).startswith("Read the gas meter")
    assert look_next(*log, *rest).startswith("Look for closed containers here")


def test_frost_is_thought_of_before_the_strip_is_wetted():
    air = {"air_temperature": {"value": -5, "unit": "degC"}}
    log = [enter(0), meter(1, 0, 20.9, co_ppm=0)]

    step = look_next(*log, weather=air)

    assert step.startswith("Wet a fresh pH strip")
    assert "glycerol" in step
    assert "glycerol" not in look_next(*log)


# --- What the verdict makes of it -----------------------------------------------------


def test_a_team_that_stops_backs_off_first():
    step = look_next(enter(0), ph(1, 2))

    assert step.startswith("Back off first. From there: wet a fresh fluoride strip")


def test_a_team_that_withdraws_leaves_first_and_looks_at_what_made_it_leave():
    inside = look_next(enter(0), meter(1, 12, 20.9))
    outside = look_next(enter(0), meter(1, 12, 20.9), leave(2))

    assert inside.startswith("Leave first. Then, from outside: read the gas meter")
    assert outside.startswith("From outside: read the gas meter")
    assert outside.endswith("Without a fresh reading it cannot be lifted.")


def test_the_place_is_named_where_it_is_elsewhere():
    log = [imager(0, 70, place="yard"), imager(1, 80, place="yard"), enter(2)]

    assert look_next(*log).startswith(
        "Leave first. Then, from outside, at yard: read the container again"
    )


def test_a_team_that_was_stopped_and_is_out_reads_again_what_stopped_it():
    log = [enter(0), ki(1, "blue_black"), leave(2)]

    assert look_next(*log, at=3).startswith("From outside: wet a fresh KI-starch strip")
    after = look_next(*log, ki(3), at=4)
    assert after.startswith("From outside: read the gas meter low")


def test_a_warm_container_is_read_again_from_afar_once_the_reading_is_old():
    log = [enter(0), imager(1, 90)]

    assert not look_next(*log, at=2).startswith(
        "Back off first. From there: read the c"
    )
    assert look_next(*log, at=4).startswith("Back off first. From there: read the cont")


# --- Doubts ---------------------------------------------------------------------------


def test_what_the_same_meter_cannot_mend_does_not_hold_up_the_rest():
    # Oxygen at 15 %: no LEL figure of this meter tells, so the papers come first.
    blind = look_next(enter(0), meter(1, 0, 15, co_ppm=0))
    rest = [ph(1.1, 7), ki(1.2), fluoride(1.3), rate(1.4, 0.01)]
    last = look_next(enter(0), meter(1, 0, 15, co_ppm=0), *rest)

    assert blind.startswith("Wet a fresh pH strip")
    assert "sensor that needs no oxygen" in last


def test_a_bump_test_is_asked_for_where_only_that_is_missing():
    line = meter(1, 0, 20.9, co_ppm=0, instrument="meter-1")

    assert look_next(enter(0), line, instruments=[OLD_BUMP]).startswith("Bump-test")


# --- The weights as they are stated ---------------------------------------------------

SKIN = ("acid_vapour", "base_vapour", "oxidiser_vapour", "fluoride_vapour")
BREATHED = ("oxygen_deficient", "toxic_gas")
REST = (
    "flammable_atmosphere", "oxygen_enriched", "gamma_radiation", "container_heating",
)  # fmt: skip


@pytest.mark.parametrize(
    ("ensemble", "skin", "breathed"),
    [
        (Ensemble.LEVEL_A, 1, 1), (Ensemble.LEVEL_B, 2, 1),
        (Ensemble.TURNOUT_SCBA, 2, 1), (Ensemble.LEVEL_C, 2, 3),
        (Ensemble.LEVEL_D, 2, 3),
    ],
)  # fmt: skip
def test_the_weights(ensemble, skin, breathed):
    for hazards, expected in ((SKIN, skin), (BREATHED, breathed), (REST, 3)):
        for hazard in hazards:
            assert weight(Hazard(hazard), ensemble) == expected


def test_a_suspect_adds_one_where_it_is_sure_to_show():
    assert shown_by(("propane",)) == {Hazard.FLAMMABLE_ATMOSPHERE, Hazard.TOXIC_GAS}
    assert shown_by(("chlorine",)) == {
        Hazard.ACID_VAPOUR, Hazard.OXIDISER_VAPOUR, Hazard.TOXIC_GAS,
    }  # fmt: skip
    assert shown_by(("liquid oxygen",)) == {Hazard.OXYGEN_ENRICHED}
    assert shown_by(("sulfuric acid",)) == frozenset()
    heavier = weight(Hazard.OXIDISER_VAPOUR, Ensemble.LEVEL_A, ("chlorine",))
    assert heavier == weight(Hazard.OXIDISER_VAPOUR, Ensemble.LEVEL_A) + 1


@pytest.mark.parametrize(
    ("status", "because", "expected"),
    [
        (Status.NOT_CHECKED, reason("nobody"), 3),
        (Status.CANNOT_TELL, reason("lel_without_oxygen"), 3),
        (Status.CANNOT_TELL, reason("suspect_not_measured", names="chlorine"), 2),
        (Status.CANNOT_TELL, reason("lel_latched"), 1),
        (Status.OUT_OF_DATE, "", 2),
        (Status.NOT_FOUND, "", 0),
        (Status.FOUND, "", 0),
    ],
)
def test_how_much_is_open(status, because, expected):
    row = CoverageRow(
        hazard=Hazard.FLAMMABLE_ATMOSPHERE, status=status, because=because,
        next_check="",
    )  # fmt: skip

    assert openness(row) == expected
