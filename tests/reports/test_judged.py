"""Two runs of actions become one, the stricter of both at each moment."""

from datetime import UTC, datetime, timedelta

from reports.judged import strictest_of
from screening.verdicts import Action

START = datetime(2026, 3, 4, tzinfo=UTC)
GO, MIND, STOP = Action.CONTINUE, Action.CAUTION, Action.STOP


def at(minute, action):
    return (START + timedelta(minutes=minute), action)


def test_the_stricter_counts_and_each_change_stands_once():
    readings = [at(0, GO), at(5, MIND), at(9, GO)]
    plan = [at(2, STOP), at(7, GO)]

    assert strictest_of(readings, plan) == [
        at(0, GO), at(2, STOP), at(7, MIND), at(9, GO),
    ]  # fmt: skip


def test_a_run_alone_is_as_it_was():
    readings = [at(0, GO), at(5, STOP)]

    assert strictest_of(readings, ()) == readings
    assert strictest_of((), [at(1, STOP)]) == []


def test_what_was_before_the_first_reading_counts_from_there():
    assert strictest_of([at(3, GO)], [at(1, STOP)]) == [at(3, STOP)]
