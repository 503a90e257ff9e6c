"""Who asked for records, until when it is to be answered, and what was answered."""

from datetime import date, timedelta

import pytest
from django.db import DatabaseError, connection, transaction
from django.urls import reverse
from django.utils import timezone

from incidents import selectors, services
from incidents.models import AccessAnswer, AccessRequest
from incidents.selectors.profiles import today_of
from incidents.services.access_requests import answer_request, record_request
from incidents.working_days import due_on
from tests.factories import PersonFactory

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

URL = "/requests/"


@pytest.fixture
def owner(client):
    person = PersonFactory.create(is_agency_owner=True)
    client.force_login(person)
    return person


def asked(owner, days_ago=0, **changes):
    given = {
        "for_whom": "Alder",
        "asked_as": "person",
        "what": "exposure",
        "received_on": today(owner) - timedelta(days=days_ago),
    }
    return record_request(person=owner, at=timezone.now(), **given | changes)


def answered(owner, request, outcome="given", **changes):
    given = {
        "outcome": outcome,
        "answered_on": today(owner),
        "words": "A copy, by hand",
    }
    return answer_request(
        request_id=request.pk, person=owner, at=timezone.now(), **given | changes
    )


def today(owner):
    return today_of(owner.agency, timezone.now())


def rows(owner, day=None):
    return selectors.access_requests(owner.agency, day or today(owner))


# --- Until when -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("received", "due"),
    [
        pytest.param(date(2026, 3, 2), date(2026, 3, 23), id="a Monday"),
        pytest.param(date(2026, 3, 6), date(2026, 3, 27), id="a Friday"),
        pytest.param(date(2026, 3, 7), date(2026, 3, 27), id="a Saturday"),
        pytest.param(date(2026, 3, 8), date(2026, 3, 27), id="a Sunday"),
        pytest.param(date(2026, 12, 23), date(2027, 1, 13), id="no holiday left out"),
    ],
)
def test_fifteen_working_days_from_the_day_after_it_came(received, due):
    """29 CFR 1910.1020(e)(1)(i), read in rules that take it over word for word; that the
    days begin with the receipt: OSHA's letter of 2002-03-27. Counted on a calendar."""
    assert due_on(received) == due


def test_a_request_is_overdue_the_day_after_and_not_before(owner):
    request = asked(owner)

    (row,) = rows(owner, request.due_on)
    (late,) = rows(owner, request.due_on + timedelta(days=1))

    assert (row.is_open, row.is_overdue, row.was_late) == (True, False, False)
    assert (late.is_overdue, late.was_late) == (True, True)


def test_a_reason_in_time_moves_the_day_to_the_one_that_it_names(owner):
    request = asked(owner)
    day = request.due_on + timedelta(days=10)
    answered(owner, request, "later", words="The box is stored away", earliest_on=day)

    (row,) = rows(owner, day)

    assert row.is_open
    assert row.due == day
    assert not row.is_overdue
    assert not row.was_late
    assert rows(owner, day + timedelta(days=1))[0].is_overdue


def test_a_reason_after_the_time_is_said_to_have_come_late(owner):
    request = asked(owner, days_ago=40)
    answered(
        owner, request, "later",
        words="Forgotten", earliest_on=today(owner) + timedelta(days=2),
    )  # fmt: skip

    (row,) = rows(owner)

    assert row.was_late
    assert not row.is_overdue


def test_what_is_overdue_stands_first_and_what_was_answered_last(owner):
    done = asked(owner, for_whom="Done")
    answered(owner, done)
    soon = asked(owner, for_whom="Soon", days_ago=2)
    late = asked(owner, for_whom="Late", days_ago=60)
    later = asked(owner, for_whom="Later")

    assert [row.request for row in rows(owner)] == [late, soon, later, done]


# --- What is refused ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"for_whom": " "}, "whose"),
        ({"asked_as": "representative", "asked_by": "K. Birch"}, "authorisation"),
        ({"asked_as": "representative", "authority": "of 2026-01-02"}, "who asks"),
        ({"asked_as": "union", "asked_by": "Local 1", "what": "medical"},
         "authorisation"),
        ({"asked_by": "K. Birch"}, "the person, or somebody with an authorisation"),
        ({"asked_as": "friend"}, "one of the ways"),
        ({"what": "letters"}, "one of the kinds"),
    ],
)  # fmt: skip
def test_a_request_that_is_not_whole_is_refused(owner, given, words):
    with pytest.raises(services.EntryRefusedError, match=words):
        asked(owner, **given)

    assert not AccessRequest.objects.exists()


