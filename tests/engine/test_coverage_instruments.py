"""Section 6: an instrument whose bump test or calibration is out of date cannot tell."""

from datetime import timedelta

import pytest

from screening.methods import by_id, row_of
from screening.state import replay
from screening.trust import TakenBack, doubt_about, is_unverified, taken_back
from screening.worksheet import load_json, parse_worksheet
from tests.engine.documents import (
    START,
    air,
    as_bytes,
    bump,
    imager,
    judge,
    member,
    meter,
    ph,
    rate,
    team,
    worksheet,
)


def listed(**fields):
    return {
        "id": "meter-1", "kind": "gas_meter", "sensors": ["lel", "oxygen", "co", "h2s"],
        "last_bump_test": "2026-03-04T08:00:00-05:00", "calibration_due": "2026-06-01",
        **fields,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("instrument", "status"),
    [
        pytest.param(listed(), "not_found", id="in order"),
        pytest.param(
            listed(last_bump_test="2026-03-04T00:00:00-05:00"), "not_found",
            id="bumped at the first minute of the day",
        ),
        pytest.param(
            listed(last_bump_test="2026-03-03T23:59:00-05:00"), "cannot_tell",
            id="bumped the day before",
        ),
        pytest.param(
            listed(calibration_due="2026-03-04"), "not_found", id="due today"
        ),
        pytest.param(
            listed(calibration_due="2026-03-03"), "cannot_tell", id="due yesterday"
        ),
    ],
)  # fmt: skip
@pytest.mark.parametrize("hazard", ["flammable_atmosphere", "oxygen_deficient"])
def test_a_listed_instrument_must_be_in_order(instrument, status, hazard):
    line = meter(0, 0, 20.9, instrument="meter-1")
    seen = judge(worksheet(line, instruments=[instrument]))

    assert seen.status(hazard) == status


@pytest.mark.parametrize(
    "instrument",
    [
        listed(last_bump_test="2026-03-03T08:00:00-05:00"),
        listed(calibration_due="2026-03-03"),
    ],
)
def test_an_instrument_out_of_date_finds_as_ever(instrument):
    line = meter(0, 12, 19, instrument="meter-1")
    seen = judge(worksheet(line, instruments=[instrument]))

    assert seen.on("flammable_atmosphere") == "withdraw"
    assert seen.on("oxygen_deficient") == "caution"


def test_of_an_instrument_that_is_not_listed_nothing_is_assumed():
    line = meter(0, 0, 20.9, instrument="the old yellow meter")
    seen = judge(worksheet(line, instruments=[listed(calibration_due="2020-01-01")]))

    assert seen.status("flammable_atmosphere") == "not_found"


STALE = listed(last_bump_test="2026-03-03T08:00:00-05:00")
READ = meter(2, 0, 20.9, instrument="meter-1")


@pytest.mark.parametrize(
    ("log", "status"),
    [
        pytest.param([READ], "cannot_tell", id="not bumped today"),
        pytest.param([bump(1, "meter-1", True), READ], "not_found", id="passed before"),
        pytest.param([bump(1, "meter-1", False), READ], "cannot_tell", id="failed"),
        pytest.param(
            [bump(0, "meter-1", True), READ, bump(3, "meter-1", False)], "cannot_tell",
            id="failed after use",
        ),
        pytest.param(
            [bump(0, "meter-1", True), READ, bump(3, "meter-1", True)], "not_found",
            id="passed before and after",
        ),
        pytest.param(
            [bump(0, "meter-1", True), READ, bump(2.5, "meter-1", True),
             bump(3, "meter-1", False)],
            "not_found", id="passed between the reading and the failure",
        ),
        pytest.param(
            [bump(0, "meter-1", True), bump(1, "meter-1", False), READ], "cannot_tell",
            id="read after a failure",
        ),
        pytest.param(
            [bump(0, "meter-1", False), bump(1, "meter-1", True), READ], "not_found",
            id="passed after a failure",
        ),
    ],
)  # fmt: skip
def test_bump_tests_in_the_log(log, status):
    seen = judge(worksheet(*log, instruments=[STALE]), 3)

    assert seen.status("flammable_atmosphere") == status


def test_a_failed_bump_test_takes_no_finding_away():
    log = [meter(0, 5, 20.9, instrument="meter-1"), bump(1, "meter-1", False)]
    seen = judge(worksheet(*log, instruments=[listed()]))

    assert seen.on("flammable_atmosphere") == "caution"


def test_a_failed_bump_test_speaks_of_one_instrument_only():
    log = [READ, bump(3, "meter-2", False)]
    seen = judge(worksheet(*log, instruments=[listed(), listed(id="meter-2")]))

    assert seen.status("flammable_atmosphere") == "not_found"


