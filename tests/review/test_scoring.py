"""Scoring by hand: each outcome, the delay, and what was left unchecked."""

import copy
import json
from datetime import UTC, datetime, timedelta

import pytest

from review.scoring import (
    Answer,
    Outcome,
    Question,
    Verdict,
    compared,
    left_unchecked,
    named,
    score,
    verdicts,
)
from review.scripts import read_script
from screening.verdicts import Action, Hazard
from screening.worksheet import load_json
from tests.drills import SCRIPT

START = datetime(2026, 3, 4, 9, 0, tzinfo=UTC)


def at(seconds):
    return START + timedelta(seconds=seconds)


def verdict(entry, action=Action.STOP, team="entry-1", still=()):
    return Verdict(
        entry=entry,
        team=team,
        ensemble="level_b",
        action=action,
        reasons=(),
        open=frozenset(still),
        look_next="",
    )


def question(entry, shown=0, to=("ann", "bob")):
    return Question(entry=entry, shown_at=at(shown), to=frozenset(to))


def answer(entry, person="ann", action=Action.STOP, seconds=5, look=""):
    return Answer(entry=entry, person=person, action=action, at=at(seconds), look=look)


@pytest.mark.parametrize(
    ("said", "engine", "outcome"),
    [
        (Action.CONTINUE, Action.CONTINUE, Outcome.AGREES),
        (Action.WITHDRAW, Action.WITHDRAW, Outcome.AGREES),
        (Action.CAUTION, Action.CONTINUE, Outcome.MORE_CAREFUL),
        (Action.WITHDRAW, Action.STOP, Outcome.MORE_CAREFUL),
        (Action.CAUTION, Action.STOP, Outcome.LESS_CAREFUL),
        (Action.CONTINUE, Action.WITHDRAW, Outcome.LESS_CAREFUL),
    ],
)
def test_stricter_and_laxer_answers_count_apart(said, engine, outcome):
    assert compared(said, engine) is outcome


def test_the_four_counts_of_one_person():
    said = {key: verdict(key) for key in "wxyz"}
    asked = [question(key) for key in "wxyz"]
    given = [
        answer("w"),
        answer("x", action=Action.WITHDRAW),
        answer("y", action=Action.CONTINUE),
        answer("z", person="bob"),
    ]

    found = score("ann", asked, given, said)

    assert found.counts == (
        (Outcome.AGREES, 1),
        (Outcome.MORE_CAREFUL, 1),
        (Outcome.LESS_CAREFUL, 1),
        (Outcome.UNANSWERED, 1),
    )


def test_the_delay_runs_from_the_showing_and_the_median_is_one_of_them():
    said = {key: verdict(key) for key in "wxyz"}
    asked = [question(key, shown=100) for key in "wxyz"]
    given = [
        answer("w", seconds=102),
        answer("x", seconds=104),
        answer("y", seconds=190),
        answer("z", seconds=109),
    ]

    found = score("ann", asked, given, said)

    delays = [mark.delay.total_seconds() for mark in found.marks]
    assert delays == [2, 4, 90, 9]
    assert found.delay == timedelta(seconds=4)  # of 2, 4, 9, 90 the lower in the middle


def test_without_an_answer_there_is_no_delay():
    found = score("ann", [question("w")], [], {"w": verdict("w")})
    assert found.delay is None
    assert found.marks[0].delay is None


def test_an_answer_of_before_the_showing_counts_as_at_once():
    found = score(
        "ann", [question("w", shown=10)], [answer("w", seconds=8)], {"w": verdict("w")}
    )
    assert found.delay == timedelta()


def test_who_was_not_asked_has_no_mark():
    found = score("eve", [question("w")], [answer("w")], {"w": verdict("w")})
    assert found.marks == ()


def test_the_first_of_two_answers_counts_in_whatever_order_they_come():
    both = [
        answer("w", action=Action.CONTINUE, seconds=9),
        answer("w", action=Action.STOP, seconds=3),
    ]
    for given in (both, both[::-1]):
        found = score("ann", [question("w")], given, {"w": verdict("w")})
        assert found.marks[0].outcome is Outcome.AGREES


def test_unchecked_is_what_is_open_at_the_last_question_and_was_never_named():
    gamma, acid, fluoride = (
        Hazard.GAMMA_RADIATION,
        Hazard.ACID_VAPOUR,
        Hazard.FLUORIDE_VAPOUR,
    )
    said = {
        "w": verdict("w", still=(gamma, acid, fluoride, Hazard.TOXIC_GAS)),
        "x": verdict("x", still=(gamma, acid, fluoride)),
    }
    asked = [question("w"), question("x", shown=60)]
    given = [answer("w", look="ph_paper"), answer("x", person="bob", look="dosimeter")]

    assert score("ann", asked, given, said).unchecked == (fluoride, gamma)
    assert score("bob", asked, given, said).unchecked == (acid, fluoride)
    assert left_unchecked(asked, given, said) == (fluoride,)


def test_each_team_s_last_question_counts():
    said = {
        "w": verdict("w", team="entry-1", still=(Hazard.GAMMA_RADIATION,)),
        "x": verdict("x", team="entry-2", still=(Hazard.ACID_VAPOUR,)),
    }
    asked = [question("w"), question("x", shown=60)]
    assert left_unchecked(asked, [], said) == (
        Hazard.ACID_VAPOUR,
        Hazard.GAMMA_RADIATION,
    )


def test_a_check_answers_its_hazards_and_nothing_said_answers_none():
    assert Hazard.CORROSIVE_LIQUID in named(["ph_paper"])
    assert named(["", "no such check"]) == frozenset()


def test_the_verdict_is_for_what_the_team_wore_at_that_moment():
    document = copy.deepcopy(SCRIPT)
    acid = document["log"][3]
    document["log"] = [
        *document["log"][:4],
        {
            "id": "d41",
            "at": "2026-03-04T09:02:30-05:00",
            "kind": "change_ensemble",
            "team": "entry-1",
            "ensemble": "level_a",
        },
        acid | {"id": "d42", "at": "2026-03-04T09:02:40-05:00"},
    ]
    script = read_script(load_json(json.dumps(document).encode()))

    said = verdicts(script.worksheet.context, script.worksheet.log)

    # Rule 1: stop unless vapour-tight, then caution.
    assert (said["d4"].ensemble, said["d4"].action) == ("level_b", Action.STOP)
    assert (said["d42"].ensemble, said["d42"].action) == ("level_a", Action.CAUTION)
    assert said["d4"].reasons[0].number == 1
    assert said["d4"].reasons[0].title == "Acid vapour at the stop limit"


def test_nothing_of_later_entries_is_in_a_verdict():
    script = read_script(load_json(json.dumps(SCRIPT).encode()))
    whole = verdicts(script.worksheet.context, script.worksheet.log)
    for count in range(1, len(script.worksheet.log) + 1):
        part = verdicts(script.worksheet.context, script.worksheet.log[:count])
        assert part == {key: whole[key] for key in part}
