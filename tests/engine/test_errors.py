"""Section 2: what is wrong with a document is named by its place, all of it at once."""

import json
import subprocess
import sys
from copy import deepcopy
from pathlib import Path

import pytest

from screening.worksheet import WorksheetErrors, load_json, parse_worksheet
from tests.engine.documents import (
    air,
    change,
    clear,
    dose,
    enter,
    entry,
    fluoride,
    imager,
    ki,
    member,
    meter,
    moment,
    par,
    ph,
    quantity,
    rate,
    sign,
    strike,
    team,
    worksheet,
)

ROOT = Path(__file__).parents[2]
REMOVED = object()


def pointers(data):
    try:
        parse_worksheet(load_json(data))
    except WorksheetErrors as wrong:
        return [error.pointer for error in wrong.errors]
    return []


def changed(document, pointer, value):
    """A copy of the document with one place of it replaced, added or removed."""
    copy = deepcopy(document)
    *path, last = pointer.removeprefix("/").split("/")
    at = copy
    for step in path:
        at = at[int(step)] if isinstance(at, list) else at.setdefault(step, {})
    key = int(last) if isinstance(at, list) else last
    if value is REMOVED:
        del at[key]
    else:
        at[key] = value
    return copy


FULL = worksheet(
    ph(0, 7),
    teams=[team(members=[member("a"), member("b")]), team("entry-2")],
    instruments=[
        {
            "id": "meter-1", "kind": "gas_meter", "sensors": ["lel", "oxygen"],
            "lel_basis": "methane", "correction_factors": {"pentane": 2.0},
            "last_bump_test": moment(-60), "calibration_due": "2026-06-01",
        }
    ],
    suspects=["ammonia"],
    background_dose_rate=quantity(0.01, "mrem/h"),
)  # fmt: skip
FULL["incident"]["weather"]["wind_speed"] = quantity(3, "m/s")
FULL["incident"]["weather"]["wind_from_degrees"] = 225


def test_the_document_they_are_made_from_is_valid():
    assert pointers(json.dumps(FULL).encode()) == []


SETUP = [
    ("/format", "something-else"),
    ("/format", REMOVED),
    ("/version", 2),
    ("/version", REMOVED),
    ("/incident", REMOVED),
    ("/teams", REMOVED),
    ("/teams", "entry-1"),
    ("/log", REMOVED),
    ("/log", {}),
    ("/colour", "red"),
    ("/incident/colour", "red"),
    ("/incident/name", REMOVED),
    ("/incident/name", 7),
    ("/incident/mission", "party"),
    ("/incident/mission", REMOVED),
    ("/incident/weather/colour", "red"),
    ("/incident/weather/relative_humidity_percent", 100.1),
    ("/incident/weather/relative_humidity_percent", -1),
    ("/incident/weather/relative_humidity_percent", "45"),
    ("/incident/weather/relative_humidity_percent", True),
    ("/incident/weather/wind_from_degrees", 361),
    ("/incident/weather/wind_speed/value", -1),
    ("/incident/weather/wind_speed/unit", "kg"),
    ("/incident/weather/air_temperature/unit", "m"),
    ("/incident/weather/air_temperature/unit", "no such unit"),
    ("/incident/weather/air_temperature/unit", REMOVED),
    ("/incident/weather/air_temperature/value", REMOVED),
    ("/incident/weather/air_temperature/value", "20"),
    ("/incident/weather/air_temperature/value", None),
    ("/incident/background_dose_rate/unit", "rem"),
    ("/incident/background_dose_rate/value", -1),
    ("/profile/limits/no_such_limit", 3),
    ("/profile/limits/acid_stop_ph", "four"),
    ("/profile/colour", "red"),
    ("/teams/0/id", REMOVED),
    ("/teams/0/role", "chief"),
    ("/teams/0/ensemble", "level_e"),
    ("/teams/0/ensemble", REMOVED),
    ("/teams/0/colour", "red"),
    ("/teams/1/id", "entry-1"),
    ("/teams/0/members/1/id", "a"),
    ("/teams/0/members/0/cylinder/rated_pressure/unit", "L"),
    ("/teams/0/members/0/cylinder/rated_pressure", REMOVED),
    ("/instruments/0/id", REMOVED),
    ("/instruments/0/kind", REMOVED),
    ("/instruments/0/colour", "red"),
    ("/instruments/0/last_bump_test", "yesterday"),
    ("/instruments/0/calibration_due", "2026-13-01"),
    ("/instruments/0/correction_factors/pentane", "two"),
    ("/suspects/0", 7),
    ("/log/0/id", REMOVED),
    ("/log/0/at", REMOVED),
    ("/log/0/at", "2026-03-04T14:02:00"),
    ("/log/0/at", "soon"),
    ("/log/0/at", 5),
    ("/log/0/team", "entry-9"),
    ("/log/0/team", REMOVED),
    ("/log/0/kind", "litmus"),
    ("/log/0/kind", REMOVED),
    ("/log/0/colour", "red"),
    ("/log/0/place", 7),
    ("/log/0/a~b", "tilde"),
]


