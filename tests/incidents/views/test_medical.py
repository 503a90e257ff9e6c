"""The medical pages, and that no value is on any page or in any file of others."""

import re
import uuid

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from incidents import services
from incidents.medical import code_of
from incidents.models import MedicalAccess, MedicalCheck
from reports.reading import page_texts
from tests.factories import (
    PersonFactory,
    SopProfileFactory,
    entry,
    join,
    log,
    open_incident,
)
from tests.incidents.views.test_who_may_open_what import MATRIX, address

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

CODE = code_of("Alder")
# Figures that nothing else of the incident has.
TYPED = {
    "kind": "before",
    "pulse": "137",
    "systolic": "163",
    "diastolic": "97",
    "temperature": "101.7",
    "temperature_unit": "degF",
    "breaths": "29",
    "spo2": "91",
    "weight": "187.3",
    "weight_unit": "lb",
    "asked": "reported",
    "symptoms": "queasy since breakfast",
    "note": "sat in the sun",
}
SECRETS = (
    "137 beats",
    "163 mmHg",
    "97 mmHg",
    "101.7",
    "187.3",
    "queasy",
    "sat in the sun",
)


@pytest.fixture
def incident(db):
    person = PersonFactory.create()
    sop = SopProfileFactory.create(agency=person.agency)
    return open_incident(person=person, sop=sop, at=timezone.now())


@pytest.fixture
def medic(client, incident):
    person = join(incident, "medical", display_name="M. Sorrel")
    client.force_login(person)
    return person


def url(name, incident, *args):
    return reverse(f"incidents:{name}", args=(incident.pk, *args))


def stands(figure, text):
    """As a number of its own: an id or a token made at random may hold the digits."""
    return re.search(rf"(?<![\w-]){figure}(?!\w)", text) is not None


def sent(client, incident, **changes):
    data = TYPED | {"client_uuid": str(uuid.uuid4())} | changes
    return client.post(url("medical-check", incident, CODE), data)


def test_a_check_is_recorded_and_its_values_shown_to_medical(client, incident, medic):
    response = sent(client, incident)

    assert response.url == url("medical-person", incident, CODE)
    page = client.get(response.url)
    assert stands("137", page.text)
    for words in (*SECRETS, "not fit", "Pulse 137 beats/min, limit 100"):
        assert words in page.text
    assert page["Cache-Control"] == "no-store"


def test_everyone_sees_fit_or_not_and_nothing_else(client, incident, medic):
    sent(client, incident)
    client.force_login(incident.opened_by)

    page = client.get(url("medical", incident)).text

    assert re.search(r"Alder.*?Not fit", page, re.S)
    assert re.search(r"Birch.*?Not checked", page, re.S)
    assert not any(secret in page for secret in SECRETS)
    assert not stands("137", page)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"kind": ""}, "Choose which check it is."),
        ({"asked": ""}, "Ask, and choose whether symptoms are reported."),
        ({"asked": "none"}, "choose “Reported”"),
        ({"symptoms": ""}, "Say which symptoms."),
        ({"pulse": "abc"}, "is not a number"),
        ({"pulse": "900"}, "Not taken: expected a whole number from 20 to 260."),
        ({"diastolic": "170"}, "Not taken: expected less than the systolic one."),
        ({"temperature": "37"}, "Not taken: expected a body"),
        ({"other_time": "soon"}, "is not a time"),
    ],
)
def test_what_is_wrong_is_said_at_its_field_and_what_was_typed_stays(
    client, incident, medic, changes, words
):
    response = sent(client, incident, **changes)

    assert response.status_code == 422
    assert words in response.text
    assert "sat in the sun" in response.text
    assert not MedicalCheck.objects.exists()


def test_a_check_of_somebody_in_no_team(client, incident, medic):
    data = TYPED | {"client_uuid": str(uuid.uuid4()), "name": "Driver Fennel"}

    response = client.post(url("medical-new", incident), data)

    assert response.status_code == 302
    assert "Driver Fennel" in client.get(url("medical", incident)).text


def test_the_form_offers_the_check_that_is_due(client, incident, medic):
    def chosen():
        page = client.get(url("medical-check", incident, CODE)).text
        return re.search(r'value="(\w+)"[^>]*checked', page)[1]

    assert chosen() == "before"
    sent(client, incident)
    assert chosen() == "recheck"
    log(incident, entry("enter", timezone.now(), team="entry-1", place="tank room"))
    log(incident, entry("exit", timezone.now(), team="entry-1"))
    assert chosen() == "after"


