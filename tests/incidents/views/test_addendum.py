import uuid

import pytest
from django.urls import reverse
from django.utils import timezone

from incidents import services
from tests.factories import open_incident

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


@pytest.fixture
def incident(client):
    incident = open_incident(at=timezone.now())
    client.force_login(incident.opened_by)
    return incident


def closed(incident):
    services.close_incident(
        incident_id=incident.pk,
        person=incident.opened_by,
        at=timezone.now(),
        reason="Handed over",
    )
    return incident


def test_an_open_incident_sends_back_to_its_sheet(client, incident):
    response = client.get(reverse("incidents:addendum", args=(incident.pk,)))

    assert response.url == reverse("incidents:sheet", args=(incident.pk,))


def test_what_is_added_stands_in_the_log_and_the_record_asks_to_be_signed(
    client, incident
):
    url = reverse("incidents:addendum", args=(closed(incident).pk,))
    assert "Add to the record" in client.get(url).text

    response = client.post(
        url, {"client_uuid": str(uuid.uuid4()), "text": "<b>A second drum</b>"}
    )

    assert response.url == reverse("incidents:record", args=(incident.pk,))
    record = client.get(response.url).text
    assert "Entries 1 to 3 are in no signed report yet, 1 of them added after" in record
    log = client.get(reverse("incidents:log", args=(incident.pk,))).text
    assert "Addendum after closing: &lt;b&gt;A second drum&lt;/b&gt;" in log


def test_nothing_typed_is_refused_with_what_was_sent(client, incident):
    url = reverse("incidents:addendum", args=(closed(incident).pk,))

    response = client.post(url, {"client_uuid": str(uuid.uuid4()), "text": " "})

    assert response.status_code == 422
    assert "Enter what is to be added." in response.text
    assert not incident.entries.filter(kind="addendum").exists()
