import uuid

import pytest
from django.urls import reverse
from django.utils import timezone

from incidents.documents import loads
from tests.factories import acid, log


@pytest.fixture
def reading(technician, incident):
    return log(incident, acid(timezone.now()), person=technician).entry


def address(incident, entry):
    return reverse("incidents:put-right", args=(incident.pk, entry.seq))


def test_a_reading_is_struck_with_a_reason_and_both_stay(
    client, technician, incident, reading
):
    response = client.post(
        address(incident, reading),
        {"client_uuid": str(uuid.uuid4()), "common": "Wrong value", "reason": "was 5"},
    )

    again = reverse("incidents:log-kind", args=(incident.pk, "ph_paper"))
    assert response.url == f"{again}?rights={reading.seq}"
    strike = incident.entries.get(kind="strike")
    assert loads(strike.body)["reason"] == "Wrong value: was 5"
    assert loads(strike.body)["entry"] == reading.key
    sheet = client.get(reverse("incidents:sheet", args=(incident.pk,))).text
    assert "<s>pH 2 on wet paper in the air</s>" in sheet
    assert "put right: Wrong value: was 5 (T. Rowan)" in sheet
    assert 'class="verdict stop' not in sheet


def test_no_reason_no_strike(client, technician, incident, reading):
    response = client.post(
        address(incident, reading), {"client_uuid": str(uuid.uuid4())}
    )

    assert response.status_code == 422
    assert "Say what was wrong with it." in response.text
    assert not incident.entries.filter(kind="strike").exists()


def test_a_technician_is_not_offered_to_strike_what_others_read(
    client, technician, incident
):
    other = log(incident, acid(timezone.now())).entry

    page = client.get(address(incident, other))
    response = client.post(
        address(incident, other),
        {"client_uuid": str(uuid.uuid4()), "common": "Wrong value"},
    )

    assert "You can put right your own readings" in page.text
    assert response.status_code == 422
    assert not incident.entries.filter(kind="strike").exists()


def test_what_was_put_right_is_not_offered_again(client, technician, incident, reading):
    data = {"client_uuid": str(uuid.uuid4()), "common": "Logged twice"}
    client.post(address(incident, reading), data)

    page = client.get(address(incident, reading))

    assert "This was put right before: Logged twice" in page.text
    assert "<form" not in page.text


def test_the_opening_record_cannot_be_struck(client, commander, incident):
    assert client.get(address(incident, incident.entries.first())).status_code == 404


def test_the_reading_logged_in_its_place_names_it_and_is_named_by_it(
    client, technician, incident, reading
):
    struck = client.post(
        address(incident, reading),
        {"client_uuid": str(uuid.uuid4()), "common": "Wrong value"},
    )
    page = client.get(struck.url).text
    assert f"will stand in the place of entry {reading.seq}" in page
    assert f'action="{struck.url}"' in page

    stored = client.post(
        struck.url,
        {
            "client_uuid": str(uuid.uuid4()),
            "team": "entry-1",
            "place": "tank room",
            "sample": "vapour",
            "moistened": "yes",
            "reading": "7",
        },
    )

    right = incident.entries.filter(kind="ph_paper").latest("seq")
    assert right.seq > reading.seq, stored.text
    of_wrong = client.get(reverse("incidents:entry", args=(incident.pk, reading.seq)))
    of_right = client.get(reverse("incidents:entry", args=(incident.pk, right.seq)))
    assert f"Entry {right.seq}, in its place" in of_wrong.text
    assert f"Stands in the place of entry {reading.seq}" in of_right.text


def test_a_number_typed_into_the_address_links_nothing(
    client, technician, incident, reading
):
    url = reverse("incidents:log-kind", args=(incident.pk, "ph_paper"))

    response = client.post(
        f"{url}?rights={reading.seq}",
        {
            "client_uuid": str(uuid.uuid4()),
            "team": "entry-1",
            "sample": "vapour",
            "moistened": "yes",
            "reading": "7",
        },
    )

    assert response.status_code == 302  # the reading is stored all the same
    assert not incident.entries.filter(kind="correction").exists()