@pytest.mark.parametrize(
    ("pointer", "value"), SETUP, ids=[f"{p} {str(v)[:20]}" for p, v in SETUP]
)
def test_a_mistake_in_the_setup_is_named_by_its_place(pointer, value):
    found = pointers(json.dumps(changed(FULL, pointer, value)).encode())

    expected = "/log/0/a~0b" if pointer == "/log/0/a~b" else pointer
    unit = expected.endswith("/unit") and value is not REMOVED
    assert expected in found or (unit and expected.removesuffix("/unit") in found)


def test_a_key_with_a_slash_is_escaped():
    document = deepcopy(FULL)
    document["log"][0]["a/b~c"] = 1

    assert pointers(json.dumps(document).encode()) == ["/log/0/a~1b~0c"]


# one entry with one mistake, and the pointer under the entry
ENTRIES = [
    (ph(0, 14.1), "ph"),
    (ph(0, -0.1), "ph"),
    (ph(0), "ph"),
    (ph(0, ph="2"), "ph"),
    (ph(0, ph=True), "ph"),
    (ph(0, band="pink"), "band"),
    (ph(0, 7, sample="solid"), "sample"),
    (ph(0, 7, sample=None), "sample"),
    (ph(0, 7, moistened="yes"), "moistened"),
    (ph(0, 7, carried_on="stick"), "carried_on"),
    (ph(0, 7, bleached=True), "ph"),
    (ki(0, "pink"), "result"),
    (entry("ki_starch_paper", 0, sample="liquid"), "result"),
    (fluoride(0, "blue_black"), "result"),
    (meter(0, -1, 20.9), "lel_percent"),
    (meter(0, 0, 100.1), "oxygen_percent"),
    (meter(0, 0, -1), "oxygen_percent"),
    (meter(0, co_ppm=-1), "co_ppm"),
    (meter(0, co_ppm="12"), "co_ppm"),
    (meter(0, gases={"ammonia": -1}), "gases/ammonia"),
    (meter(0, gases={"ammonia": None}), "gases/ammonia"),
    (meter(0, over_range=["smell"]), "over_range/0"),
    (meter(0, 0, 20.9, height="knee"), "height"),
    (imager(0, 70, target="truck"), "target"),
    (imager(0, 70, unit="psi"), "surface"),
    (imager(0, -500), "surface"),
    (sign(0, "a bad feeling"), "what"),
    (rate(0, 1, "rem"), "dose_rate"),
    (rate(0, -1), "dose_rate"),
    (dose(0, 1, "rem/h"), "dose"),
    (dose(0, -1), "dose"),
    (dose(0, 1, member="z"), "member"),
    (entry("dosimeter", 0, alarm="loud"), "alarm"),
    (air(0, 4000, member="z"), "member"),
    (air(0, 4000, member=None), "member"),
    (air(0, 40, "L"), "pressure"),
    (air(0, -1), "pressure"),
    (par(0, unanswered=["z"]), "unanswered/0"),
    (change(0, "level_e"), "ensemble"),
    (enter(0, method="door"), "method"),
    (entry("acknowledge", 0, entry="nothing", by="x"), "entry"),
    (entry("bump_test", 0, instrument="meter-1"), "passed"),
    (entry("bump_test", 0, passed=True), "instrument"),
    (strike(0, "nothing"), "entry"),
    (entry("strike", 0, entry="e01", by="x"), "reason"),
    (entry("strike", 0, entry="e01", reason="x"), "by"),
    (clear(0, "bad_luck"), "hazard"),
    (entry("clear", 0, hazard="acid_vapour", by="x"), "reason"),
    (entry("clear", 0, hazard="acid_vapour", reason="x"), "by"),
]


@pytest.mark.parametrize(
    ("line", "field"), ENTRIES, ids=[f"{e['kind']} {f} {n}" for n, (e, f) in
                                     enumerate(ENTRIES)]
)  # fmt: skip
def test_a_mistake_in_an_entry_is_named_by_its_place(line, field):
    document = changed(FULL, "/log/0", FULL["log"][0])
    document["log"].append({"id": "e02", **line})
    found = pointers(json.dumps(document).encode())

    pointer = f"/log/1/{field}"
    assert any(p == pointer or p.startswith(pointer + "/") for p in found)
    assert all(p.startswith("/log/1") for p in found)


