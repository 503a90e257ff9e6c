"""How long each team was inside, by the log as it stands."""

import json
from datetime import timedelta

import pytest

from screening.state import initial_state, step
from screening.stays import stays
from screening.trust import standing_log
from screening.worksheet import load_json, parse_worksheet
from tests.engine.documents import START, enter, entry, leave, meter, worksheet


def inside(*log):
    """Minutes in and out of entry-1 since the start; None for still inside."""
    document = json.dumps(worksheet(*log)).encode()
    sheet = parse_worksheet(load_json(document))
    state = initial_state(sheet.context)
    for line in sheet.log:
        state, _ = step(state, line, sheet.context)
    found = stays(standing_log(state), sheet.context)["entry-1"]
    minute = timedelta(minutes=1)
    return [
        ((s.since - START) / minute, s.until and (s.until - START) / minute)
        for s in found
    ]


@pytest.mark.parametrize(
    ("log", "expected"),
    [
        pytest.param([], [], id="nothing logged"),
        pytest.param([leave(3)], [], id="never in"),
        pytest.param([enter(1)], [(1, None)], id="still inside"),
        pytest.param([enter(1), leave(20)], [(1, 20)], id="in and out"),
        pytest.param([meter(2, 0, 20.9), leave(9)], [(2, 9)], id="in by a reading"),
        pytest.param(
            [meter(2, 0, 20.9), enter(4), leave(9)], [(2, 9)], id="said again later"
        ),
        pytest.param(
            [enter(1), leave(5), enter(30), leave(44)], [(1, 5), (30, 44)], id="twice"
        ),
        pytest.param(
            [enter(1), leave(5), meter(7, 0, 20.9)], [(1, 5)], id="a probe from outside"
        ),
    ],
)
def test_a_stay_runs_from_going_in_to_coming_out(log, expected):
    assert inside(*log) == expected


def test_an_exit_that_was_struck_ends_no_stay():
    struck = entry("strike", 6, entry="e02", by="Mora", reason="wrong team")

    assert inside(enter(1), leave(5), struck) == [(1, None)]
