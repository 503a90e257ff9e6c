"""Weather that was looked at again: a reading is judged by that of its own time.

Limits: dry pH paper cannot tell below 30 % humidity (`dry_air_percent`, common practice,
no source); a wetted strip freezes at 0 °C; adjusted temperature and intervals by the
four-agency manual 1985 (77 °F in full sun is 90 °F, 15 minutes in a suit).
"""

import pytest

from screening.state import initial_state, replay, step
from screening.worksheet import load_json, parse_worksheet
from tests.engine.documents import (
    as_bytes,
    enter,
    judge,
    moment,
    ph,
    quantity,
    refused,
    worksheet,
)

DRY, HUMID = 20, 60


def sheet(*log, looks=(), humidity=HUMID, **changes):
    """`looks` are pairs: minutes, and what was read then."""
    if looks:
        changes["weather_log"] = [{"at": moment(at), **said} for at, said in looks]
    return worksheet(*log, humidity=humidity, **changes)


def humid(percent):
    return {"relative_humidity_percent": percent}


def acid_row(document, minutes=None):
    rows = judge(document, minutes).team("entry-1")["coverage"]
    return next(row for row in rows if row["hazard"] == "acid_vapour")


def dry_strip(minutes):
    return ph(minutes, 7, moistened=False)


@pytest.mark.parametrize(
    ("read_at", "status"),
    [
        pytest.param(4, "not_found", id="before the look: still humid"),
        pytest.param(5, "cannot_tell", id="at the look itself"),
        pytest.param(6, "cannot_tell", id="after it"),
    ],
)
def test_a_reading_is_judged_by_the_weather_of_its_time(read_at, status):
    document = sheet(enter(0), dry_strip(read_at), looks=[(5, humid(DRY))])

    assert acid_row(document, minutes=7)["status"] == status


def test_later_weather_makes_no_earlier_reading_better():
    document = sheet(enter(0), dry_strip(1), looks=[(2, humid(HUMID))], humidity=DRY)

    assert acid_row(document, minutes=3)["status"] == "cannot_tell"


def test_what_a_look_leaves_out_holds_as_it_was_last_read():
    looks = [(1, humid(DRY)), (2, {"wind_from_degrees": 90})]

    assert (
        acid_row(sheet(enter(0), dry_strip(3), looks=looks))["status"] == "cannot_tell"
    )


def test_of_two_looks_at_one_moment_the_one_written_later_counts():
    looks = [(1, humid(HUMID)), (1, humid(DRY))]

    assert (
        acid_row(sheet(enter(0), dry_strip(3), looks=looks))["status"] == "cannot_tell"
    )


def test_looks_may_be_written_in_any_order():
    looks = [(4, humid(HUMID)), (1, humid(DRY))]

    assert (
        acid_row(sheet(enter(0), dry_strip(3), looks=looks))["status"] == "cannot_tell"
    )


def test_without_looks_and_with_one_that_changes_nothing_the_result_is_the_same():
    log = (enter(0), dry_strip(3), ph(4, 3))

    plain, looked = sheet(*log), sheet(*log, looks=[(2, humid(HUMID))])

    assert judge(plain, 5).result == judge(looked, 5).result


def test_frost_that_came_later_spoils_only_the_strips_after_it():
    looks = [(5, {"air_temperature": quantity(-2, "degC")})]

    before = acid_row(sheet(enter(0), ph(4, 7), looks=looks), minutes=4)
    after = acid_row(sheet(enter(0), ph(6, 7), looks=looks), minutes=7)

    assert before["status"] == "not_found"
    assert after["status"] == "cannot_tell"
    assert "−2 °C" in after["because"]


def heat(document, minutes):
    return judge(document, minutes).team("entry-1")["clocks"]["heat"]


def test_heat_goes_by_the_warmest_air_since_the_team_went_in():
    warm = [(10, {"air_temperature": quantity(77, "degF")})]
    cooled = [*warm, (20, {"air_temperature": quantity(50, "degF")})]
    given = {"ensemble": "level_b"}

    assert (
        heat(sheet(enter(0), looks=warm, **given), 9)["adjusted_temperature_degF"] == 81
    )
    assert (
        heat(sheet(enter(0), looks=warm, **given), 10)["adjusted_temperature_degF"]
        == 90
    )
    assert (
        heat(sheet(enter(0), looks=cooled, **given), 25)["adjusted_temperature_degF"]
        == 90
    )
    assert (
        heat(sheet(enter(21), looks=cooled, **given), 25)["adjusted_temperature_degF"]
        == 63
    )


def test_a_reading_that_comes_late_is_judged_by_the_weather_of_its_time():
    document = sheet(
        enter(0), dry_strip(6), dry_strip(1), ph(7, 5), looks=[(5, humid(DRY))]
    )
    worksheet_ = parse_worksheet(load_json(as_bytes(document)))
    context = worksheet_.context
    in_order = replay(worksheet_.log, context)

    state = initial_state(context)
    for entry in reversed(worksheet_.log):
        state, _ = step(state, entry, context)

    assert state.core == in_order.core
    assert state.standing == in_order.standing


@pytest.mark.parametrize(
    ("look", "pointer"),
    [
        pytest.param({"at": moment(1)}, "/incident/weather_log/0", id="nothing read"),
        pytest.param(humid(50), "/incident/weather_log/0/at", id="no time"),
        pytest.param(
            {"at": "14:00", **humid(50)}, "/incident/weather_log/0/at", id="no offset"
        ),
        pytest.param(
            {"at": moment(1), **humid(101)},
            "/incident/weather_log/0/relative_humidity_percent",
            id="humidity over 100",
        ),
        pytest.param(
            {"at": moment(1), "sky": "clear"},
            "/incident/weather_log/0/sky",
            id="unknown key",
        ),
    ],
)
def test_a_look_that_is_wrong_is_refused_with_its_place(look, pointer):
    document = worksheet(enter(0), weather_log=[look])

    assert any(line.startswith(pointer) for line in refused(document)), refused(
        document
    )
