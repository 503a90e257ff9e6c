"""What another edition would have changed, on logs small enough to work out by hand.

Limits of the tests: LEL caution 1 %, withdraw 10 % (29 CFR 1910.146(b)); turn-back dose
on a rescue 25 rem (EPA-400/R-17/001, Table 3-1); PAR each 20 min (common practice, no
source).
"""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bench.worksheets import SETUP
from bench.worksheets import log as random_log
from review import folding
from review.moves import Way
from review.what_if import Change, what_if
from screening.result import screen
from screening.state import step
from screening.verdicts import Action
from screening.worksheet import WorksheetErrors
from tests.engine.documents import moment, team, worksheet

CONTINUE, CAUTION, STOP, WITHDRAW = Action


def entry(number, minute, kind, **fields):
    return {"id": f"e{number:02}", "kind": kind, "at": moment(minute)} | fields


def lel(number, minute, percent, place="tank room", **fields):
    return entry(
        number, minute, "gas_meter", team="entry-1", place=place,
        lel_percent=Decimal(percent), oxygen_percent=Decimal("20.9"),
        co_ppm=Decimal(0), h2s_ppm=Decimal(0), **fields,
    )  # fmt: skip


def judged(log, change, **setup):
    document = worksheet(**setup)
    document.pop("log")
    return what_if(document, log, change)


def limits(**values):
    return Change(limits={key: Decimal(value) for key, value in values.items()})


def actions(outcome):
    return [(c.entry, c.team, c.before, c.after) for c in outcome.entries]


def told(outcome, rule):
    return [
        (m.way, m.before and m.before.entry, m.after and m.after.entry)
        for m in outcome.moves
        if m.rule == rule
    ]


RISING = [lel(1, 0, 0), lel(2, 1, 4), lel(3, 2, 7), lel(4, 3, 12)]


def test_a_lower_limit_would_have_come_earlier():
    outcome = judged(RISING, limits(lel_withdraw_percent=5))

    assert actions(outcome) == [("e03", "entry-1", CAUTION, WITHDRAW)]
    assert told(outcome, "lel_at_withdraw") == [(Way.EARLIER, "e04", "e03")]
    assert outcome.differs
    assert not outcome.ended_otherwise


def test_a_higher_limit_would_have_come_later_or_not_at_all():
    outcome = judged(RISING, limits(lel_withdraw_percent=20))

    assert actions(outcome) == [("e04", "entry-1", WITHDRAW, CAUTION)]
    assert told(outcome, "lel_at_withdraw") == [(Way.NOT_AT_ALL, "e04", None)]
    assert outcome.ended_otherwise
    (only,) = outcome.teams
    assert (only.strictest_before, only.strictest_after) == (WITHDRAW, CAUTION)
    assert (only.end_before, only.end_after) == (WITHDRAW, CAUTION)

    assert told(
        judged([*RISING, lel(5, 4, 25)], limits(lel_withdraw_percent=20)),
        "lel_at_withdraw",
    ) == [(Way.LATER, "e04", "e05")]


def test_a_limit_that_nobody_came_near_changes_nothing():
    outcome = judged(RISING, limits(lel_withdraw_percent="11.9"))

    assert outcome.entries == ()
    assert outcome.moves == ()
    assert not outcome.ended_otherwise


def test_the_same_limits_change_nothing_and_the_log_is_judged_once(monkeypatch):
    steps = []

    def counted(*arguments):
        steps.append(arguments)
        return step(*arguments)

    monkeypatch.setattr(folding, "step", counted)
    outcome = judged(RISING, limits(lel_withdraw_percent=10))

    assert (outcome.entries, outcome.moves) == ((), ())
    assert len(steps) == 4


def test_another_ensemble_at_the_start():
    acid = entry(
        1, 0, "ph_paper", team="entry-1", place="dock", sample="vapour",
        moistened=True, ph=Decimal(2),
    )  # fmt: skip

    outcome = judged(
        [acid], Change(ensembles={"entry-1": "level_a", "none": "level_b"})
    )

    assert actions(outcome) == [("e01", "entry-1", STOP, CAUTION)]
    assert told(outcome, "acid_vapour_at_stop") == [(Way.MILDER, "e01", "e01")]


def test_a_change_of_ensemble_in_the_log_counts_from_its_time_on():
    acid = entry(
        1, 0, "ph_paper", team="entry-1", place="dock", sample="vapour",
        moistened=True, ph=Decimal(2),
    )  # fmt: skip
    change = entry(2, 1, "change_ensemble", team="entry-1", ensemble="level_c")

    outcome = judged([acid, change], Change(ensembles={"entry-1": "level_a"}))

    assert [each[0] for each in actions(outcome)] == ["e01"]


def test_only_the_team_concerned_is_named():
    """A weak acid at the dock concerns who stands there alone."""
    acid = entry(
        1, 0, "ph_paper", team="entry-1", place="dock", sample="vapour",
        moistened=True, ph=Decimal(5),
    )  # fmt: skip
    teams = [team("entry-1"), team("entry-2")]

    outcome = judged([acid], limits(acid_caution_ph="4.5"), teams=teams)

    assert actions(outcome) == [("e01", "entry-1", CAUTION, CONTINUE)]
    assert [(each.team, each.differs) for each in outcome.teams] == [
        ("entry-1", True),
        ("entry-2", False),
    ]


