"""The register of instruments on its pages, and what an incident takes along of it."""

import re

import pytest
from django.urls import reverse
from django.utils import timezone

from incidents.documents import loads
from incidents.kit import worksheet_object
from incidents.models import Incident, Instrument
from tests.factories import (
    AgencyFactory,
    PersonFactory,
    join,
    open_incident,
    register_meter,
    register_paper,
)
from tests.incidents.views.test_open_and_close import NEW, whole

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

REGISTER = "/instruments/"
METER = {
    "label": "Four-gas meter 1",
    "serial": "GM-0042",
    "sensors": "LEL, oxygen, co",
    "lel_basis": "Methane",
    "correction_factors": "pentane: 2,0\nhexane: 2.5",
    "calibration_gas": "50 % LEL methane",
    "alarm_points": "LEL 10 %\nO2 19.5 and 23.5 %",
    "calibration_due": "2030-06-01",
    "ranges": "LEL 0–100 %, 1 %",
    "warm_up": "60 s",
    "lamp_ev": "",
}


@pytest.fixture
def keeper(client):
    person = PersonFactory.create()
    client.force_login(person)
    return person


def test_a_gas_meter_goes_into_the_register_as_it_was_typed(client, keeper):
    response = client.post(f"{REGISTER}new/gas_meter/", METER)

    row = Instrument.objects.get()
    assert response.url == f"{REGISTER}four-gas-meter-1/"
    assert row.agency == keeper.agency
    assert loads(row.document) == {
        "id": "four-gas-meter-1",
        "kind": "gas_meter",
        "sensors": ["lel", "oxygen", "co"],
        "lel_basis": "methane",
        "correction_factors": {"pentane": 2, "hexane": loads("2.5")},
        "calibration_due": "2030-06-01",
    }
    page = client.get(response.url).text
    for words in ("GM-0042", "50 % LEL methane", "O2 19.5 and 23.5 %", "2030-06-01"):
        assert words in page


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("label", "", "Give it a name."),
        ("correction_factors", "pentane 2", "Line 1: write a gas, a colon"),
        ("correction_factors", "pentane: 0", "Not taken: expected"),
        ("calibration_due", "tomorrow", "Write the day as 2026-03-04."),
        ("calibration_due", "1026-03-04", "too far from now"),
    ],
)
def test_what_is_wrong_is_said_at_its_field_and_what_was_typed_stays(
    client, keeper, field, value, words
):
    response = client.post(f"{REGISTER}new/gas_meter/", METER | {field: value})

    assert response.status_code == 422
    assert words in response.text
    assert "GM-0042" in response.text
    assert not Instrument.objects.exists()


def test_a_lot_of_papers_asks_for_lot_and_expiry_and_for_no_sensor(client, keeper):
    page = client.get(f"{REGISTER}new/ph_paper/").text
    assert "Expires on" in page
    assert "Sensors" not in page

    client.post(
        f"{REGISTER}new/ph_paper/",
        {"label": "pH 0–14", "lot": "A7", "expires": "2030-01-31", "opened_on": ""},
    )

    row = Instrument.objects.get()
    assert (row.lot, row.opened_on) == ("A7", None)
    assert loads(row.document)["calibration_due"] == "2030-01-31"


def test_a_change_keeps_what_stood_before_in_the_history(client, keeper):
    row = register_meter(keeper, serial="GM-1")
    url = f"{REGISTER}{row.key}/change/"
    assert "GM-1" in client.get(url).text

    response = client.post(url, METER)

    assert response.url == f"{REGISTER}{row.key}/"
    page = client.get(response.url).text
    assert "serial number: GM-1, now GM-0042" in page


def test_a_test_is_recorded_with_its_gas_and_shown(client, keeper):
    row = register_meter(keeper)
    before = client.get(REGISTER).text
    assert "Has no passed bump test of the day" in before

    response = client.post(
        f"{REGISTER}{row.key}/test/",
        {"kind": "bump_test", "passed": "yes", "gas": "50 % LEL methane"},
    )

    page = client.get(response.url).text
    assert "Bump test passed" in page
    assert "50 % LEL methane" in page
    assert "Has no passed bump test" not in client.get(REGISTER).text


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ({"kind": "bump_test"}, "Choose passed or failed."),
        ({"kind": "calibration", "passed": "yes"}, "the next is due"),
        ({"kind": "zero", "passed": "yes"}, "where the fresh air was"),
        (
            {"kind": "bump_test", "passed": "yes", "failed_sensors": "lel"},
            "has not passed",
        ),
        (
            {"kind": "bump_test", "passed": "yes", "next_due": "2030-01-01"},
            "Only a calibration",
        ),
        ({"kind": "bump_test", "passed": "no", "other_time": "25:00"}, "is not a time"),
    ],
)
def test_a_test_that_is_not_whole_is_refused(client, keeper, data, words):
    row = register_meter(keeper)

    response = client.post(f"{REGISTER}{row.key}/test/", data)

    assert response.status_code == 422
    assert words in response.text
    assert row.records.count() == 1