def test_a_duplicate_id_is_an_error_at_the_second():
    document = worksheet(ph(0, 7, id="x"), ph(1, 7, id="x"))

    assert pointers(json.dumps(document).encode()) == ["/log/1/id"]


@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity"])
@pytest.mark.parametrize(
    ("document", "pointer"),
    [
        (worksheet(ph(0, 12345)), "/log/0/ph"),
        (worksheet(meter(0, 12345, 20.9)), "/log/0/lel_percent"),
        (worksheet(ph(0, 7), humidity=12345),
         "/incident/weather/relative_humidity_percent"),
    ],
)  # fmt: skip
def test_what_is_no_number_is_refused_at_its_place(document, pointer, number):
    data = json.dumps(document).replace("12345", number).encode()

    assert pointers(data) == [pointer]


def test_all_errors_are_reported_with_value_and_expectation():
    document = worksheet(ph(0, 15), meter(1, -3, 120), teams=[team(ensemble="level_e")])
    document["colour"] = "red"
    with pytest.raises(WorksheetErrors) as caught:
        parse_worksheet(load_json(json.dumps(document).encode()))

    errors = {error.pointer: error for error in caught.value.errors}
    assert set(errors) == {
        "/colour", "/teams/0/ensemble", "/log/0/ph", "/log/1/lel_percent",
        "/log/1/oxygen_percent",
    }  # fmt: skip
    assert "15" in errors["/log/0/ph"].value
    assert "14" in errors["/log/0/ph"].expected
    assert "level_e" in errors["/teams/0/ensemble"].value
    assert "level_a" in errors["/teams/0/ensemble"].expected


@pytest.mark.parametrize(
    "data",
    [
        pytest.param(b"", id="nothing"),
        pytest.param(b"{", id="cut off"),
        pytest.param(b"[]", id="a list"),
        pytest.param(b"null", id="null"),
        pytest.param(b'{"format": "\xff"}', id="not UTF-8"),
        pytest.param(b'{"version": 1, "version": 1}', id="a key twice"),
        pytest.param(b"[" * 5000 + b"]" * 5000, id="nested without end"),
        pytest.param(b'{"version": 1e999999999}', id="a number without end"),
    ],
)
def test_what_is_no_worksheet_at_all_is_refused(data):
    with pytest.raises(WorksheetErrors):
        parse_worksheet(load_json(data))


# --- the command ---------------------------------------------------------------------


def command(*arguments, data=b""):
    return subprocess.run(
        [sys.executable, "-m", "screening", *arguments],
        input=data, capture_output=True, cwd=ROOT, check=False, timeout=60,
    )  # fmt: skip


def test_the_command_gives_one_line_per_error_and_nothing_else():
    document = worksheet(ph(0, 15), ph(1, 7, team="nobody"))
    document["incident"]["weather"]["relative_humidity_percent"] = 140
    done = command("-", data=json.dumps(document).encode())

    lines = done.stderr.decode().splitlines()
    assert done.returncode == 2
    assert done.stdout == b""
    assert len(lines) == 3
    for pointer, value in [
        ("/log/0/ph", "15"),
        ("/log/1/team", "nobody"),
        ("/incident/weather/relative_humidity_percent", "140"),
    ]:
        assert any(pointer in line and value in line for line in lines)


@pytest.mark.parametrize("data", [b"", b"{", b'{"format": "\xff"}'])
def test_the_command_refuses_what_is_no_document(data):
    done = command("-", data=data)

    assert done.returncode == 2
    assert done.stdout == b""
    assert len(done.stderr.decode().splitlines()) == 1


def test_a_line_break_in_a_value_does_not_break_the_line():
    document = worksheet(ph(0, 7, team="no\nbody\u2028here"))
    done = command("-", data=json.dumps(document).encode())

    assert done.returncode == 2
    assert done.stdout == b""
    assert len(done.stderr.decode().splitlines()) == 1


def test_a_mistake_in_the_profile_file_is_an_error_too(tmp_path):
    profile = tmp_path / "profile.json"
    profile.write_text(
        json.dumps({"name": "x", "version": "1", "limits": {"no_such": 1}})
    )
    done = command(
        "-", "--profile", str(profile), data=json.dumps(worksheet(ph(0, 7))).encode()
    )

    assert done.returncode == 2
    assert done.stdout == b""
    assert b"no_such" in done.stderr