def test_time_alone_shows_at_the_next_entry():
    log = [
        entry(1, 0, "enter", team="entry-1"),
        lel(2, 25, 0),
        lel(3, 40, 0),
    ]

    outcome = judged(
        log, Change(limits={"par_interval": {"value": Decimal(30), "unit": "min"}})
    )

    assert told(outcome, "roll_call_overdue") == [(Way.LATER, "e02", "e03")]


def test_a_reading_that_came_late_counts_at_its_own_time():
    """The document has it last; it was read between the first two."""
    outcome = judged(
        [lel(1, 0, 0), lel(3, 2, 7), lel(2, 1, 6)], limits(lel_withdraw_percent=5)
    )

    assert told(outcome, "lel_at_withdraw") == [(Way.ONLY_THEN, None, "e02")]


def test_what_was_struck_counts_until_its_strike():
    strike = entry(3, 2, "strike", entry="e02", by="R", reason="Wrong value")
    outcome = judged(
        [lel(1, 0, 0), lel(2, 1, 7), strike], limits(lel_withdraw_percent=5)
    )

    assert actions(outcome) == [("e02", "entry-1", CAUTION, WITHDRAW)]
    (found,) = [m for m in outcome.moves if m.rule == "lel_at_withdraw"]
    assert (found.after.first, found.after.end) == (1, 2)


def test_the_same_finding_at_two_places_is_two():
    log = [lel(1, 0, 7), lel(2, 1, 7, place="roof")]

    outcome = judged(log, limits(lel_withdraw_percent=5))

    assert {m.place for m in outcome.moves if m.rule == "lel_at_withdraw"} == {
        "tank room",
        "roof",
    }


def test_a_profile_takes_the_place_of_the_whole_own_one():
    """The own withdraw limit is 5; the profile leaves it out, so it is 10 again."""
    profile = {"name": "Other", "version": "2", "limits": {}}

    outcome = judged(
        RISING, Change(profile=profile), limits={"lel_withdraw_percent": Decimal(5)}
    )

    assert told(outcome, "lel_at_withdraw") == [(Way.LATER, "e03", "e04")]


def test_another_chart_of_papers_reads_the_colours_anew():
    red = entry(
        1, 0, "ph_paper", team="entry-1", place="dock", sample="vapour",
        moistened=True, band="orange",
    )  # fmt: skip
    neutral = {
        "name": "Other", "version": "2", "paper_chart": {"orange": [7, 7]},
    }  # fmt: skip
    without = {"name": "Other", "version": "2", "paper_chart": {"blue": [9, 9]}}

    outcome = judged([red], Change(profile=neutral))

    assert actions(outcome) == [("e01", "entry-1", STOP, CONTINUE)]
    with pytest.raises(WorksheetErrors, match="/log/0/band"):
        judged([red], Change(profile=without))


def test_limits_that_contradict_the_incident_s_own_are_refused():
    with pytest.raises(WorksheetErrors, match="/profile/limits"):
        judged(
            RISING,
            limits(lel_caution_percent=6),
            limits={"lel_withdraw_percent": Decimal(5)},
        )


def test_a_fault_of_the_engine_holds_all_teams_at_caution(monkeypatch):
    def broken(state, entry, context):
        if entry.id == "e02":
            raise RuntimeError("a fault")
        return step(state, entry, context)

    monkeypatch.setattr(folding, "step", broken)
    strike = entry(3, 2, "strike", entry="e02", by="R", reason="Cannot be judged")

    outcome = judged([lel(1, 0, 0), lel(2, 1, 0)], limits(lel_withdraw_percent=5))

    assert outcome.before.not_judged == ("e02",)
    assert outcome.before.actions == ((CONTINUE,), (CAUTION,))
    assert strike["entry"] == "e02"


@settings(max_examples=20)
@given(
    st.integers(0, 40),
    st.sampled_from(
        [
            limits(lel_withdraw_percent="1.5"),
            limits(acid_stop_ph="1", acid_caution_ph="3"),
            Change(ensembles={"entry-1": "level_d", "entry-3": "level_c"}),
            Change(limits={"paper_age": {"value": Decimal(20), "unit": "s"}}),
        ]
    ),
)
def test_the_actions_are_those_that_the_command_gives_for_either_worksheet(
    count, change
):
    """An independent way to the same: judge both documents by `screen`."""
    log = list(random_log(count))

    outcome = what_if(SETUP, log, change)

    if not log:
        assert not outcome.differs
        return
    was = screen({**SETUP, "log": log})["entries"]
    would_be = screen({**change.applied_to(SETUP), "log": log})["entries"]
    expected = [
        (old["id"], name, old["standing"][name], new["standing"][name])
        for old, new in zip(was, would_be, strict=True)
        for name in outcome.before.teams
        if old["standing"][name] != new["standing"][name]
    ]
    assert [
        (c.entry, c.team, c.before.word, c.after.word) for c in outcome.entries
    ] == expected
