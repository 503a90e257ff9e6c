"""What the register and an incident say of the instruments, in few queries."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from incidents import selectors, services
from incidents.kit import worksheet_object
from incidents.models import Instrument
from tests.factories import (
    START,
    PersonFactory,
    entry,
    log,
    meter,
    minutes,
    open_incident,
    register_meter,
    register_paper,
)

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

MORNING = START - timedelta(hours=5)


@pytest.fixture
def keeper():
    return PersonFactory.create()


def bumped(instrument, person, passed, at=MORNING):
    return services.record_test(
        instrument_id=instrument.pk,
        person=person,
        kind="bump_test",
        passed=passed,
        at=at,
        recorded_at=at,
    )


def with_all(person, at=START):
    rows = Instrument.objects.with_tests().filter(agency=person.agency)
    listed = [worksheet_object(row) for row in rows]
    return open_incident(person=person, at=at, instruments=listed)


@pytest.mark.parametrize("count", [1, 20])
def test_the_register_costs_one_query(keeper, count, django_assert_num_queries):
    for number in range(count):
        instrument = register_meter(keeper, label=f"Meter {number}")
        bumped(instrument, keeper, True)

    with django_assert_num_queries(1):
        rows = selectors.register(keeper.agency, START)

    assert len(rows) == count
    assert {row.passed_at for row in rows} == {MORNING}


@pytest.mark.parametrize("count", [1, 20])
def test_a_history_costs_two_queries(keeper, count, django_assert_num_queries):
    instrument = register_meter(keeper)
    for number in range(count):
        bumped(instrument, keeper, True, MORNING + timedelta(seconds=number))

    with django_assert_num_queries(2):
        lines = selectors.instrument_history(instrument)

    assert len(lines) == count + 1


def test_the_kit_of_an_incident_costs_as_much_for_one_as_for_twenty(keeper):
    counts = []
    for size in (1, 20):
        person = PersonFactory.create()
        for number in range(size):
            bumped(register_meter(person, label=f"Meter {number}"), person, True)
        incident = with_all(person)
        selectors.kit_of(incident, START)
        with CaptureQueriesContext(connection) as queries:
            view = selectors.kit_of(incident, START)
        assert len(view.along) == size
        counts.append(len(queries))

    assert counts[0] == counts[1] <= 4


def test_what_is_along_is_judged_by_the_log_and_what_is_not_by_the_register(keeper):
    along = register_meter(keeper, label="Meter 1")
    bumped(along, keeper, True)
    incident = with_all(keeper)
    other = register_meter(keeper, label="Meter 2")

    view = selectors.kit_of(incident, minutes(1))

    assert [(one.key, one.doubt) for one in view.along] == [(along.key, "")]
    assert [one.key for one in view.others] == [other.key]
    assert "no passed bump test of the day" in view.others[0].doubt


def test_no_meter_bump_tested_today_is_a_lack(keeper):
    first = register_meter(keeper, label="Meter 1")
    register_meter(keeper, label="Meter 2")
    register_paper(keeper, expires="2026-03-01")
    incident = with_all(keeper)

    lacks = selectors.kit_lacks(incident, minutes(1))
    assert lacks[0] == "No gas meter that is along has a passed bump test of the day."
    assert "pH paper, lot 7: the lot has expired." in lacks

    log(incident, entry("bump_test", minutes(1), instrument=first.key, passed=True))
    incident.refresh_from_db()

    lacks = selectors.kit_lacks(incident, minutes(2))
    assert not any(lack.startswith("No gas meter") for lack in lacks)
    assert any(lack.startswith("Meter 2 has no passed") for lack in lacks)
    assert not any(lack.startswith("Meter 1 ") for lack in lacks)


def test_an_incident_without_a_listed_meter_lacks_one(keeper):
    incident = open_incident(person=keeper)

    assert selectors.kit_lacks(incident, START) == (
        "No gas meter of the register is along.",
    )


def test_a_test_of_the_register_that_the_log_does_not_have_is_news(keeper):
    instrument = register_meter(keeper)
    bumped(instrument, keeper, True)
    incident = with_all(keeper)
    outsider = PersonFactory.create(agency=keeper.agency)
    assert selectors.kit_of(incident, START).news == ()

    failed = bumped(instrument, outsider, False, minutes(2)).record

    news = selectors.kit_of(incident, minutes(3)).news
    assert news == (failed,)
    assert any(
        "failed" in lack and "not in this log" in lack
        for lack in selectors.kit_lacks(incident, minutes(3))
    )


def test_a_test_that_came_into_the_log_either_way_is_no_news(keeper):
    instrument = register_meter(keeper)
    incident = with_all(keeper)
    log(
        incident,
        entry("bump_test", minutes(1), instrument=instrument.key, passed=True),
    )
    bumped(instrument, keeper, True, minutes(2))
    incident.refresh_from_db()

    assert selectors.kit_of(incident, minutes(3)).news == ()


def test_a_failed_test_after_use_says_what_is_open_again(keeper):
    instrument = register_meter(keeper, label="Meter 1")
    bumped(instrument, keeper, True)
    incident = with_all(keeper)
    for minute in (1, 2):
        log(incident, meter(minutes(minute), instrument=instrument.key))
    assert selectors.taken_back_words(incident) == ()

    log(
        incident,
        entry("bump_test", minutes(5), instrument=instrument.key, passed=False),
    )
    incident.refresh_from_db()

    assert selectors.taken_back_words(incident) == (
        "Meter 1 failed its bump test at 13:05. What it did not show in 2 readings since "
        "08:00 proves nothing: look again with another.",
    )
