"""A reading says with what it was taken, also where that is nobody's on the list."""

import uuid
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from incidents.documents import loads
from tests.factories import log, meter, open_incident, register_meter

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


@pytest.fixture
def incident(client):
    """Two meters along, both called by their names in the register."""
    incident = open_incident(
        at=timezone.now() - timedelta(minutes=30),
        instruments=[
            {
                "id": "four-gas-meter-1",
                "kind": "gas_meter",
                "sensors": ["lel", "oxygen"],
            },
            {
                "id": "chlorine-meter-2",
                "kind": "gas_meter",
                "sensors": ["lel", "oxygen"],
            },
        ],
    )
    for label in ("Four-gas meter 1", "Chlorine meter 2"):
        register_meter(incident.opened_by, label=label)
    client.force_login(incident.opened_by)
    return incident


def address(incident):
    return reverse("incidents:log-kind", args=(incident.pk, "gas_meter"))


def save(client, incident, **fields):
    sent = {
        "client_uuid": str(uuid.uuid4()),
        "team": "entry-1",
        "place": "tank room",
        "lel_percent": "0",
        "oxygen_percent": "20.9",
    }
    return client.post(address(incident), sent | fields)


def read(incident):
    return [loads(row.body) for row in incident.entries.filter(kind="gas_meter")]


def summary(page):
    return page.text.split("<summary>")[1].split("</summary>")[0]


def test_a_borrowed_meter_goes_into_the_log_by_its_name(client, incident):
    save(client, incident, instrument="", borrowed="Engine 4 meter")

    (body,) = read(incident)
    assert body["instrument"] == "Engine 4 meter"


def test_the_next_form_of_the_team_shows_the_borrowed_meter_and_offers_it(
    client, incident
):
    save(client, incident, instrument="", borrowed="Engine 4 meter")

    page = client.get(address(incident) + "?team=entry-1")

    assert "Engine 4 meter" in summary(page)
    assert 'value="Engine 4 meter"' in page.text


def test_the_form_says_which_of_two_is_read(client, incident):
    at = timezone.now()
    log(incident, meter(at, instrument="chlorine-meter-2"))

    page = client.get(address(incident) + "?team=entry-1")

    assert "Chlorine meter 2" in summary(page)
    assert "Four-gas meter 1" not in summary(page)


def test_where_none_is_chosen_the_form_says_so(client, incident):
    page = client.get(address(incident) + "?team=entry-1")

    assert "not a listed one" in summary(page)


@pytest.mark.parametrize("name", ["four-gas-meter-1", "four-gas METER 1"])
def test_a_listed_meter_is_not_passed_off_as_a_borrowed_one(client, incident, name):
    page = save(client, incident, instrument="", borrowed=name)

    assert page.status_code == 422
    assert "This one is listed" in page.text
    assert read(incident) == []


def test_a_name_beside_a_chosen_meter_is_refused(client, incident):
    page = save(
        client, incident, instrument="four-gas-meter-1", borrowed="Engine 4 meter"
    )

    assert page.status_code == 422
    assert read(incident) == []


def test_what_nobody_tested_here_is_still_no_proof_when_quiet(client, incident):
    save(client, incident, instrument="", borrowed="Engine 4 meter")

    page = client.get(reverse("incidents:sheet", args=(incident.pk,)))

    assert "unverified meter" in page.text
