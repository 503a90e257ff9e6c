"""Where the reason of a coverage row is from: a row of methods, or a rule."""

import json

import pytest
from hypothesis import HealthCheck, given, settings

from screening.assess import assess
from screening.methods import by_id
from screening.origins import Origin, origin_of
from screening.state import initial_state, step
from screening.verdicts import Status
from screening.worksheet import load_json, parse_worksheet
from tests.engine.documents import ki, meter, ph, rate, ventilate, worksheet
from tests.engine.strategies import worksheets


def judged(document):
    """Every coverage row of every team with its origin."""
    sheet = parse_worksheet(load_json(json.dumps(document).encode()))
    state = initial_state(sheet.context)
    for line in sheet.log:
        state, _ = step(state, line, sheet.context)
    for team in assess(state, sheet.context, sheet.log[-1].at).teams:
        for row in team.coverage:
            yield row, origin_of(row, team.findings)


def rows_of(*log, **setup):
    """The same by hazard, of one team."""
    pairs = judged(worksheet(*log, **setup))
    return {row.hazard.value: (row, origin) for row, origin in pairs}


@pytest.mark.parametrize("quiet", [ph(0, 7), ki(0), rate(0, 0.01), meter(0, 0, 20.9)])
def test_every_reason_has_an_origin(quiet):
    for row, origin in rows_of(quiet).values():
        assert origin is not None, row.because
        assert origin.source
        assert origin.id


def test_the_origin_of_what_a_reading_can_tell_is_its_row_of_methods():
    _, origin = rows_of(ki(0))["oxidiser_vapour"]

    row = by_id(origin.id)
    assert origin.source == row.source
    assert origin.status == row.status


def test_the_origin_of_a_find_is_the_rule_that_found_it():
    row, origin = rows_of(ph(0, 2))["acid_vapour"]

    assert row.status is Status.FOUND
    assert origin.id == "rule 1"
    assert origin.source == "common practice, no source"


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(worksheets(max_size=8))
def test_whatever_is_logged_every_reason_but_a_dose_has_an_origin(document):
    for row, origin in judged(document):
        assert origin is not None or row.because.startswith("dose "), row.because


def test_what_was_read_before_the_air_was_moved_keeps_its_origin():
    row, origin = rows_of(ki(0), ventilate(1))["oxidiser_vapour"]

    assert row.status is Status.OUT_OF_DATE
    assert origin.id == rows_of(ki(0))["oxidiser_vapour"][1].id


def test_a_find_that_quotes_a_method_is_still_the_rules():
    # "LEL 2 %, caution from 1 % ...; oxygen 20.9 %": the last part is also a row's sentence
    _, origin = rows_of(meter(0, 2, 20.9))["flammable_atmosphere"]

    assert origin.id == "rule 11"


@pytest.mark.parametrize(
    ("status", "words"),
    [
        ("memory", "A book [memory]"),
        ("read", "A book, read"),
        ("published", "A book"),
    ],
)
def test_what_is_from_memory_keeps_its_mark_and_what_was_read_says_so(status, words):
    assert Origin(id="C1", source="A book", status=status).cited == words