def test_a_wrong_test_is_put_right_and_both_lines_stay(client, keeper):
    row = register_meter(keeper)
    client.post(f"{REGISTER}{row.key}/test/", {"kind": "bump_test", "passed": "yes"})
    test = row.records.get(kind="bump_test")
    url = reverse("incidents:instrument-put-right", args=(row.key, test.pk))
    assert client.post(url, {"reason": ""}).status_code == 422

    client.post(url, {"reason": "It was meter 2"})

    page = client.get(f"{REGISTER}{row.key}/").text
    assert re.search(r"<s>\s*Bump test passed\s*</s>", page)
    assert "It was meter 2" in page
    assert "Has no passed bump test of the day" in page


def test_out_of_service_and_back(client, keeper):
    row = register_meter(keeper)
    url = f"{REGISTER}{row.key}/service/"

    client.post(url, {"reason": "Pump broken"})
    assert row.label not in client.get(NEW).text

    client.post(url, {"reason": "Repaired"})
    assert row.label in client.get(NEW).text


def test_one_who_may_not_open_an_incident_tests_but_keeps_no_register(client, keeper):
    row = register_meter(keeper)
    crew = PersonFactory.create(agency=keeper.agency, may_open=False)
    client.force_login(crew)

    page = client.get(f"{REGISTER}{row.key}/").text
    assert "Record a test" in page
    assert f"{row.key}/change/" not in page
    for path in ("new/gas_meter/", f"{row.key}/change/", f"{row.key}/service/"):
        assert client.get(f"{REGISTER}{path}").status_code == 403
        assert client.post(f"{REGISTER}{path}", METER).status_code == 403

    client.post(f"{REGISTER}{row.key}/test/", {"kind": "bump_test", "passed": "no"})

    assert row.records.get(kind="bump_test").by == crew


def test_the_register_of_another_agency_is_not_there(client, keeper):
    row = register_meter(PersonFactory.create(agency=AgencyFactory.create()))

    assert row.label not in client.get(REGISTER).text
    for path in ("", "test/", "change/", "service/"):
        assert client.get(f"{REGISTER}{row.key}/{path}").status_code == 404


def test_whoever_has_no_agency_has_no_register(client):
    client.force_login(PersonFactory.create(agency=None))

    assert client.get(REGISTER).status_code == 403


# --- into incidents ------------------------------------------------------------------


def test_a_new_incident_says_what_stands_against_each_and_takes_its_bump_test(
    client, keeper
):
    tested, stale = (
        register_meter(keeper, label="Meter 1"),
        register_meter(keeper, label="Meter 2"),
    )
    client.post(f"{REGISTER}{tested.key}/test/", {"kind": "bump_test", "passed": "yes"})
    assert "Meter 2 has no passed bump test of the day" in client.get(NEW).text

    client.post(NEW, whole(instruments=[tested.key, stale.key]))

    listed = loads(Incident.objects.get().setup)["instruments"]
    assert [bool(one["last_bump_test"]) for one in listed] == [True, False]


@pytest.fixture
def scene(client, keeper):
    row = register_meter(keeper, label="Meter 1")
    listed = [worksheet_object(Instrument.objects.with_tests().get(pk=row.pk))]
    incident = open_incident(person=keeper, at=timezone.now(), instruments=listed)
    return incident, row, reverse("incidents:incident-instruments", args=(incident.pk,))


def test_an_incident_shows_what_is_along_and_what_stands_against_it(client, scene):
    _, row, url = scene

    page = client.get(url).text

    assert "Meter 1 has no passed bump test of the day." in page


def test_the_commander_takes_another_along(client, keeper, scene):
    incident, row, url = scene
    paper = register_paper(keeper, expires="2020-01-31")

    client.post(url, {"instruments": [row.key, paper.key]})

    incident.refresh_from_db()
    listed = loads(incident.setup)["instruments"]
    assert [one["id"] for one in listed] == [row.key, paper.key]
    assert "the lot has expired" in client.get(url).text


def test_a_technician_sees_what_is_along_and_sets_nothing(client, scene):
    incident, row, url = scene
    client.force_login(join(incident, "technician"))

    assert "Set what goes along" not in client.get(url).text
    assert client.post(url, {"instruments": []}).status_code == 403

    incident.refresh_from_db()
    assert loads(incident.setup)["instruments"]


def test_a_test_that_the_log_does_not_have_is_shown_until_it_is_logged(
    client, keeper, scene
):
    incident, row, url = scene
    outsider = PersonFactory.create(agency=keeper.agency)
    client.force_login(outsider)
    answer = client.post(
        f"{REGISTER}{row.key}/test/", {"kind": "bump_test", "passed": "no"}
    )
    assert f"{incident.name} has it along, and you have no part there" in answer.text
    client.force_login(keeper)

    assert "This stands in the register and not in this log." in client.get(url).text


def test_a_test_in_the_register_says_in_which_log_it_is_as_well(client, keeper, scene):
    incident, row, _ = scene

    answer = client.post(
        f"{REGISTER}{row.key}/test/", {"kind": "bump_test", "passed": "yes"}
    )

    assert f"It is in the log of {incident.name} as well." in answer.text
    assert incident.entries.filter(kind="bump_test").count() == 1
