"""What of an incident's time is drawn, on values small enough to see through."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from types import SimpleNamespace

import pytest

from review.channels import Figure
from review.stretches import chosen, nearer, presets, window
from review.timeline import (
    Asked,
    Band,
    Edition,
    Group,
    Mark,
    TeamLine,
    Timeline,
    asked_of,
    bands,
    group_of,
    short_of,
)
from screening.profile import DEFAULTS, Profile
from screening.readings import KINDS, AirCheck, KiStarchPaper, Par, PhPaper
from screening.verdicts import Action

START = datetime(2026, 3, 4, 19, 0, tzinfo=UTC)


def at(minutes):
    return START + timedelta(minutes=minutes)


def lel(minutes, value, **changes):
    figure = Figure(
        chart="lel", at=at(minutes), team="entry-1", place="tank room",
        instrument="m1", value=Decimal(value), action=Action.CONTINUE,
    )  # fmt: skip
    return mark(minutes, "gas_meter", figures=(figure,), **changes)


def mark(minutes, kind="ph_paper", *, late=0, **changes):
    given = {"team": "entry-1", "words": kind, "short": ""} | changes
    return Mark(
        seq=int(minutes * 10),
        at=at(minutes),
        recorded_at=at(minutes + late),
        kind=kind,
        **given,
    )


def profile(**limits):
    return Profile(
        name="SOP",
        version="1",
        limits=DEFAULTS | {key: Decimal(value) for key, value in limits.items()},
    )


def a_timeline(**changes):
    given = {
        "start": at(0),
        "end": at(120),
        "teams": (
            TeamLine(
                key="entry-1",
                name="Entry team 1",
                bands=(
                    Band(action=Action.CONTINUE, since=at(0), until=at(40)),
                    Band(action=Action.STOP, since=at(40), until=at(120)),
                ),
                inside=((at(10), at(50)),),
            ),
            TeamLine(key="backup-1", name="Backup"),
        ),
        "marks": (
            mark(5),
            lel(20, 4),
            mark(30, "note", team=""),
            lel(38, 12, late=10),
            mark(60, "par", team="backup-1"),
        ),
    }
    return Timeline(**(given | changes))


def test_every_kind_of_entry_belongs_to_a_group_of_its_own_and_the_rest_was_written():
    assert {group_of(kind) for kind in KINDS} == set(Group) - {Group.WRITTEN}
    assert group_of("plan") is Group.WRITTEN
    assert group_of("mayday") is Group.DECISIONS
    assert all(group.label for group in Group)


def test_a_verdict_that_goes_on_is_one_band():
    samples = [
        (at(0), Action.CONTINUE),
        (at(1), Action.CONTINUE),
        (at(2), Action.STOP),
        (at(3), Action.CAUTION),
    ]

    assert bands(samples, at(9)) == (
        Band(action=Action.CONTINUE, since=at(0), until=at(2)),
        Band(action=Action.STOP, since=at(2), until=at(3)),
        Band(action=Action.CAUTION, since=at(3), until=at(9)),
    )
    assert bands([], at(9)) == ()


def test_a_choice_of_kind_and_team_keeps_what_is_of_no_team():
    timeline = a_timeline()

    only = chosen(timeline, frozenset({Group.METERS}), frozenset())
    of_backup = chosen(timeline, frozenset(), frozenset({"backup-1"}))

    assert [one.kind for one in only.marks] == ["gas_meter", "gas_meter"]
    assert [one.kind for one in of_backup.marks] == ["note", "par"]
    assert [team.key for team in of_backup.teams] == ["backup-1"]
    assert chosen(timeline, frozenset(), frozenset()) == timeline


def test_a_window_cuts_bands_and_stays_and_keeps_a_late_record_by_either_time():
    shown = window(a_timeline(), at(45), at(55))

    assert [one.seq for one in shown.marks] == [380]  # read at 38, recorded at 48
    assert shown.teams[0].bands == (
        Band(action=Action.STOP, since=at(45), until=at(55)),
    )
    assert shown.teams[0].inside == ((at(45), at(50)),)
    assert (shown.start, shown.end) == (at(45), at(55))


def test_a_channel_has_its_points_in_runs_and_a_struck_one_is_in_none():
    struck = lel(25, 90, struck="misheard (R)")
    timeline = a_timeline(marks=(lel(20, 4), struck, lel(30, 5)))

    (channel,) = timeline.channels

    assert (channel.title, channel.unit) == ("LEL", "%")
    assert len(channel.points) == 3
    assert [[m.seq for m, _ in run] for run in channel.runs] == [[200, 300]]


def test_limits_are_those_of_the_edition_in_force_and_go_on_where_they_did_not_change():
    editions = (
        Edition(since=at(0), name="1", profile=profile()),
        Edition(since=at(60), name="2", profile=profile(lel_withdraw_percent=5)),
    )
    (channel,) = a_timeline(editions=editions).channels

    spans = {
        (line.limit.label, line.limit.value): (line.since, line.until)
        for line in channel.lines
    }
    default = DEFAULTS["lel_withdraw_percent"]

    assert spans[("withdraw", default)] == (at(0), at(60))
    assert spans[("withdraw", Decimal(5))] == (at(60), at(120))
    caution = [s for (label, _), s in spans.items() if label == "caution"]
    assert caution == [(at(0), at(120))]


def test_presets_lead_to_the_ends_and_to_the_first_stop_of_a_team():
    found = {one.label: (one.start, one.end) for one in presets(a_timeline())}

    assert found == {
        "All of it": (at(0), at(120)),
        "First half hour": (at(0), at(30)),
        "Last half hour": (at(90), at(120)),
        "Entry team 1: first Stop": (at(35), at(45)),
    }
    short = replace(a_timeline(teams=()), end=at(20))
    assert [one.label for one in presets(short)] == ["All of it"]


def test_closer_further_earlier_and_later_stay_within_the_whole():
    timeline = a_timeline()

    found = {one.label: (one.start, one.end) for one in nearer(timeline, at(0), at(40))}

    assert found["Closer"] == (at(10), at(30))
    assert found["Further"] == (at(0), at(60))
    assert found["Earlier"] == (at(0), at(20))
    assert found["Later"] == (at(20), at(60))
    assert [one.label for one in nearer(timeline, at(0), at(120))] == ["Closer"]


@pytest.mark.parametrize(
    ("entry", "short"),
    [
        (PhPaper(id="1", at=START, sample="vapour", low=Decimal(2), high=Decimal(2)), "2"),
        (PhPaper(id="1", at=START, sample="vapour", low=Decimal(2), high=Decimal(4)), "2–4"),
        (PhPaper(id="1", at=START, sample="vapour", bleached=True), "white"),
        (KiStarchPaper(id="1", at=START, sample="vapour", result="blue_black"), "blue-black"),
        (Par(id="1", at=START, unanswered=("a", "b")), "PAR, 2 missing"),
        (
            AirCheck(
                id="1", at=START, member="a", pressure_psi=Decimal(2900),
                shown={"pressure_psi": "200 bar"},
            ),
            "200 bar",
        ),
    ],
)  # fmt: skip
def test_a_mark_says_its_number_or_its_word(entry, short):
    assert short_of(entry) == short


def test_what_has_no_number_is_called_by_its_kind():
    ventilated = KINDS["ventilate"](id="1", at=START, method="fan")
    tested = KINDS["bump_test"](id="1", at=START, passed=False)

    assert short_of(ventilated) == "ventilate"
    assert short_of(tested) == "failed"


def an_answer(
    entry, said, heard=None, *, team="entry-1", action=Action.STOP, acted=None
):
    return SimpleNamespace(
        entry=entry, team=team, action=action, said_at=at(said),
        heard_after=heard, acted_after=acted,
    )  # fmt: skip


def test_what_was_asked_is_one_a_record_and_team_with_the_first_answer_to_it():
    answers = (
        an_answer("a", 5, 30.0),
        an_answer("a", 5, None, action=Action.WITHDRAW, acted=90.0),
        an_answer("a", 5, team="backup-1"),
        an_answer("not here", 6),
    )

    found = asked_of(answers, {"a": 7})

    assert found == (
        Asked(seq=7, team="backup-1", action=Action.STOP, at=at(5)),
        Asked(
            seq=7,
            team="entry-1",
            action=Action.WITHDRAW,
            at=at(5),
            heard_at=at(5.5),
            acted_at=at(6.5),
        ),
    )


def test_what_was_asked_stays_in_a_window_until_it_was_heard():
    asked = Asked(seq=1, team="entry-1", action=Action.STOP, at=at(5), heard_at=at(15))
    timeline = a_timeline(asked=(asked,))

    assert window(timeline, at(10), at(20)).asked == (asked,)
    assert window(timeline, at(16), at(20)).asked == ()
    assert chosen(timeline, frozenset(), frozenset({"backup-1"})).asked == ()
