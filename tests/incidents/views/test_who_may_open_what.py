"""Every route, by every method, for every part and for another agency.

The matrix has a row for each route by name; a route without one fails the first test.
"""

import uuid
from dataclasses import dataclass, field

import pytest
from django.test import Client
from django.urls import URLPattern, get_resolver, reverse
from django.utils import timezone

from incidents import services
from tests.factories import PersonFactory, acid, join, log, open_incident

ROLES = ("commander", "technician", "training_officer", "viewer")
NOBODY = dict.fromkeys(ROLES, 403)
EVERYONE = dict.fromkeys(ROLES, 200)
WRITERS = NOBODY | {"commander": 200, "technician": 200}
COMMAND = NOBODY | {"commander": 200}
NOT_OFFERED = dict.fromkeys(ROLES, 405)


@dataclass
class Row:
    """What GET and an empty POST answer for each part.

    `in_incident`: people of another agency and people without a part get 404.
    An empty POST that is let in is refused by its form (422): it stores nothing.
    """

    get: dict
    post: dict = field(default_factory=lambda: NOT_OFFERED)
    kwargs: dict = field(default_factory=dict)
    in_incident: bool = True


def refused(allowed):
    """The same people; what they sent is not whole."""
    return {role: 422 if status == 200 else status for role, status in allowed.items()}


def sent_on(allowed):
    return {role: 302 if status == 200 else status for role, status in allowed.items()}


MATRIX = {
    "incident-list": [Row(EVERYONE, in_incident=False)],
    "incident-new": [
        Row(
            NOBODY | {"commander": 200},
            NOBODY | {"commander": 422},
            in_incident=False,
        )
    ],
    "sheet": [Row(EVERYONE)],
    "sheet-live": [Row(EVERYONE)],
    "log": [Row(EVERYONE)],
    "entry": [Row(EVERYONE, kwargs={"seq": 2})],
    "put-right": [Row(WRITERS, refused(WRITERS), {"seq": 2})],
    "log-choose": [Row(WRITERS)],
    "log-kind": [
        Row(WRITERS, refused(WRITERS), {"kind": kind})
        for kind in (
            "ph_paper",
            "ki_starch_paper",
            "fluoride_paper",
            "gas_meter",
            "thermal_imager",
            "sign",
            "dosimeter",
            "air_check",
        )
    ],
    "decision": [
        *(
            Row(COMMAND, refused(COMMAND), {"kind": kind})
            for kind in (
                "enter",
                "exit",
                "par",
                "ventilate",
                "clear",
                "change_ensemble",
                "acknowledge",
            )
        ),
        Row(WRITERS, refused(WRITERS), {"kind": "bump_test"}),
    ],
    "team-new": [Row(COMMAND, refused(COMMAND))],
    "people": [Row(COMMAND, refused(COMMAND))],
    "charts": [Row(EVERYONE)],
    "fits": [Row(EVERYONE)],
    "incident-rules": [Row(EVERYONE)],
    "close": [Row(COMMAND, refused(COMMAND))],
    "reopen": [Row(sent_on(COMMAND), sent_on(COMMAND))],
    "report-make": [Row(NOT_OFFERED, dict.fromkeys(ROLES, 302))],
    "reports": [Row(EVERYONE)],
    "report-file": [Row(EVERYONE, kwargs={"number": 0})],
    "worksheet-json": [Row(EVERYONE)],
    "rules": [Row(EVERYONE, in_incident=False)],
    "sources": [Row(EVERYONE, in_incident=False)],
    "sign-in": [
        Row(dict.fromkeys(ROLES, 302), dict.fromkeys(ROLES, 302), in_incident=False)
    ],
    "sign-out": [Row(NOT_OFFERED, dict.fromkeys(ROLES, 302), in_incident=False)],
    "clock": [Row(EVERYONE, in_incident=False)],
    "health": [Row(EVERYONE, in_incident=False)],
}
WITHOUT_SIGN_IN = {"sign-in", "clock", "health"}


def routes():
    """The names of all routes of the whole site."""
    found, waiting = [], list(get_resolver().url_patterns)
    while waiting:
        one = waiting.pop()
        if isinstance(one, URLPattern):
            found.append(one.name)
        else:
            waiting += one.url_patterns
    return found


def cases(rows):
    return [
        pytest.param(
            name, row, id=f"{name}{''.join(f' {v}' for v in row.kwargs.values())}"
        )
        for name, row in rows
    ]