def test_medical_decides_with_a_reason(client, incident, medic):
    sent(client, incident)
    place = url("medical-decide", incident, CODE)
    key = str(uuid.uuid4())
    assert client.post(place, {"client_uuid": key, "fit": "yes"}).status_code == 422

    client.post(place, {"client_uuid": key, "fit": "yes", "reason": "White coat"})

    page = client.get(url("medical", incident)).text
    assert "Fit, decided by medical" in page
    assert "White coat" not in page


def test_a_wrong_check_is_put_right_and_both_stay(client, incident, medic):
    sent(client, incident)
    row = MedicalCheck.objects.get()
    place = f"{url('medical-check', incident, CODE)}?corrects={row.seq}"
    data = TYPED | {"client_uuid": str(uuid.uuid4()), "pulse": "73"}
    assert client.post(place, data | {"note": ""}).status_code == 422

    client.post(place, data | {"note": "Misread"})

    page = client.get(url("medical-person", incident, CODE)).text
    assert "put right since" in page
    assert MedicalCheck.objects.count() == 2


def test_each_look_is_noted_and_listed(client, incident, medic):
    sent(client, incident)
    officer = join(incident, "safety_officer", display_name="S. Yarrow")
    client.force_login(officer)
    assert MedicalAccess.objects.count() == 0

    client.get(url("medical-person", incident, CODE))

    assert [look.by_name for look in MedicalAccess.objects.all()] == ["S. Yarrow"]
    looks = client.get(url("medical-looks", incident)).text
    assert re.search(r"S\. Yarrow.*safety officer.*Alder", looks, re.S)
    assert not stands("137", looks)


def test_the_safety_officer_sees_and_records_nothing(client, incident, medic):
    sent(client, incident)
    client.force_login(join(incident, "safety_officer"))

    page = client.get(url("medical", incident)).text
    assert url("medical-check", incident, CODE) not in page
    assert sent(client, incident).status_code == 403


def test_a_look_that_is_refused_shows_and_notes_nothing(client, incident, medic):
    sent(client, incident)
    client.force_login(incident.opened_by)

    response = client.get(url("medical-person", incident, CODE))

    assert response.status_code == 403
    assert not any(secret in response.text for secret in SECRETS)
    assert not stands("137", response.text)
    assert not MedicalAccess.objects.exists()


@pytest.fixture
def measured(client, incident, medic):
    """An incident in which one person was measured, before and after an entry."""
    sent(client, incident)
    log(incident, entry("enter", timezone.now(), team="entry-1", place="tank room"))
    log(incident, entry("exit", timezone.now(), team="entry-1"))
    sent(client, incident, kind="after")
    incident.refresh_from_db()
    return incident


@pytest.mark.parametrize(
    "role", ["commander", "technician", "training_officer", "viewer"]
)
def test_no_page_and_no_file_of_others_carries_a_value(measured, role, monkeypatch):
    """Every route that the matrix has, read by everyone who may not see values."""
    incident = measured
    person = incident.opened_by if role == "commander" else join(incident, role)
    client = Client()
    client.force_login(person)
    seen = 0

    for name, rows in MATRIX.items():
        for row in rows:
            if "instrument" in name and not row.in_incident:
                continue  # of the agency; there is no instrument here
            response = client.get(address(name, row, incident))
            seen += response.status_code == 200
            text = response.getvalue().decode("latin-1")
            assert not any(secret in text for secret in SECRETS), name

    assert seen > 10
    assert not MedicalAccess.objects.exists()


def test_the_worksheet_file_and_the_sealed_report_carry_no_value(measured):
    incident = measured
    client = Client()
    client.force_login(incident.opened_by)

    report = services.make_report(
        incident_id=incident.pk, person=incident.opened_by, at=timezone.now()
    )
    worksheet = client.get(url("worksheet-json", incident)).content.decode()

    printed = " ".join(page_texts(bytes(report.pdf)))
    for text in (printed, worksheet):
        assert not any(secret in text for secret in SECRETS)
    assert "Sorrel" not in worksheet
