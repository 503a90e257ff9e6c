"""The same log gives the same result, byte for byte, in every process and however asked.

Row 49 of the job: same inputs, same verdict.
"""

import json
import os
import subprocess
import sys
from dataclasses import replace

import pytest

from bench.worksheets import worksheet as long_worksheet
from incidents.documents import dumps
from screening.assess import assess
from screening.judgement import standing_for
from screening.state import initial_state, step
from screening.worksheet import load_json, parse_worksheet
from tests.engine.documents import (
    as_bytes,
    enter,
    judge,
    member,
    meter,
    ph,
    team,
    worksheet,
)

CREWS = [team(f"entry-{n}", members=[member()]) for n in range(1, 7)]
LOG = [
    *(enter(0, team=f"entry-{n}") for n in range(1, 7)),
    meter(1, 12, 20.9),
    ph(2, 2, team="entry-4"),
]


def test_no_order_depends_on_how_a_process_hashes(tmp_path):
    path = tmp_path / "worksheet.json"
    path.write_bytes(as_bytes(worksheet(*LOG, teams=CREWS)))
    printed = {
        subprocess.run(
            [sys.executable, "-m", "screening", str(path)],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
            timeout=120,
        ).stdout
        for seed in ("1", "2", "3", "4")
    }

    assert len(printed) == 1
    assert json.loads(printed.pop())["teams"][0]["action"] == "withdraw"


def test_findings_come_for_the_own_team_first_and_then_as_set_up():
    teams = [
        f["team"] for f in judge(worksheet(*LOG, teams=CREWS)).entry("e08")["findings"]
    ]

    assert list(dict.fromkeys(teams)) == [
        "entry-4", "entry-1", "entry-2", "entry-3", "entry-5", "entry-6",
    ]  # fmt: skip


@pytest.mark.parametrize("entries", [400])
def test_what_was_asked_of_a_place_before_changes_no_answer(entries):
    """Each place keeps what was worked out from it; asked anew it says the same."""
    sheet = parse_worksheet(load_json(dumps(long_worksheet(entries))))
    context, state = sheet.context, initial_state(sheet.context)
    for entry in sheet.log:
        state, _ = step(state, entry, context)
        if entry.id.endswith("7"):
            core = state.core
            for name, place in core.places.items():
                core = replace(core, places=core.places.set(name, replace(place)))
            assert not any(place.answers for place in core.places.values())
            for crew in state.core.teams.values():
                assert standing_for(core, crew, entry.at, context) == standing_for(
                    state.core, crew, entry.at, context
                )
            anew = replace(state, core=core)
            assert assess(anew, context, entry.at) == assess(state, context, entry.at)