ROWS = [(name, row) for name, rows in MATRIX.items() for row in rows]
CASES = cases(ROWS)
IN_INCIDENT = cases((name, row) for name, row in ROWS if row.in_incident)


@pytest.fixture
def scene(db):
    """An incident with one reading and one report, and a person of each part."""
    commander = PersonFactory.create(may_open=True)
    incident = open_incident(person=commander, at=timezone.now())
    people = {"commander": commander} | {
        role: join(incident, role, may_open=False) for role in ROLES[1:]
    }
    log(incident, acid(timezone.now()), person=people["technician"])
    return incident, people


def address(name, row, incident):
    kwargs = dict(row.kwargs)
    if row.in_incident:
        kwargs["pk"] = incident.pk
    if name == "report-file":
        kwargs["number"] = _report(incident)
    return reverse(f"incidents:{name}", kwargs=kwargs)


def _report(incident):
    """A report as it is kept; what is in it does not matter here."""
    from incidents.models import Report

    return Report.objects.create(
        incident=incident,
        created_at=timezone.now(),
        created_by=incident.opened_by,
        pdf=b"%PDF-",
        sha256="0" * 64,
        head_seq=1,
        head_hash="0" * 64,
        certificate_fingerprint="0" * 64,
    ).pk


def signed_in(person):
    client = Client()
    client.force_login(person)
    return client


def test_every_route_has_a_row_in_the_matrix():
    assert sorted(routes()) == sorted(MATRIX)


def test_every_kind_of_reading_and_decision_has_a_row():
    from incidents.forms.decisions import DECISION_FORMS
    from incidents.forms.readings import READING_FORMS

    assert [row.kwargs["kind"] for row in MATRIX["log-kind"]] == list(READING_FORMS)
    assert {row.kwargs["kind"] for row in MATRIX["decision"]} == set(DECISION_FORMS)


@pytest.mark.parametrize(("name", "row"), CASES)
def test_each_part_gets_what_the_matrix_says(scene, name, row, monkeypatch):
    monkeypatch.setattr(services, "make_report", lambda **given: None, raising=False)
    incident, people = scene
    url = address(name, row, incident)

    answers = {
        role: (
            signed_in(person).get(url).status_code,
            signed_in(person).post(url).status_code,
        )
        for role, person in people.items()
    }

    assert answers == {role: (row.get[role], row.post[role]) for role in ROLES}


@pytest.mark.parametrize(("name", "row"), IN_INCIDENT)
def test_another_agency_and_people_without_a_part_find_nothing(scene, name, row):
    incident, people = scene
    url = address(name, row, incident)
    before = incident.entries.count()
    foreign = PersonFactory.create()
    without_part = PersonFactory.create(agency=incident.agency)

    for person in (foreign, without_part):
        client = signed_in(person)
        if row.get["commander"] != 405:
            assert client.get(url).status_code == 404
        if row.post["commander"] != 405:
            assert client.post(url).status_code == 404

    assert incident.entries.count() == before


@pytest.mark.parametrize(("name", "row"), CASES)
def test_whoever_is_not_signed_in_is_asked_to(scene, name, row):
    incident, _ = scene
    url = address(name, row, incident)

    response = Client().get(url)

    if name in WITHOUT_SIGN_IN:
        assert response.status_code == 200
    else:
        assert response.status_code in (302, 405)
        if response.status_code == 302:
            assert response.url.startswith(reverse("incidents:sign-in"))


@pytest.mark.parametrize("name", ["sheet", "log", "worksheet-json"])
def test_an_incident_that_does_not_exist_is_not_there(scene, name):
    _, people = scene

    response = signed_in(people["commander"]).get(
        reverse(f"incidents:{name}", kwargs={"pk": uuid.uuid4()})
    )

    assert response.status_code == 404


def test_a_report_of_another_incident_is_not_given_out_under_this_one(scene):
    incident, people = scene
    other = open_incident(at=timezone.now())
    url = reverse(
        "incidents:report-file", kwargs={"pk": incident.pk, "number": _report(other)}
    )

    assert signed_in(people["commander"]).get(url).status_code == 404


def test_only_people_who_may_open_are_offered_a_new_incident(scene):
    _, people = scene

    page = signed_in(people["technician"]).get(reverse("incidents:incident-list"))

    assert reverse("incidents:incident-new") not in page.text
