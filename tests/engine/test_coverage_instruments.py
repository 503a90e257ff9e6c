"""Section 6: an instrument whose bump test or calibration is out of date cannot tell."""

import pytest

from tests.engine.documents import bump, judge, meter, worksheet


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
