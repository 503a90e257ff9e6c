"""What the sheet, the log and the answer say of the instruments behind a reading."""

import pytest
from django.urls import reverse
from django.utils import timezone

from tests.factories import entry, log, meter, open_incident

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


@pytest.fixture
def incident(client, db):
    now = timezone.now()
    incident = open_incident(
        at=now,
        instruments=[
            {"id": "meter-1", "kind": "gas_meter", "last_bump_test": now.isoformat()}
        ],
    )
    client.force_login(incident.opened_by)
    return incident


def sheet(client, incident):
    return client.get(reverse("incidents:sheet", args=(incident.pk,))).text


def test_a_meter_that_is_not_along_is_unverified_on_every_page(client, incident):
    log(incident, meter(timezone.now(), instrument="meter-1"))
    assert "unverified" not in sheet(client, incident)

    appended = log(incident, meter(timezone.now()))

    page = client.get(
        reverse("incidents:entry", args=(incident.pk, appended.entry.seq))
    )
    assert sheet(client, incident).count("unverified meter") == 1
    assert "Unverified meter:" in page.text
    assert "safe" not in page.text


def test_the_answer_to_a_reading_says_that_its_meter_is_unverified(client, incident):
    response = client.post(
        reverse("incidents:log-kind", args=(incident.pk, "gas_meter")),
        {
            "client_uuid": "a0000000-0000-4000-8000-000000000001",
            "team": "entry-1",
            "lel_percent": "0",
            "oxygen_percent": "20.9",
            "instrument": "",
        },
        headers={"HX-Request": "true"},
    )

    assert "Unverified meter:" in response.text


def test_a_paper_without_its_lot_is_no_unverified_meter(client, incident):
    from tests.factories import acid

    log(incident, acid(timezone.now()))

    assert "unverified" not in sheet(client, incident)


def test_a_bump_test_that_failed_after_use_is_a_banner_of_the_sheet(client, incident):
    log(incident, meter(timezone.now(), instrument="meter-1"))
    assert 'class="notice banner"' not in sheet(client, incident)

    log(
        incident,
        entry("bump_test", timezone.now(), instrument="meter-1", passed=False),
    )

    page = sheet(client, incident)
    assert 'class="notice banner"' in page
    assert "meter-1 failed its bump test at" in page
    assert "in 1 reading since" in page


def test_the_banner_goes_when_the_failed_test_is_struck(client, incident):
    log(incident, meter(timezone.now(), instrument="meter-1"))
    failed = log(
        incident,
        entry("bump_test", timezone.now(), instrument="meter-1", passed=False),
    )

    log(
        incident,
        entry("strike", timezone.now(), entry=failed.entry.key, reason="Not this one"),
    )

    assert 'class="notice banner"' not in sheet(client, incident)
