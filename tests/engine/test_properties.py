"""What must hold for every worksheet, whatever is in it."""

import contextlib
import io
import json
import random
import re
import runpy
import subprocess
import sys
from datetime import datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from screening.assess import assess
from screening.state import initial_state, step
from screening.worksheet import load_json, parse_worksheet
from tests.engine import strategies as worksheets_of
from tests.engine.documents import (
    ACTIONS,
    as_bytes,
    clear,
    enter,
    judge,
    milder_or_equal,
    moment,
    quantity,
    team,
    worksheet,
)
from tests.engine.strategies import PLACES, TEAMS, worksheets

careful = settings(
    max_examples=40,
    deadline=None,
    database=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
END = 45.0  # minutes: after the last entry that is ever generated


@careful
@given(worksheets(), st.randoms(use_true_random=False))
def test_the_order_of_the_document_does_not_matter(document, shuffle):
    shuffled = {**document, "log": list(document["log"])}
    shuffle.shuffle(shuffled["log"])

    assert judge(shuffled, END).result == judge(document, END).result


@careful
@given(worksheets(), st.randoms(use_true_random=False))
def test_the_order_of_arrival_does_not_matter(document, shuffle):
    sheet = parse_worksheet(load_json(as_bytes(document)))
    arrivals = list(sheet.log)
    shuffle.shuffle(arrivals)

    state = initial_state(sheet.context)
    for line in arrivals:
        state, _ = step(state, line, sheet.context)

    when = datetime.fromisoformat(moment(END))
    in_order = initial_state(sheet.context)
    for line in sheet.log:
        in_order, _ = step(in_order, line, sheet.context)
    assert assess(state, sheet.context, when) == assess(in_order, sheet.context, when)
    actions = {t.id: t.action.word for t in assess(state, sheet.context, when).teams}
    whole = judge(document, END)
    assert actions == {id: whole.action(id) for id in TEAMS}


def test_a_step_leaves_the_state_it_was_given_alone():
    sheet = parse_worksheet(load_json(as_bytes(worksheet(enter(0), enter(5)))))
    start = initial_state(sheet.context)
    when = datetime.fromisoformat(moment(END))
    before = assess(start, sheet.context, when)

    one, _ = step(start, sheet.log[0], sheet.context)
    step(one, sheet.log[1], sheet.context)
    again, _ = step(start, sheet.log[0], sheet.context)

    assert assess(start, sheet.context, when) == before
    assert assess(one, sheet.context, when) == assess(again, sheet.context, when)


@careful
@given(worksheets())
def test_a_document_survives_a_round_trip(document):
    once = load_json(as_bytes(document))
    text = json.dumps(once, default=_number, indent=3, sort_keys=True)

    assert judge(json.loads(text), END).result == judge(document, END).result


def _number(value):
    """A Decimal as the JSON number that it was read from."""
    return int(value) if value == int(value) else float(value)


@careful
@given(worksheets())
def test_the_verdict_after_an_entry_does_not_depend_on_later_ones(document):
    log = sorted(
        document["log"], key=lambda e: (datetime.fromisoformat(e["at"]), e["id"])
    )
    whole = judge(document).result["entries"]
    names = {line["id"] for line in log}

    for n, line in enumerate(log, start=1):
        known = {e["id"] for e in log[:n]}
        if any(e.get("entry") in names - known for e in log[:n]):
            continue  # names an entry that is still to come
        short = judge({**document, "log": log[:n]}).result["entries"]
        assert short[-1]["id"] == line["id"]
        assert short[-1]["standing"] == whole[n - 1]["standing"]


# Each limit with a stricter value than its default (section 7).
STRICTER = {
    "acid_caution_ph": 6.5, "acid_stop_ph": 5, "base_caution_ph": 7.5,
    "base_stop_ph": 8.5, "dry_air_percent": 50, "lel_caution_percent": 0.5,
    "lel_withdraw_percent": 5, "oxygen_enriched_percent": 22,
    "oxygen_deficient_percent": 20, "oxygen_min_for_lel": 20.5, "oxygen_drop": 0.3,
    "voc_caution_ppm": 0.5, "first_look": quantity(1, "min"),
    "thermal_margin": quantity(5, "delta_degF"),
    "thermal_rise": quantity(2, "delta_degF"),
    "thermal_steady_time": quantity(20, "min"),
    "dose_turn_back_other": quantity(1, "rem"),
    "dose_turn_back_product_control": quantity(5, "rem"),
    "dose_turn_back_rescue": quantity(12, "rem"),
    "dose_rate_background": quantity(0.05, "mrem/h"),
    "dose_rate_hot_line": quantity(1, "mrem/h"),
    "dose_rate_turn_back": quantity(1, "rem/h"), "exit_time": quantity(20, "min"),
    "low_air_fraction": 0.5, "co_ceiling_ppm": 40, "h2s_ceiling_ppm": 5,
    "co_idlh_ppm": 200, "h2s_idlh_ppm": 10, "paper_age": quantity(1, "min"),
    "meter_age": quantity(1, "min"), "thermal_age": quantity(1, "min"),
    "dosimeter_age": quantity(1, "min"), "par_interval": quantity(5, "min"),
}  # fmt: skip


@careful
@given(worksheets(max_size=8))
def test_a_stricter_limit_never_gives_a_milder_action(document):
    loose = judge(document, END)
    for key, limit in STRICTER.items():
        profile = {**document["profile"], "limits": {key: limit}}
        strict = judge({**document, "profile": profile}, END)
        for id in TEAMS:
            assert milder_or_equal(loose.action(id), strict.action(id)), key


@careful
@given(
    worksheets(worksheets_of.only_looking),
    worksheets_of.readings,
    st.sampled_from(TEAMS),
)
def test_no_reading_lifts_a_stop_or_a_withdraw(document, reading, reader):
    before = judge(document, END)
    log = document["log"]
    placed = [
        line for line in log
        if line.get("team") == reader
        and line["kind"] not in ("exit", "par", "ventilate")
    ]  # fmt: skip
    assume(placed)
    last = max(placed, key=lambda e: (datetime.fromisoformat(e["at"]), e["id"]))
    extra = {
        **reading, "id": "e99", "at": moment(END), "team": reader,
        "place": last["place"],
    }  # fmt: skip
    after = judge({**document, "log": [*log, extra]}, END)

    for id in TEAMS:
        for hazard in worksheets_of.HAZARDS:
            stay_time = hazard == "gamma_radiation" and "dose_rate" in extra
            standing = before.on(hazard, id)
            if standing in ("stop", "withdraw") and not stay_time:
                assert milder_or_equal(standing, after.on(hazard, id)), hazard


@careful
@given(worksheets(worksheets_of.only_looking))
def test_no_clear_lifts_a_withdraw_from_a_team_that_is_still_in(document):
    before = judge(document, END)
    withdrawn = {
        (finding["hazard"], finding["place"], id)
        for id in TEAMS
        for finding in before.team(id)["findings"]
        if finding["action"] == "withdraw" and _inside(document, id)
    }
    for hazard, place, id in sorted(withdrawn):
        decision = {**clear(END, hazard, place=place), "id": "e99"}
        after = judge({**document, "log": [*document["log"], decision]}, END)
        assert after.on(hazard, id) == "withdraw"


def _inside(document, id):
    """Section 4: from `enter`, or from the first reading without one, until `exit`."""
    log = [line for line in document["log"] if line.get("team") == id]
    inside = left = False
    for line in sorted(log, key=lambda e: (datetime.fromisoformat(e["at"]), e["id"])):
        if line["kind"] == "exit":
            inside, left = False, True
        elif line["kind"] == "enter" or (line["kind"] != "par" and not left):
            inside = True  # what is no movement here is a reading
    return inside


@careful
@given(
    st.lists(worksheets_of.blind, min_size=1, max_size=12),
    st.sampled_from(PLACES),
    st.integers(0, 90),
)
def test_no_sequence_of_blind_looks_rules_anything_out(log, place, minute):
    document = worksheet(
        *log,
        enter(minute / 2, place=place),
        teams=[team(id) for id in TEAMS],
        humidity=10,
        instruments=[
            {
                "id": "meter-2", "kind": "gas_meter", "sensors": ["lel", "oxygen"],
                "last_bump_test": worksheets_of.YESTERDAY,
                "calibration_due": "2026-06-01",
            }
        ],
    )  # fmt: skip
    for at in (minute / 2, END):
        for id in TEAMS:
            for row in judge(document, at).team(id)["coverage"]:
                if not row["hazard"].startswith("oxygen"):
                    assert row["status"] not in ("not_found", "out_of_date"), row


@careful
@given(
    worksheets(worksheets_of.only_looking), worksheets_of.lel_readings, st.booleans()
)
def test_more_flammable_gas_is_never_judged_milder(document, reading, much):
    log = [*document["log"], {**reading, "id": "e98"}]
    line = log[-1]
    document = {**document, "log": log}
    less = judge(document, END)
    higher = min(100, line["lel_percent"] + (40 if much else 4))
    raised = {**line, "lel_percent": higher}
    more = judge({**document, "log": [*log[:-1], raised]}, END)

    for id in TEAMS:
        assert milder_or_equal(less.action(id), more.action(id))


@careful
@given(worksheets())
@pytest.mark.parametrize(
    ("better", "worse"),
    [
        ("level_a", "level_b"), ("level_a", "turnout_scba"), ("level_a", "level_c"),
        ("level_b", "level_d"), ("level_c", "level_d"),
    ],
)  # fmt: skip
def test_what_protects_more_is_never_judged_stricter(better, worse, document):
    log = [line for line in document["log"] if line["kind"] != "change_ensemble"]
    while orphans := {
        line["id"] for line in log
        if line.get("entry", line["id"]) not in {e["id"] for e in log}
    }:  # fmt: skip
        log = [line for line in log if line["id"] not in orphans]
    assume(log)

    def dressed(ensemble):
        teams = [{**t, "ensemble": ensemble} for t in document["teams"]]
        return judge({**document, "teams": teams, "log": log}, END)

    kept, lost = dressed(better), dressed(worse)
    for id in TEAMS:
        assert milder_or_equal(kept.action(id), lost.action(id))


# --- any worksheet at all ------------------------------------------------------------


@careful
@given(worksheets(max_size=20), st.integers(-30, 120))
def test_any_worksheet_gives_a_whole_result(document, minute):
    result = json.loads(json.dumps(judge(document, minute).result, default=float))

    assert not re.search(r"\b(safe|all clear)\b", json.dumps(result).lower())
    assert [t["id"] for t in result["teams"]] == list(TEAMS)
    for seen in result["teams"]:
        actions = [f["action"] for f in seen["findings"]] or ["continue"]
        assert seen["action"] == max(actions, key=ACTIONS.index)
        for finding in seen["findings"]:
            assert finding["team"] == seen["id"]
            assert finding["because"]
            assert finding["source"]


@careful
@given(worksheets(max_size=20))
def test_the_last_standing_is_the_teams_verdict_at_that_time(document):
    seen = judge(document)  # at the last entry's time

    last = seen.result["entries"][-1]
    assert last["standing"] == {id: seen.action(id) for id in TEAMS}


@careful
@given(worksheets(max_size=20))
def test_the_command_takes_any_worksheet(document):
    assert json.loads(_printed(document)) == json.loads(
        json.dumps(judge(document).result, default=float)
    )


def _printed(document):
    """What the command prints, run in this process: starting one takes a second."""

    out, held = io.StringIO(), (sys.argv, sys.stdin)
    sys.argv, sys.stdin = (
        ["screening", "-"],
        io.TextIOWrapper(io.BytesIO(as_bytes(document)), encoding="utf-8"),
    )
    try:
        with contextlib.redirect_stdout(out), pytest.raises(SystemExit) as left:
            runpy.run_module("screening", run_name="__main__", alter_sys=False)
    finally:
        sys.argv, sys.stdin = held
    assert left.value.code in (0, None)
    return out.getvalue()


def test_the_command_itself_takes_a_random_worksheet():
    chance = random.Random(20260304)
    log = [enter(chance.randrange(40), place=chance.choice(PLACES)) for _ in range(300)]
    done = subprocess.run(
        [sys.executable, "-m", "screening", "-"], input=as_bytes(worksheet(*log)),
        capture_output=True, cwd=Path(__file__).parents[2], check=False, timeout=60,
    )  # fmt: skip

    assert done.returncode == 0, done.stderr
    assert len(json.loads(done.stdout)["entries"]) == 300