def test_tomorrow_s_request_is_refused(owner):
    with pytest.raises(services.EntryRefusedError, match="a day that has come"):
        asked(owner, days_ago=-1)


def test_a_union_asks_for_exposure_records_as_it_is(owner):
    request = asked(owner, asked_as="union", asked_by="Local 1")

    assert request.authority == ""


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"words": ""}, "what was given"),
        ({"outcome": "later"}, "the earliest day"),
        ({"outcome": "later", "words": "", "earliest_on": date(2090, 1, 1)},
         "the reason"),
        ({"outcome": "lost"}, "one of the answers"),
    ],
)  # fmt: skip
def test_an_answer_that_is_not_whole_is_refused(owner, given, words):
    request = asked(owner)

    with pytest.raises(services.EntryRefusedError, match=words):
        answered(owner, request, **given)

    assert not AccessAnswer.objects.exists()


def test_an_answer_lies_between_the_request_and_today(owner):
    request = asked(owner, days_ago=3)

    for days in (-4, 1):
        with pytest.raises(services.EntryRefusedError):
            answered(owner, request, answered_on=today(owner) + timedelta(days=days))


def test_what_was_given_is_answered_for_good(owner):
    request = asked(owner)
    answered(owner, request)

    with pytest.raises(services.AlreadyDoneError):
        answered(owner, request)

    assert not rows(owner)[0].is_open


def test_another_agency_answers_nothing(owner):
    request = asked(owner)

    with pytest.raises(services.NotAllowedError):
        answered(PersonFactory.create(is_agency_owner=True), request)
    with pytest.raises(services.NotAllowedError):
        asked(PersonFactory.create(agency=owner.agency))


@pytest.mark.parametrize("table", ["accessrequest", "accessanswer"])
@pytest.mark.parametrize("event", ["UPDATE {} SET id = id", "DELETE FROM {}"])
def test_the_database_refuses_to_change_or_delete(owner, table, event):
    answered(owner, asked(owner))

    with (
        pytest.raises(DatabaseError, match="takes no"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(event.format(f"incidents_{table}"))


# --- The pages ------------------------------------------------------------------------


def test_a_request_is_recorded_and_answered_on_the_pages(client, owner):
    sent = {
        "for_whom": "Alder",
        "what": "exposure",
        "asked_as": "representative",
        "asked_by": "K. Birch",
        "authority": "of Alder, 2026-01-02",
        "received_on": (today(owner) - timedelta(days=60)).isoformat(),
    }

    assert client.post(URL, sent).url == URL
    request = AccessRequest.objects.get()
    listed = client.get(URL).text
    assert "Alder: exposure records" in listed
    assert f"overdue since {request.due_on}" in listed
    one = reverse("incidents:access-request", args=(request.pk,))
    assert "of Alder, 2026-01-02" in client.get(one).text

    answer = {
        "outcome": "given",
        "answered_on": today(owner).isoformat(),
        "words": "A copy by post, free",
    }
    assert client.post(one, answer).url == one
    page = client.get(one).text
    assert "A copy by post, free" in page
    assert "not answered within the time" in page
    assert "Save the answer" not in page
    assert client.post(one, answer).status_code == 422


def test_what_was_typed_stays_with_the_refusal(client, owner):
    response = client.post(
        URL,
        {"for_whom": "Alder", "what": "medical", "asked_as": "union",
         "asked_by": "Local 1", "received_on": today(owner).isoformat()},
    )  # fmt: skip

    assert response.status_code == 422
    assert "the written authorisation: of whom, and its day" in response.text
    assert 'value="Local 1"' in response.text
    assert not AccessRequest.objects.exists()


def test_another_agency_s_request_is_not_found(client, owner):
    request = asked(PersonFactory.create(is_agency_owner=True))

    url = reverse("incidents:access-request", args=(request.pk,))

    assert client.get(url).status_code == 404
    assert client.get(URL).text.count("No request is recorded.") == 1


@pytest.mark.parametrize("count", [1, 20])
def test_the_list_takes_two_queries(owner, django_assert_num_queries, count):
    for _ in range(count):
        asked(owner)

    with django_assert_num_queries(2):
        assert len([row.is_open for row in rows(owner)]) == count