@pytest.mark.parametrize(
    ("bumped", "read", "status"),
    [
        pytest.param(
            "2026-03-04T03:00:00Z", "2026-03-04T14:00:00-05:00", "cannot_tell",
            id="ten in the evening before, by the crew's clock",
        ),
        pytest.param(
            "2026-03-04T08:00:00-05:00", "2026-03-04T20:00:00-05:00", "not_found",
            id="the same evening, although the next day in UTC",
        ),
    ],
)  # fmt: skip
def test_the_day_of_a_bump_test_is_the_crews_day(bumped, read, status):
    line = {**meter(0, 0, 20.9, instrument="meter-1"), "at": read}
    seen = judge(worksheet(line, instruments=[listed(last_bump_test=bumped)]))

    assert seen.status("flammable_atmosphere") == status


LOT = {"id": "ph-lot-7", "kind": "ph_paper", "calibration_due": "2026-03-04"}
WET = ph(2, 7, moistened=True, instrument="ph-lot-7")


@pytest.mark.parametrize(
    ("lot", "log", "status", "words"),
    [
        pytest.param(LOT, [WET], "not_found", "", id="expires today"),
        pytest.param(
            LOT | {"calibration_due": "2026-03-03"}, [WET], "cannot_tell",
            "the lot of ph-lot-7 has expired", id="expired yesterday",
        ),
        pytest.param(
            LOT, [bump(1, "ph-lot-7", False), WET], "cannot_tell",
            "ph-lot-7 failed its check", id="failed a check with a known acid",
        ),
        pytest.param(
            LOT, [WET, bump(3, "ph-lot-7", False)], "cannot_tell",
            "ph-lot-7 failed a check", id="failed it afterwards",
        ),
        pytest.param(
            LOT | {"last_bump_test": None}, [WET], "cannot_tell",
            "ph-lot-7 has no passed check", id="known to have failed before",
        ),
    ],
)  # fmt: skip
def test_a_lot_of_papers_is_an_instrument_and_its_expiry_a_date_that_is_due(
    lot, log, status, words
):
    seen = judge(worksheet(*log, instruments=[lot]), 4)
    row = seen.row("acid_vapour")

    assert row["status"] == status
    assert words in row["because"]
    assert "bump" not in row["because"]
    if status == "cannot_tell":
        assert row_of(row["because"]) is by_id("W10")
        assert "fresh lot" in row["next_check"]


def test_an_expired_paper_that_changes_finds_as_ever():
    line = ph(2, 2, moistened=True, instrument="ph-lot-7")
    seen = judge(worksheet(line, instruments=[LOT | {"calibration_due": "2020-01-01"}]))

    assert seen.on("acid_vapour") == "stop"


def _after(*log, instruments):
    crew = [team(members=[member()])]
    document = worksheet(*log, instruments=instruments, teams=crew)
    sheet = parse_worksheet(load_json(as_bytes(document)))
    return sheet, replay(sheet.log, sheet.context)


@pytest.mark.parametrize(
    ("instrument", "log", "words"),
    [
        (listed(), [READ], ""),
        (STALE, [READ], "meter-1 has no passed bump test of the day"),
        (STALE, [bump(0, "meter-1", True)], ""),
        (listed(), [bump(0, "meter-1", False)], "meter-1 failed its last bump test"),
        (listed(calibration_due="2026-03-03"), [READ], "meter-1 is overdue"),
        (LOT | {"id": "meter-1", "calibration_due": "2026-03-03"}, [READ], "expired"),
    ],
)
def test_the_doubt_about_an_instrument_is_known_without_a_reading(
    instrument, log, words
):
    sheet, state = _after(*log, instruments=[instrument])

    doubt = doubt_about(state.core, sheet.context, "meter-1", START)

    assert words in doubt
    assert bool(doubt) == bool(words)


def test_what_a_failed_test_afterwards_took_back_is_counted():
    sheet, state = _after(
        bump(0, "meter-1", True),
        READ,
        meter(2.5, 0, 20.9, instrument="meter-2"),
        meter(3, 0, 20.9, instrument="meter-1"),
        bump(4, "meter-1", False),
        meter(5, 0, 20.9, instrument="meter-1"),
        instruments=[listed(), listed(id="meter-2")],
    )

    assert taken_back(state, sheet.context) == (
        TakenBack(
            instrument="meter-1",
            kind="gas_meter",
            failed_at=START + timedelta(minutes=4),
            since=START,
            readings=2,
        ),
    )


def test_a_failed_test_before_any_reading_takes_nothing_back():
    sheet, state = _after(bump(0, "meter-1", False), READ, instruments=[listed()])

    assert taken_back(state, sheet.context) == ()


@pytest.mark.parametrize(
    ("line", "unregistered"),
    [
        pytest.param(READ, False, id="listed"),
        pytest.param(meter(1, 0, 20.9), True, id="no instrument named"),
        pytest.param(meter(1, 0, 20.9, instrument="borrowed"), True, id="not listed"),
        pytest.param(rate(1, 0.01), True, id="a dosimeter"),
        pytest.param(imager(1, 20, 20), True, id="an imager"),
        pytest.param(ph(1, 7), False, id="a paper is no meter"),
        pytest.param(air(1, 4000, member="a"), False, id="a gauge is no meter"),
    ],
)
def test_a_meter_that_is_not_listed_is_known_as_such(line, unregistered):
    sheet, _ = _after(line, instruments=[listed()])

    assert is_unverified(sheet.log[0], sheet.context) is unregistered
