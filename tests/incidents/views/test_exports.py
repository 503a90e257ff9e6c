import csv
import io

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from tests.factories import (
    PersonFactory,
    acid,
    entry,
    log,
    meter,
    open_incident,
    register_meter,
    register_paper,
)
from tests.reports.test_readings_csv import NOTES

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


@pytest.fixture
def incident(client):
    incident = open_incident(at=timezone.now())
    client.force_login(incident.opened_by)
    return incident


def fetched(client, incident, kind):
    url = reverse("incidents:readings-file", args=(incident.pk, kind))
    response = client.get(url)
    assert response.streaming
    text = b"".join(response.streaming_content).decode()
    return response, list(csv.DictReader(io.StringIO(text, newline="")))


def test_a_reading_stands_with_what_was_found_and_that_it_was_struck(client, incident):
    wrong = log(incident, acid(timezone.now(), ph="2.0"))
    log(
        incident,
        entry("strike", timezone.now(), entry=wrong.entry.key, reason="-typed wrong"),
    )
    log(incident, meter(timezone.now()))

    response, rows = fetched(client, incident, "ph_paper")

    (row,) = rows
    assert response["Content-Type"].startswith("text/csv")
    assert (
        'filename="quarry-lane-pump-house-ph_paper.csv"'
        in (response["Content-Disposition"])
    )
    assert (row["pH_low"], row["team"], row["place"]) == (
        "2.0",
        "Entry team 1",
        "tank room",
    )
    assert (row["struck_by_seq"], row["struck_reason"]) == ("3", "'-typed wrong")
    assert row["id"] == wrong.entry.key


def test_what_was_found_stands_beside_it(client, incident):
    log(incident, acid(timezone.now()))

    _, (row,) = fetched(client, incident, "ph_paper")

    assert row["action"] == "stop"
    assert "pH 2" in row["because"]


@pytest.mark.parametrize("note", [pytest.param(n, id=k) for k, n in NOTES.items()])
def test_a_note_survives_the_log_the_worksheet_and_the_file(client, incident, note):
    log(incident, meter(timezone.now(), note=note))

    _, (row,) = fetched(client, incident, "gas_meter")
    worksheet = client.get(
        reverse("incidents:worksheet-json", args=(incident.pk,))
    ).json()

    assert row["note"].removeprefix("'") == note
    assert worksheet["log"][0]["note"] == note


def test_a_longer_log_costs_no_more_queries(client, incident):
    def cost():
        with CaptureQueriesContext(connection) as queries:
            fetched(client, incident, "gas_meter")
        return len(queries)

    log(incident, meter(timezone.now()))
    cost()
    first = cost()
    for _ in range(19):
        log(incident, meter(timezone.now()))
    cost()

    assert cost() == first


@pytest.mark.parametrize(
    ("name", "kwargs"),
    [
        ("readings-file", {"kind": "nonsense"}),
        ("readings-file", {"kind": "enter"}),
        ("warning-file", {"action": "allclear"}),
    ],
)
def test_what_there_is_no_file_of_is_not_there(client, incident, name, kwargs):
    url = reverse(f"incidents:{name}", kwargs={"pk": incident.pk} | kwargs)

    assert client.get(url).status_code == 404


def test_the_draft_of_a_warning_is_of_the_plan_and_goes_nowhere(client, incident):
    url = reverse("incidents:warning-file", args=(incident.pk, "shelter"))

    response = client.get(url)

    assert response["Content-Type"] == "application/cap+xml"
    assert b"<status>Draft</status>" in response.content
    assert b"<areaDesc>Quarry Lane</areaDesc>" in response.content
    assert incident.name.encode() in response.content


def test_the_days_of_the_register_stand_in_the_calendar(client, incident):
    boss = incident.opened_by
    register_meter(boss, label="Meter 1", calibration_due="2027-06-01")
    register_paper(boss, expires="2027-03-31")
    register_meter(boss, label="Meter without a day")
    other = PersonFactory.create()
    register_meter(other, label="Of another agency", calibration_due="2027-06-02")

    response = client.get(reverse("incidents:due-days"))

    text = response.text.replace("\r\n ", "")
    assert response["Content-Type"].startswith("text/calendar")
    assert text.count("BEGIN:VEVENT") == 2
    assert "DTSTART;VALUE=DATE:20270601" in text
    assert "SUMMARY:Meter 1: calibration due" in text
    assert "SUMMARY:pH paper\\, lot 7: expires" in text
    assert "Of another agency" not in text
