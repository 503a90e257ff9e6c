"""The generator: the same again from the same seed, and documents that the engine reads."""

from datetime import UTC
from itertools import pairwise

import pytest

from incidents.documents import dumps
from review.inventing import FIRST_DAY, LAST_DAY, invent
from review.inventing.kinds import KINDS
from screening.readings import KINDS as ENTRY_KINDS
from screening.state import initial_state, step
from screening.verdicts import Action
from screening.worksheet import load_json, parse_context, parse_entry

SOME = tuple(invent(incidents=60, entries=50, seed=1))


def without_names(document):
    teams = [
        {key: value for key, value in team.items() if key != "name"}
        | {
            "members": [
                {k: v for k, v in m.items() if k != "name"} for m in team["members"]
            ]
        }
        for team in document["teams"]
    ]
    head = {"format": "hazmat-incident-worksheet", "version": 1}
    return head | document | {"teams": teams}


def played(one):
    """The strictest action that the engine has for anybody in it, and all findings."""
    context = parse_context(load_json(dumps(without_names(one.document))))
    state, found = initial_state(context), []
    for said in one.log:
        if said.body["kind"] not in ENTRY_KINDS:
            continue
        body = dict(said.body)
        if body["kind"] in ("acknowledge", "strike", "clear"):
            body["by"] = "Somebody"
        entry = parse_entry(load_json(dumps(body)), context)
        state, new = step(state, entry, context)
        found += new
    return max((each.action for each in found), default=Action.CONTINUE), found


def test_a_seed_gives_the_same_again_and_another_seed_another():
    again = tuple(invent(incidents=60, entries=50, seed=1))
    other = tuple(invent(incidents=60, entries=50, seed=2))
    assert again == SOME
    assert all(one.log != two.log for one, two in zip(SOME, other, strict=True))


def test_more_incidents_begin_with_the_same_ones():
    assert tuple(invent(incidents=5, entries=50, seed=1)) == SOME[:5]


def test_about_as_many_entries_as_were_asked_for():
    counts = [len(one.log) for one in SOME]
    assert 45 <= sum(counts) / len(counts) <= 75
    assert min(counts) >= 30


def test_every_entry_is_recorded_in_order_and_after_it_was_seen():
    for one in SOME:
        times = [said.recorded_at for said in one.log]
        assert all(earlier <= later for earlier, later in pairwise(times))
        assert one.opened_at < times[0]
        assert times[-1] < one.closed_at
        assert all(said.body["at"] <= said.recorded_at.isoformat() for said in one.log)


def test_what_an_entry_points_to_stands_before_it():
    for one in SOME:
        known = set()
        for said in one.log:
            assert said.body.get("entry", said.body["id"]) in known | {said.body["id"]}
            known.add(said.body["id"])
        assert len(known) == len(one.log)


def test_the_dates_lie_in_the_years_that_are_named():
    for one in SOME:
        assert FIRST_DAY <= one.opened_at <= LAST_DAY
        assert one.opened_at.tzinfo is UTC
    assert len({one.opened_at.year for one in SOME}) >= 3


def test_the_engine_reads_all_of_it_and_is_of_different_minds_on_it():
    worst = {}
    for one in SOME[:40]:
        action, _ = played(one)
        worst.setdefault(action, []).append(one.number)
    assert {Action.CAUTION, Action.STOP, Action.WITHDRAW} <= set(worst)


@pytest.mark.parametrize("kind", [name for name in KINDS if KINDS[name].hazard])
def test_a_kind_finds_its_own_hazard(kind):
    of_kind = (
        one for one in invent(incidents=400, entries=50, seed=3) if one.kind == kind
    )
    found = (played(next(of_kind))[1] for _ in range(6))
    assert any(each.hazard.value == KINDS[kind].hazard for one in found for each in one)


def test_people_make_mistakes_in_it():
    kinds = [said.body["kind"] for one in SOME for said in one.log]
    assert {"strike", "note", "acknowledge", "clear", "ventilate"} <= set(kinds)
    late = [
        said
        for one in SOME
        for said in one.log
        if said.recorded_at.isoformat() > said.body["at"]
    ]
    assert len(late) == len(kinds)


@pytest.mark.parametrize(("incidents", "entries"), [(-1, 60), (10, 19)])
def test_what_cannot_be_invented_is_refused(incidents, entries):
    with pytest.raises(ValueError, match="or more"):
        invent(incidents=incidents, entries=entries, seed=1)
