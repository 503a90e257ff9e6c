"""The page of the record: it walks the log and names the first entry that does not fit."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from incidents.services import anchors
from tests.conftest import changes_allowed
from tests.factories import acid, log, minutes, open_incident

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


@pytest.fixture
def incident():
    incident = open_incident()
    for number in range(3):
        log(incident, acid(minutes(number)))
    incident.refresh_from_db()
    return incident


def record(incident):
    return reverse("incidents:record", args=(incident.pk,))


def test_the_page_shows_the_head_and_those_that_were_kept(client, incident):
    anchors.keep_head(incident_id=incident.pk, at=minutes(9))
    client.force_login(incident.opened_by)

    text = client.get(record(incident)).text

    assert incident.head_hash in text
    assert "<b>Entry 4</b>, 2026-03-04 13:09: a head kept by command" in text
    assert "The log holds" not in text


def test_a_press_says_that_the_log_holds(client, incident):
    client.force_login(incident.opened_by)

    text = client.post(record(incident)).text

    assert "The log holds" in text
    assert "All 4 entries" in text


def test_a_press_names_the_first_entry_that_does_not_fit(client, incident):
    with changes_allowed():
        incident.entries.filter(seq__gte=3).update(author_name="Someone Else")
    client.force_login(incident.opened_by)

    text = client.post(record(incident)).text

    assert "The log does not hold" in text
    assert "<b>entry 3</b>: what is stored of it was changed" in text
    assert "Someone Else" in text


def test_the_page_costs_the_same_for_one_anchor_and_for_twenty(client, incident):
    client.force_login(incident.opened_by)
    anchors.keep_head(incident_id=incident.pk, at=minutes(9))
    client.get(record(incident))
    first = count_of(client, incident)
    for number in range(20):
        anchors.keep(
            incident=incident, why=anchors.Why.KEPT, at=minutes(number), by=None
        )

    assert count_of(client, incident) == first


def count_of(client, incident):
    with CaptureQueriesContext(connection) as queries:
        client.get(record(incident))
    return len(queries)
