"""What a script may hold; every error with its place, and a past incident in disguise."""

import copy
import json
from pathlib import Path

import pytest

from review.disguise import BEGINS, Disguise, disguised, places_of
from review.scoring import verdicts
from review.scripts import read_script
from screening.worksheet import WorksheetErrors, load_json, parse_worksheet
from tests.drills import SCRIPT, script_with

FIXTURES = Path(__file__).resolve().parent.parent.parent / "demo_fixtures"
AS_WHAT = Disguise(
    name="Store in another town", place="Nowhere", goals=("Look before you go.",)
)


def read(document):
    return read_script(load_json(json.dumps(document).encode()))


def errors_of(document):
    with pytest.raises(WorksheetErrors) as errors:
        read(document)
    return [error.pointer for error in errors.value.errors]


def store():
    return load_json((FIXTURES / "pool_supply_store.json").read_bytes())


def test_left_out_every_reading_is_decided_on_and_everybody_sees_everything():
    script = read(SCRIPT)
    assert script.asks == {"d3", "d4", "d5"}
    assert script.seen_by("d3", "medical")
    assert script.length.total_seconds() == 180


def test_who_sees_what_is_as_it_is_said():
    script = read(script_with(sees={"d4": ["technician"]}, asks=["d4", "d5"]))
    assert script.asks == {"d4", "d5"}
    assert script.seen_by("d4", "technician")
    assert not script.seen_by("d4", "commander")
    assert script.seen_by("d5", "commander")


@pytest.mark.parametrize(
    ("drill", "pointer"),
    [
        ({"goals": []}, "/drill/goals"),
        ({"goals": "one"}, "/drill/goals"),
        ({"goals": ["fine", " "]}, "/drill/goals/1"),
        ({"goals": ["fine", 3]}, "/drill/goals/1"),
        ({"goals": ["x" * 1_001]}, "/drill/goals/0"),
        ({"briefing": 4}, "/drill/briefing"),
        ({"place": ""}, "/drill/place"),
        ({"names": ["a"]}, "/drill/names"),
        ({"names": {"entry-1/a": ""}}, "/drill/names/entry-1~1a"),
        ({"asks": ["d3", "zz"]}, "/drill/asks/1"),
        ({"asks": "d3"}, "/drill/asks"),
        ({"asks": []}, "/drill/asks"),
        ({"sees": {"zz": ["technician"]}}, "/drill/sees/zz"),
        ({"sees": {"d3": []}}, "/drill/sees/d3"),
        ({"sees": {"d3": ["viewer"]}}, "/drill/sees/d3"),
        ({"sees": []}, "/drill/sees"),
        ({"more": 1}, "/drill/more"),
    ],
)
def test_each_error_has_its_place(drill, pointer):
    assert errors_of(script_with(**drill)) == [pointer]


def test_errors_of_worksheet_and_drill_come_together():
    document = script_with(goals=[])
    document["log"][3]["ph"] = 15
    document["log"][4]["team"] = "entry-9"
    assert set(errors_of(document)) == {"/drill/goals", "/log/3/ph", "/log/4/team"}


@pytest.mark.parametrize(
    "document",
    [
        {key: value for key, value in SCRIPT.items() if key != "drill"},
        SCRIPT | {"drill": True},
        SCRIPT | {"drill": []},
    ],
)
def test_a_script_has_its_drill(document):
    assert errors_of(document) == ["/drill"]


@pytest.mark.parametrize("document", [[], "script", 3, None])
def test_a_script_is_an_object(document):
    assert errors_of(document) == [""]


def test_a_script_without_an_entry_or_of_days_is_none():
    assert errors_of(SCRIPT | {"log": []})[0] == "/log"
    document = copy.deepcopy(SCRIPT)
    document["log"][-1]["at"] = "2026-03-05T09:03:00-05:00"
    assert errors_of(document) == ["/log"]


def test_a_script_is_a_worksheet_that_the_engine_reads_as_it_is():
    worksheet = parse_worksheet(load_json(json.dumps(SCRIPT).encode()))
    assert worksheet == read(SCRIPT).worksheet


# --- A past incident in disguise ------------------------------------------------------------


def test_the_engine_says_the_same_to_a_disguised_incident():
    before = parse_worksheet(store())
    after = read_script(disguised(store(), AS_WHAT)).worksheet

    said = [
        [
            (one.action, one.open, one.ensemble)
            for one in verdicts(s.context, s.log).values()
        ]
        for s in (before, after)
    ]

    assert said[0] == said[1]
    assert len(said[0]) > 20


def test_nothing_that_people_wrote_is_left():
    document = store()
    document["teams"][0]["members"][0]["id"] = "walter"
    for entry in document["log"]:
        if entry.get("member") == "a" and entry.get("team") == "entry-1":
            entry["member"] = "walter"
        entry["note"] = "as Walter Quist said in Larkmere Row"
    text = json.dumps(disguised(document, AS_WHAT), default=str).casefold()
    for word in ("walter", "quist", "larkmere", "example county", "meter-1", "2026-"):
        assert word not in text


def test_the_seconds_between_and_the_time_of_day_stay():
    before, after = parse_worksheet(store()).log, disguised(store(), AS_WHAT)["log"]
    moved = read_script(disguised(store(), AS_WHAT)).worksheet.log
    assert after[0]["at"].startswith(BEGINS.isoformat())
    assert [b.at.time() for b in before] == [a.at.time() for a in moved]
    assert [b.at - before[0].at for b in before] == [a.at - moved[0].at for a in moved]


def test_given_names_are_used_and_the_others_invented():
    places = places_of(store())
    given = Disguise(
        name="Store",
        place="Nowhere",
        goals=("Look.",),
        places={places[0]: "ramp"},
        people={"entry-1/a": "P. Ersatz"},
    )
    script = read_script(disguised(store(), given))
    assert script.names["team-1/m1"] == "P. Ersatz"
    assert script.names["team-1/m2"]
    found = {entry.place for entry in script.worksheet.log}
    assert "ramp" in found
    assert not found & set(places)
