"""People are called by the names that the context gives, else by their ids."""

import json
from dataclasses import replace

import pytest

from screening.assess import assess
from screening.incident import Context
from screening.state import initial_state, step
from screening.worksheet import load_json, parse_worksheet
from tests.engine.documents import air, enter, member, meter, par, team, worksheet

CREW = [team(members=[member("a"), member("b")])]
NAMES = {"entry-1/a": "M. Alder", "entry-2/b": "somebody else"}


def said(log, names):
    document = json.dumps(worksheet(*log, teams=CREW)).encode()
    sheet = parse_worksheet(load_json(document))
    context = replace(sheet.context, names=names)
    state = initial_state(context)
    for entry in sheet.log:
        state, _ = step(state, entry, context)
    (view,) = assess(state, context, sheet.log[-1].at).teams
    return [finding.because for finding in view.findings]


@pytest.mark.parametrize(
    ("names", "who"), [(NAMES, "M. Alder"), ({}, "a")], ids=["named", "by the id"]
)
def test_a_gauge_a_forecast_and_a_roll_call_name_the_person(names, who):
    low = said([enter(0), air(1, 1400, member="a")], names)
    soon = said([enter(0), air(1, 4300, member="a"), air(5, 2800, member="a")], names)
    missing = said([enter(0), par(1, unanswered=["a", "b"])], names)

    assert f"{who} at 1400 psi, at or below the low-air alarm" in low
    assert any(words.startswith(f"{who}: by the last gauge") for words in soon)
    assert f"Not heard or seen at the last PAR: {who}, b" in missing


def test_a_worksheet_document_gives_no_names():
    document = json.dumps(worksheet(enter(0))).encode()
    context = parse_worksheet(load_json(document)).context

    assert isinstance(context, Context)
    assert context.names == {}
    assert context.name_of("entry-1", "a") == "a"


def contradiction(names, first, second, *, listed=("m1", "m2")):
    """LEL found by one meter and not by the other, at one place and time."""
    kit = [{"id": key, "kind": "gas_meter"} for key in listed]
    log = [
        meter(0, first, 20.9, instrument="m1"),
        meter(1, second, 20.9, instrument="m2"),
    ]
    document = json.dumps(worksheet(*log, instruments=kit)).encode()
    sheet = parse_worksheet(load_json(document))
    context = replace(sheet.context, names=names)
    state = initial_state(context)
    for entry in sheet.log:
        state, found = step(state, entry, context)
    return next(f.because for f in found if f.rule == "contradicting_instruments")


METERS = {"m1": "Four-gas 7", "m2": "Four-gas 9"}


def test_instruments_that_contradict_each_other_are_called_by_their_names():
    quiet_last = contradiction(METERS, 5, 0)
    finds_last = contradiction(METERS, 0, 5)

    assert quiet_last.startswith("Four-gas 9 shows nothing where Four-gas 7 found: ")
    assert finds_last.startswith("Four-gas 7 showed nothing (")
    assert "where Four-gas 9 finds now" in finds_last


def test_an_instrument_that_is_not_listed_stays_as_it_was_written_down():
    words = contradiction(METERS, 5, 0, listed=("m1",))

    assert words.startswith("m2 shows nothing where Four-gas 7 found: ")
