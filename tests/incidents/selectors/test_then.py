"""The sheet of a moment that is over is the sheet that was shown at that moment."""

import uuid
from datetime import timedelta
from decimal import Decimal

import pytest

from incidents import engine, selectors, services
from incidents.models import StoredFinding
from incidents.then import known_at, rows_of, then
from screening.verdicts import Action
from tests.factories import (
    acid,
    entry,
    join,
    log,
    meter,
    minutes,
    open_incident,
)

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


def said_of(view):
    """All of a sheet that people go by."""
    return (
        view.assessment,
        view.alarms,
        view.banners,
        view.cautions,
        view.not_judged,
        view.beyond,
        tuple(row.team.key for row in view.teams),
    )


def lines_of(rows):
    return [
        (
            row.entry.seq,
            row.struck_by.seq if row.struck_by else None,
            row.strike_reason,
            [one.seq for one in row.acknowledged_by],
            sorted((f.because, f.team_key, f.superseded) for f in row.findings),
        )
        for row in rows
    ]


class Watched:
    """An incident, and what its sheet said after each record that was made."""

    def __init__(self):
        self.incident = open_incident()
        self.shown = {}

    def look(self, at):
        self.incident.refresh_from_db()
        view = selectors.sheet(self.incident, at)
        rows = selectors.log_rows(self.incident, limit=200)
        self.shown[at] = (said_of(view), lines_of(rows), self.incident.is_closed)

    def log(self, body, minute, **given):
        at = minutes(minute)
        row = log(self.incident, body, recorded_at=at, **given).entry
        self.look(at)
        return row

    def do(self, service, minute, **given):
        at = minutes(minute)
        service(
            incident_id=self.incident.pk,
            person=self.incident.opened_by,
            at=at,
            **given,
        )
        self.look(at)


def a_whole_incident():
    """Late, struck, heard, cleared, amended, ordered out, closed and opened again."""
    watched = Watched()
    watched.log(entry("enter", minutes(1), team="entry-1", place="tank room"), 1)
    watched.log(meter(minutes(2)), 2)
    acid_row = watched.log(acid(minutes(3)), 3)
    watched.log(entry("acknowledge", minutes(4), entry=acid_row.key, by="Ash"), 4)
    wrong = watched.log(meter(minutes(5), lel_percent=Decimal(40)), 5)
    watched.log(
        entry("strike", minutes(6), entry=wrong.key, by="Ash", reason="Misheard"), 6
    )
    # Read before the acid, arrived long after it.
    watched.log(meter(minutes(2.5), oxygen_percent=Decimal(17)), 12)
    watched.do(
        services.amend_setup, 13, changes={"mission": "product_control"}, reason="Done"
    )
    watched.do(
        services.order_out,
        14,
        team="entry-1",
        reason="Acid",
        client_uuid=uuid.uuid4(),
        recorded_at=minutes(14),
    )
    watched.log(entry("exit", minutes(16), team="entry-1"), 16)
    watched.log(
        entry("ventilate", minutes(17), place="tank room", method="fan"),
        17,
    )
    watched.log(acid(minutes(25), ph="7"), 25)
    watched.log(
        entry(
            "clear",
            minutes(26),
            hazard="acid_vapour",
            place="tank room",
            by="Ash",
            reason="Aired",
        ),
        26,
    )
    watched.do(services.close_incident, 30, reason="Handed over")
    watched.do(services.reopen_incident, 40, reason="Smell again")
    watched.log(acid(minutes(41), ph="1"), 41)
    return watched


@pytest.fixture
def watched():
    return a_whole_incident()


def test_at_each_record_the_sheet_of_then_is_the_one_that_was_shown(watched):
    incident = watched.incident

    for at, (said, lines, closed) in watched.shown.items():
        past = then(incident, at)
        assert said_of(selectors.sheet_then(past)) == said
        assert lines_of(selectors.log_rows_then(past, limit=200)) == lines
        assert past.incident.is_closed is closed


def test_the_verdict_is_the_strictest_of_what_was_kept_by_then_and_not_put_right(
    watched,
):
    """What came late is not yet known, what was struck later stands as it was shown."""
    incident = watched.incident
    for minute, struck in ((3, ()), (5, ()), (6, (5,)), (12, (5,))):
        past = then(incident, minutes(minute))
        kept = StoredFinding.objects.filter(
            pk__in=past.past.standing, team_key="entry-1"
        ).exclude(entry__observed_at__in=[minutes(each) for each in struck])
        strictest = max(Action(each.action) for each in kept)

        verdict = selectors.sheet_then(past).assessment.by_team()["entry-1"].action

        assert verdict == strictest
    late = set(
        StoredFinding.objects.filter(incident=incident, late=True).values_list(
            "pk", flat=True
        )
    )
    assert late
    assert not then(incident, minutes(11)).past.standing & late
    assert then(incident, minutes(12)).past.standing & late


def test_between_two_records_time_alone_changes_what_stands():
    incident = open_incident()
    log(incident, entry("enter", minutes(1), team="entry-1"))
    log(incident, meter(minutes(100)))
    incident.refresh_from_db()

    early, later = (
        selectors.sheet_then(then(incident, minutes(minute))) for minute in (5, 90)
    )

    rules = [
        {f.rule for f in view.assessment.by_team()["entry-1"].findings}
        for view in (early, later)
    ]
    assert "roll_call_overdue" in rules[1] - rules[0]
    assert later.at == minutes(90)


def test_a_walk_through_the_log_knows_at_each_record_what_a_replay_up_to_it_does(
    watched,
):
    rows = rows_of(watched.incident)

    for row, now in engine.walk(rows):
        then_known = engine.as_of(watched.incident, row.seq)
        assert now.state.core == then_known.state.core
        assert now.state.standing == then_known.state.standing
        assert now.context == then_known.context
        assert (now.head_seq, now.last, now.not_judged) == (
            then_known.head_seq,
            then_known.last,
            then_known.not_judged,
        )


def test_a_clock_that_was_set_back_takes_no_record_out_of_the_log(watched):
    rows = list(rows_of(watched.incident))
    rows[3].recorded_at = minutes(1.5)  # in memory: as if the server's clock went back

    assert [row.seq for row in known_at(rows, minutes(1.6))] == [1, 2, 3, 4]


def test_the_copy_of_then_is_not_the_incident(watched):
    incident = watched.incident
    past = then(incident, minutes(12))

    assert past.incident is not incident
    assert past.incident.mission == incident.mission
    assert past.incident.head_seq < incident.head_seq
    assert join(incident, "viewer").pk


def test_the_queries_of_a_past_sheet_do_not_grow_with_the_log(
    watched, django_assert_max_num_queries
):
    incident = watched.incident
    for number in range(20):
        at = minutes(42) + timedelta(seconds=number)
        log(incident, meter(at))
    incident.refresh_from_db()

    with django_assert_max_num_queries(30):
        past = then(incident, minutes(50))
        selectors.sheet_then(past)
        selectors.log_rows_then(past)
