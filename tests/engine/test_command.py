"""Section 5: `python -m screening`, its arguments and what it prints."""

import json
import subprocess
import sys
from datetime import datetime
from pathlib import Path

import pytest

from tests.engine.documents import (
    as_bytes,
    clear,
    enter,
    judge,
    meter,
    moment,
    ph,
    quantity,
    team,
    worksheet,
)

ROOT = Path(__file__).parents[2]
DOCUMENT = worksheet(
    ph(3, 7, id="third"),
    enter(0, id="first"),
    ph(1, 2, id="second", carried_on="hook"),
    teams=[team(), team("backup", role="backup")],
)


def command(*arguments, data=b""):
    done = subprocess.run(
        [sys.executable, "-m", "screening", *arguments],
        input=data, capture_output=True, cwd=ROOT, check=False, timeout=60,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


@pytest.fixture(scope="module")
def printed(tmp_path_factory):
    path = tmp_path_factory.mktemp("command") / "worksheet.json"
    path.write_bytes(as_bytes(DOCUMENT))
    return command(str(path))


def test_the_keys_of_the_result(printed):
    assert printed["format"] == "hazmat-screening-result"
    assert printed["version"] == 1
    assert printed["profile"]["name"] == "Example County SOP"
    assert printed["profile"]["version"] == "3"
    assert printed["caution"] == (
        "Supports decisions; local SOPs and the incident commander govern."
    )
    assert set(printed) >= {"at", "entries", "teams"}


def test_the_keys_of_an_entry_and_its_findings(printed):
    second = printed["entries"][1]
    finding = next(f for f in second["findings"] if f["hazard"] == "acid_vapour")

    assert set(second) >= {"id", "findings", "standing"}
    assert set(finding) >= {
        "rule", "hazard", "team", "place", "action", "because", "advice", "source",
    }  # fmt: skip
    assert finding["team"] == "entry-1"
    assert finding["place"] == "tank room"
    assert finding["action"] == "stop"
    assert "pH 2" in finding["because"]
    assert isinstance(finding["advice"], list)
    assert finding["advice"]
    assert finding["source"]


def test_the_keys_of_a_team(printed):
    entry_1, backup = printed["teams"]

    assert (entry_1["id"], backup["id"]) == ("entry-1", "backup")
    for seen in (entry_1, backup):
        assert set(seen) >= {"id", "action", "findings", "coverage", "clocks"}
        for row in seen["coverage"]:
            assert set(row) >= {"hazard", "status", "because", "next_check"}


def test_entries_come_in_order_of_time_with_every_teams_verdict(printed):
    assert [e["id"] for e in printed["entries"]] == ["first", "second", "third"]
    for line in printed["entries"]:
        assert set(line["standing"]) == {"entry-1", "backup"}


def test_without_a_time_the_last_entry_is_judged(printed):
    assert datetime.fromisoformat(printed["at"]) == datetime.fromisoformat(moment(3))


def test_the_command_prints_what_the_function_gives(printed):
    given = judge(DOCUMENT).result

    assert json.loads(json.dumps(given, default=float)) == printed


def test_a_dash_reads_standard_input(printed):
    assert command("-", data=as_bytes(DOCUMENT)) == printed


def test_the_time_to_judge_at():
    later = command("-", "--at", moment(30), data=as_bytes(DOCUMENT))

    assert datetime.fromisoformat(later["at"]) == datetime.fromisoformat(moment(30))
    entry_1 = later["teams"][0]
    assert "accountability" in {f["hazard"] for f in entry_1["findings"]}


def test_a_time_in_another_zone_is_the_same_moment():
    here = judge(DOCUMENT, 30).result
    there = command("-", "--at", "2026-03-04T19:30:00Z", data=as_bytes(DOCUMENT))

    assert there["teams"][0]["action"] == here["teams"][0]["action"]
    assert there["entries"] == json.loads(json.dumps(here["entries"], default=float))


def test_entries_are_ordered_by_the_moment_not_by_its_spelling():
    early = {**ph(0, 7, id="early"), "at": "2026-03-04T20:00:00+01:00"}  # 14:00 -05:00
    middle = ph(1, 7, id="middle")
    late = {**ph(0, 7, id="late"), "at": "2026-03-04T19:02:00Z"}
    seen = judge(worksheet(late, middle, early), 5)

    assert [e["id"] for e in seen.result["entries"]] == ["early", "middle", "late"]


@pytest.mark.parametrize(
    ("clear_id", "action"),
    [
        pytest.param("c", "continue", id="the clear after the quiet reading"),
        pytest.param("a2", "stop", id="the clear before it"),
    ],
)
def test_at_one_moment_entries_are_ordered_by_id(clear_id, action):
    log = [
        ph(0, 2, id="a"), ph(1, 7, id="b"), clear(1, "acid_vapour", id=clear_id),
    ]  # fmt: skip

    assert judge(worksheet(*log)).action() == action


def test_entries_after_the_time_to_judge_at_are_not_known_yet():
    seen = judge(DOCUMENT, 0.5)

    assert [e["id"] for e in seen.result["entries"]] == ["first"]
    assert seen.action() == "continue"


def test_another_profile_takes_the_place_of_the_documents(tmp_path):
    path = tmp_path / "profile.json"
    path.write_text(
        json.dumps(
            {"name": "Far County", "version": "9", "limits": {"acid_stop_ph": 1}}
        )
    )
    seen = command("-", "--profile", str(path), data=as_bytes(DOCUMENT))

    assert seen["profile"]["name"] == "Far County"
    assert seen["profile"]["version"] == "9"
    assert seen["entries"][1]["standing"]["entry-1"] == "caution"


@pytest.mark.parametrize(
    "arguments",
    [
        pytest.param(["-", "--at", "noon"], id="no time"),
        pytest.param(["-", "--at", "2026-03-04T14:00:00"], id="no offset"),
        pytest.param(["no-such-file.json"], id="no file"),
        pytest.param(["-", "--profile", "no-such-file.json"], id="no profile"),
    ],
)
def test_a_mistake_in_the_arguments_prints_no_result(arguments):
    done = subprocess.run(
        [sys.executable, "-m", "screening", *arguments],
        input=as_bytes(DOCUMENT), capture_output=True, cwd=ROOT, check=False,
        timeout=60,
    )  # fmt: skip

    assert done.returncode != 0
    assert done.stdout == b""
    assert done.stderr
    assert b"Traceback" not in done.stderr


# --- profile -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "looser", "stricter"),
    [
        pytest.param("lel_withdraw_percent", 25, 5, id="29 CFR 1910.146(b): 10"),
        pytest.param("oxygen_deficient_percent", 18, 20, id="29 CFR 1910.146(b): 19.5"),
        pytest.param("oxygen_enriched_percent", 25, 23, id="29 CFR 1910.146(b): 23.5"),
        pytest.param("co_ceiling_ppm", 400, 100, id="NIOSH: C 200"),
        pytest.param("h2s_idlh_ppm", 200, 50, id="NIOSH: IDLH 100"),
        pytest.param(
            "dose_turn_back_rescue", quantity(50, "rem"), quantity(10, "rem"),
            id="EPA-400: 25 rem",
        ),
        pytest.param("low_air_fraction", 0.25, 0.4, id="NFPA 1981: 0.33"),
    ],
)  # fmt: skip
def test_a_limit_looser_than_its_source_is_said_in_plain_words(key, looser, stricter):
    def sentences(limit):
        limits = {} if limit is None else {key: limit}
        seen = judge(worksheet(meter(0, 0, 20.9), limits=limits))
        return set(seen.sentences())

    plain = sentences(None)
    assert sentences(looser) - plain
    assert not any("looser" in s for s in sentences(stricter) - plain)


def test_the_published_table_can_be_had_as_a_profile():
    """WE-10, four-agency guidance manual 1985: withdraw over 25 % of the LEL."""
    limits = {"lel_caution_percent": 10, "lel_withdraw_percent": 25.1}

    for lel, action in [
        (9.9, "continue"), (10, "caution"), (25, "caution"), (25.1, "withdraw"),
    ]:  # fmt: skip
        seen = judge(worksheet(meter(0, lel, 20.9), limits=limits))
        assert seen.action() == action
