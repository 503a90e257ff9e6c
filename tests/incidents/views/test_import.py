import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from incidents.models import Incident
from tests.factories import PersonFactory
from tests.incidents.services.test_importing import FOREIGN, WRONG

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

URL = "/incidents/import/"


@pytest.fixture
def boss(client):
    person = PersonFactory.create()
    client.force_login(person)
    return person


def sent(content):
    file = content if isinstance(content, bytes) else content.encode()
    return {"file": SimpleUploadedFile("worksheet.json", file)}


def test_the_file_becomes_an_incident_that_is_shown_as_imported(client, boss):
    response = client.post(URL, sent(FOREIGN))

    incident = Incident.objects.get()
    sheet = reverse("incidents:sheet", args=(incident.pk,))
    assert response.url == sheet
    page = client.get(sheet).text
    assert "from a file, to be read only" in page
    assert reverse("incidents:log-choose", args=(incident.pk,)) not in page
    listed = client.get(reverse("incidents:incident-list")).text
    assert "imported, to be read only" in listed
    reports = client.get(reverse("incidents:reports", args=(incident.pk,))).text
    assert "This incident was imported" in reports
    assert "Make a report" not in reports
    assert "No report is made of it here" in reports
    record = client.get(reverse("incidents:record", args=(incident.pk,))).text
    assert "To be signed" not in record
    assert (
        client.post(reverse("incidents:report-make", args=(incident.pk,))).status_code
        == 403
    )


def test_the_worksheet_is_given_out_as_it_came(client, boss):
    client.post(URL, sent(FOREIGN))

    url = reverse("incidents:worksheet-json", args=(Incident.objects.get().pk,))

    assert client.get(url).content == FOREIGN.encode()


def test_every_error_stands_on_the_page_and_nothing_is_imported(client, boss):
    response = client.post(URL, sent(WRONG))

    assert response.status_code == 422
    assert "/log/1/ph" in response.text
    assert "/log/0/team" in response.text
    assert "Nothing was imported." in response.text
    assert not Incident.objects.exists()


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "The file is empty."),
        (b"no json", "expected JSON"),
        (b"\xff\xfe{\x00", "UTF-16"),
        (json.dumps({"format": "other"}).encode(), "/format"),
    ],
)
def test_what_is_no_worksheet_is_said_to_be_none(client, boss, content, words):
    response = client.post(URL, sent(content))

    assert response.status_code == 422
    assert words in response.text
    assert not Incident.objects.exists()


PAGES = (
    "sheet",
    "sheet-live",
    "log",
    "charts",
    "fits",
    "plan",
    "site-safety-plan",
    "activity-log",
    "incident-briefing",
    "line",
    "incident-rules",
    "incident-instruments",
    "medical",
    "reports",
    "record",
    "exposures",
)


@pytest.mark.parametrize("role", ["viewer", "commander"])
def test_every_page_of_an_imported_incident_can_be_read(client, boss, role):
    """The commander's part is given to nobody; even with it nothing breaks."""
    client.post(URL, sent(FOREIGN))
    incident = Incident.objects.get()
    incident.roles.update(role=role)

    answers = {
        name: client.get(reverse(f"incidents:{name}", args=(incident.pk,))).status_code
        for name in PAGES
    }
    for seq in range(1, 7):
        url = reverse("incidents:entry", args=(incident.pk, seq))
        answers[f"entry {seq}"] = client.get(url).status_code
    for kind in ("ph_paper", "gas_meter"):
        url = reverse("incidents:readings-file", args=(incident.pk, kind))
        assert b"".join(client.get(url).streaming_content).count(b"\r\n") == (
            3 if kind == "ph_paper" else 1
        )

    hidden = {"exposures"} if role == "viewer" else set()
    assert answers == {name: 403 if name in hidden else 200 for name in answers}


@pytest.mark.parametrize("name", ["reopen", "close", "addendum", "sign-off"])
def test_what_would_write_to_it_is_refused_on_its_page(client, boss, name):
    client.post(URL, sent(FOREIGN))
    incident = Incident.objects.get()
    incident.roles.update(role="commander")
    before = incident.entries.count(), incident.head_hash

    response = client.post(
        reverse(f"incidents:{name}", args=(incident.pk,)),
        {
            "reason": "x",
            "text": "x",
            "answer": "agrees",
            "client_uuid": "00000000-0000-4000-8000-000000000001",
        },
    )

    assert response.status_code in (302, 403, 422)
    incident.refresh_from_db()
    assert (incident.entries.count(), incident.head_hash) == before
