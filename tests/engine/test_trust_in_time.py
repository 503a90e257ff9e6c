"""Trust in an instrument runs forward in time only, sensor by sensor, by the crew's day.

Expected statuses follow from section 2 of the specification (a bump test of the same day; a
failed one takes back what was quiet since the last passed one) and from its rule that of
two readings the safer is taken.
"""

import pytest

from screening.state import replay
from screening.trust import taken_back, untrusted
from screening.worksheet import load_json, parse_worksheet
from tests.engine.documents import as_bytes, bump, entry, judge, meter, worksheet

MORNING = "2026-03-04T08:00:00-05:00"
AFTERNOON = "2026-03-04T16:00:00-05:00"


def listed(**fields):
    return {
        "id": "meter-1", "kind": "gas_meter", "sensors": ["lel", "oxygen", "co", "h2s"],
        "last_bump_test": MORNING, **fields,
    }  # fmt: skip


def read(minutes, **fields):
    return meter(minutes, 0, 20.9, **{"instrument": "meter-1", "co_ppm": 0, **fields})


def status(*log, hazard="flammable_atmosphere", minutes=3, **fields):
    return judge(worksheet(*log, instruments=[listed(**fields)]), minutes).status(
        hazard
    )


# --- A test counts from its time on ----------------------------------------------------


def test_a_passed_test_of_later_in_the_day_trusts_no_reading_of_before():
    assert status(read(2)) == "not_found"
    assert status(read(2), last_bump_test=AFTERNOON) == "cannot_tell"


def test_a_later_passed_test_of_the_set_up_keeps_no_failed_one_from_taking_back():
    """The failed one takes back what was quiet before it, whatever passed afterwards."""
    assert status(read(2), bump(3, "meter-1", False)) == "cannot_tell"
    log = [bump(0, "meter-1", True), read(2), bump(2.5, "meter-1", False)]
    after = [*log, bump(3, "meter-1", True)]
    assert status(*log, last_bump_test=AFTERNOON) == "cannot_tell"
    assert status(*after) == "cannot_tell"
    assert status(*after, last_bump_test=AFTERNOON) == "cannot_tell"


def test_a_later_passed_test_of_the_set_up_answers_no_note_of_a_poisoned_sensor():
    noted = read(0, note="LEL sensor poisoned")
    log = [bump(0.5, "meter-2", True), noted, read(2)]

    assert status(*log, last_bump_test=AFTERNOON) == "cannot_tell"


def test_a_failed_test_arriving_late_takes_back_as_if_it_had_come_in_time():
    log = [read(1), bump(2, "meter-1", True), bump(1.5, "meter-1", False)]

    assert status(*log) == "cannot_tell"


@pytest.mark.parametrize("struck", [False, True])
def test_striking_the_passed_test_between_opens_what_lies_before_it(struck):
    log = [
        read(1),
        {**bump(1.5, "meter-1", True), "id": "pass"},
        bump(2, "meter-1", False),
    ]
    if struck:
        strike = {"entry": "pass", "by": "lead", "reason": "another meter"}
        log.append(entry("strike", 2.5, **strike, team=None, place=None))

    assert status(*log) == ("cannot_tell" if struck else "not_found")


# --- The crew's day --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("bumped", "at", "expected"),
    [
        pytest.param(
            "2026-03-03T21:00:00-05:00", "2026-03-04T19:02:00Z", "cannot_tell",
            id="the evening before, the same day in UTC alone",
        ),
        pytest.param(
            "2026-03-04T13:00:00Z", "2026-03-04T20:00:00-05:00", "not_found",
            id="a test kept in UTC, read in the evening of its day",
        ),
        pytest.param(
            "2026-03-04T08:00:00-05:00", "2026-03-04T19:02:00Z", "not_found",
            id="the same day by both",
        ),
    ],
)  # fmt: skip
def test_a_day_is_the_same_by_the_clock_of_the_test_and_of_the_reading(
    bumped, at, expected
):
    line = {**read(0), "at": at}
    seen = judge(worksheet(line, instruments=[listed(last_bump_test=bumped)]))

    assert seen.status("flammable_atmosphere") == expected


def test_what_a_failed_test_took_back_is_said_although_one_passed_later():
    document = worksheet(
        read(1), bump(2, "meter-1", False),
        instruments=[listed(last_bump_test=AFTERNOON)],
    )  # fmt: skip
    sheet = parse_worksheet(load_json(as_bytes(document)))

    (back,) = taken_back(replay(sheet.log, sheet.context), sheet.context)

    assert (back.readings, back.since) == (1, None)


# --- Sensor by sensor ------------------------------------------------------------------

OXYGEN_CELL = "oxygen cell poisoned"
BEAD = "LEL bead poisoned"


@pytest.mark.parametrize(
    ("first", "second", "oxygen", "flammable"),
    [
        pytest.param("", "", "not_found", "not_found", id="no note"),
        pytest.param("", BEAD, "not_found", "cannot_tell", id="the bead alone"),
        pytest.param("", OXYGEN_CELL, "cannot_tell", "cannot_tell", id="a cell"),
        pytest.param(
            OXYGEN_CELL, BEAD, "cannot_tell", "cannot_tell", id="a cell, then the bead"
        ),
        pytest.param(
            BEAD, OXYGEN_CELL, "cannot_tell", "cannot_tell", id="the bead, then a cell"
        ),
        pytest.param(
            BEAD, "no silicone", "not_found", "cannot_tell", id="denied later"
        ),
    ],
)
def test_a_note_on_the_bead_heals_and_spoils_no_other_sensor(
    first, second, oxygen, flammable
):
    log = [
        read(0, note=first or None, place="yard"),
        read(1, note=second or None, place="yard"),
        read(2, height="floor"),
    ]
    for hazard in ("oxygen_deficient", "toxic_gas"):
        assert status(*log, hazard=hazard) == oxygen
    assert status(*log) == flammable


def test_a_passed_test_answers_the_notes_of_before_it_and_none_of_after():
    cell, bead = read(0, note=OXYGEN_CELL), read(1, note=BEAD)
    passed = bump(0.5, "meter-1", True)

    for hazard, expected in (
        ("oxygen_deficient", "not_found"), ("flammable_atmosphere", "cannot_tell"),
    ):  # fmt: skip
        assert status(cell, passed, bead, read(2), hazard=hazard) == expected


def test_a_reading_whose_bead_alone_is_in_doubt_is_not_distrusted_as_a_whole():
    """What the readings fit: a quiet CO cell still speaks against CO."""
    log = [read(0, note=BEAD), read(1), read(2, note=OXYGEN_CELL), read(2.5)]
    document = worksheet(*log, instruments=[listed()])
    sheet = parse_worksheet(load_json(as_bytes(document)))

    assert untrusted(replay(sheet.log, sheet.context), sheet.context) == {
        "e02": "lel", "e03": "lel", "e04": "all",
    }  # fmt: skip


def test_a_latched_sensor_is_in_doubt_alone():
    log = [{**read(0), "over_range": ["lel"]}, read(1)]
    sheet = parse_worksheet(
        load_json(as_bytes(worksheet(*log, instruments=[listed()])))
    )

    assert untrusted(replay(sheet.log, sheet.context), sheet.context) == {"e02": "lel"}
