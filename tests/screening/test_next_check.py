"""The next check meets the doubt named, and the one that tells most comes first."""

import pytest

from screening.methods import by_id, recognise, row_of
from tests.engine.documents import (
    bump,
    dose,
    enter,
    fluoride,
    judge,
    ki,
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


def look_next(*log, **setup):
    return judge(worksheet(*log, **setup), 2).team()["look_next"]


def test_first_of_all_the_meter_then_what_the_clothing_lets_through():
    nothing = look_next(enter(0))
    metered = look_next(enter(0), meter(1, 0, 20.9, co_ppm=0))

    assert nothing.startswith("Read the gas meter low")
    assert metered.startswith("Wet a fresh pH strip")


def test_in_vapour_tight_gear_gamma_comes_before_the_papers():
    line = meter(1, 0, 20.9, co_ppm=0)

    assert "dosimeter" in look_next(enter(0), line, ensemble="level_a")


def test_after_an_acid_fluoride_comes_first():
    assert "fluoride" in look_next(enter(0), ph(1, 2))


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
