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
from incidents.documents import dumps
from incidents.medical import code_of
from incidents.models import (
    DeviceEntry,
    Incident,
    IncidentRole,
    InstrumentRecord,
    Person,
)
from incidents.services import devices
from incidents.services.critique import Says
from incidents.services.parts import INVITABLE
from incidents.services.signing_keys import signing_key_of
from tests.conftest import kept_for_module
from tests.factories import (
    PersonFactory,
    SopProfileFactory,
    acid,
    join,
    log,
    open_incident,
    register_meter,
)

ROLES = tuple(IncidentRole.Role.values)
NOBODY = dict.fromkeys(ROLES, 403)
EVERYONE = dict.fromkeys(ROLES, 200)
WRITERS = NOBODY | {"commander": 200, "safety_officer": 200, "technician": 200}
COMMAND = NOBODY | {"commander": 200}
SOP = NOBODY | {"training_officer": 200}  # here the one who writes the SOP
REVIEWS = NOBODY | {"training_officer": 200}  # here the one who reviews
KEYS = NOBODY | {"training_officer": 200}  # here the one who runs the agency
MEDICAL = NOBODY | {"medical": 200}
SEES_MEDICAL = MEDICAL | {"safety_officer": 200}
TELLS = COMMAND | {"safety_officer": 200}
CRITICS = TELLS | {"training_officer": 200}
SEES_EXPOSURE = TELLS | {"medical": 200, "training_officer": 200}
ALDER = {"code": code_of("Alder")}
NO_DRILL = {"pk": uuid.UUID(int=1)}
METER = {"key": "four-gas-meter-1"}
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


def sees_exposure():
    return {role: status for role, status in SEES_EXPOSURE.items() if status == 200}


def refused(allowed):
    """The same people; what they sent is not whole."""
    return {role: 422 if status == 200 else status for role, status in allowed.items()}


def absent(allowed):
    return {role: 404 if status == 200 else status for role, status in allowed.items()}


def sent_on(allowed):
    return {role: 302 if status == 200 else status for role, status in allowed.items()}


# Parts that an empty form is not enough for: the others take "nothing said" as it is.
REQUIRED_PARTS = (
    "zones",
    "zones_checked",
    "mode",
    "command",
    "positions",
    "check_in",
    "substances",
    "objectives",
    "hazards",
    "briefing",
    "decon",
    "signatures",
    "handing_over",
)
MATRIX = {
    "incident-list": [Row(EVERYONE, in_incident=False)],
    "incident-new": [
        Row(
            NOBODY | {"commander": 200},
            NOBODY | {"commander": 422},
            in_incident=False,
        )
    ],
    "worksheet-import": [Row(COMMAND, refused(COMMAND), in_incident=False)],
    "sheet": [Row(EVERYONE)],
    "sheet-live": [Row(EVERYONE)],
    "log": [Row(EVERYONE)],
    "entry": [Row(EVERYONE, kwargs={"seq": 2})],
    # The second entry has no photo: `test_photos` opens one that has.
    "photo": [Row(absent(EVERYONE), kwargs={"seq": 2})],
    "photo-add": [Row(absent(WRITERS), absent(WRITERS), {"seq": 2})],
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
    "radio": [Row(WRITERS, refused(WRITERS))],
    "radio-understood": [Row(WRITERS)],
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
                "order",
                "mayday_over",
            )
        ),
        Row(WRITERS, refused(WRITERS), {"kind": "bump_test"}),
        Row(WRITERS, refused(WRITERS), {"kind": "note"}),
        # One touch: nothing is asked. The second to call is told who was first.
        Row(
            WRITERS,
            NOBODY | {"commander": 302, "technician": 409, "safety_officer": 409},
            {"kind": "mayday"},
        ),
    ],
    "plan": [Row(EVERYONE)],
    "plan-part": [
        Row(
            EVERYONE,
            NOBODY
            | {"commander": 422}
            | ({"technician": 422} if part in ("weather", "check_in") else {}),
            {"part": part},
        )
        for part in REQUIRED_PARTS
    ],
    "site-safety-plan": [Row(EVERYONE)],
    "activity-log": [Row(EVERYONE)],
    "incident-briefing": [Row(EVERYONE)],
    "form-file": [
        *(
            Row(EVERYONE, kwargs={"form": form})
            for form in ("site-safety-plan", "activity-log", "incident-briefing")
        ),
        Row(absent(EVERYONE), kwargs={"form": "no-such-form"}),
    ],
    "zones-file": [Row(EVERYONE)],
    "page-head": [Row(EVERYONE)],
    "incident-calendar": [Row(EVERYONE)],
    "team": [Row(dict.fromkeys(ROLES, 403) | {"commander": 404})],
    # The first to take it back does; the second is told so.
    "undo": [
        Row(
            NOT_OFFERED,
            NOBODY | {"commander": 302, "technician": 409, "safety_officer": 409},
            {"seq": 2},
        )
    ],
    "late": [Row(EVERYONE)],
    "light": [Row(NOT_OFFERED, dict.fromkeys(ROLES, 302), in_incident=False)],
    "team-new": [Row(COMMAND, refused(COMMAND))],
    "people": [Row(COMMAND, refused(COMMAND))],
    "devices": [Row(COMMAND, refused(COMMAND))],
    "device-revoke": [Row(NOT_OFFERED, sent_on(COMMAND))],
    "handed-over": [Row(COMMAND, refused(COMMAND))],
    "held": [Row(COMMAND, refused(COMMAND))],
    "field": [Row(EVERYONE, in_incident=False)],
    "field-worker": [Row(EVERYONE, in_incident=False)],
    "field-manifest": [Row(EVERYONE, in_incident=False)],
    "field-icon-svg": [Row(EVERYONE, in_incident=False)],
    "field-icon": [Row(EVERYONE, kwargs={"side": 192}, in_incident=False)],
    # For phones alone: a person's sign-in is no key here.
    "field-link": [Row(NOBODY, in_incident=False)],
    "field-table": [Row(NOBODY, in_incident=False)],
    "field-join": [Row(NOT_OFFERED, NOBODY, in_incident=False)],
    "field-leave": [Row(NOT_OFFERED, NOBODY, in_incident=False)],
    "field-entries": [Row(NOT_OFFERED, NOBODY, in_incident=False)],
    "field-photo": [Row(NOT_OFFERED, NOBODY, in_incident=False)],
    "invite": [Row(COMMAND, refused(COMMAND))],
    # Of an invitation and of a person that there are not in this incident.
    "invitation-withdraw": [Row(NOT_OFFERED, sent_on(COMMAND), {"number": 0})],
    "part-end": [Row(absent(COMMAND), absent(COMMAND), {"number": 0})],
    "charts": [Row(EVERYONE)],
    "fits": [Row(EVERYONE)],
    "incident-rules": [Row(EVERYONE)],
    "what-if": [Row(EVERYONE)],
    "what-if-runs": [Row(REVIEWS, in_incident=False)],
    "what-if-new": [Row(REVIEWS, refused(REVIEWS), in_incident=False)],
    "what-if-run": [Row(REVIEWS, kwargs={"number": 0}, in_incident=False)],
    "what-if-document": [Row(REVIEWS, kwargs={"number": 0}, in_incident=False)],
    "what-if-cancel": [
        Row(NOT_OFFERED, sent_on(REVIEWS), {"number": 0}, in_incident=False)
    ],
    "what-if-go-on": [
        Row(NOT_OFFERED, sent_on(REVIEWS), {"number": 0}, in_incident=False)
    ],
    "close": [Row(COMMAND, refused(COMMAND))],
    "reopen": [Row(sent_on(COMMAND), sent_on(COMMAND))],
    "report-make": [Row(NOT_OFFERED, dict.fromkeys(ROLES, 302))],
    "sign-off": [Row(NOT_OFFERED, refused(EVERYONE | {"viewer": 403}))],
    "reports": [Row(EVERYONE)],
    "report-file": [Row(EVERYONE, kwargs={"number": 0})],
    "worksheet-json": [Row(EVERYONE)],
    # Of a closed incident; this one is open.
    "addendum": [Row(sent_on(WRITERS), sent_on(WRITERS))],
    "readings-file": [Row(EVERYONE, kwargs={"kind": "ph_paper"})],
    "warning-file": [Row(EVERYONE, kwargs={"action": "shelter"})],
    # It looks and stores nothing.
    "record": [Row(EVERYONE, EVERYONE)],
    "look-back": [Row(EVERYONE)],
    "look-back-at": [Row(EVERYONE)],
    "look-back-note-new": [Row(CRITICS, refused(CRITICS))],
    "look-back-note": [
        Row(EVERYONE, refused(CRITICS), {"number": 0}),
    ],
    "follow-up": [Row(EVERYONE, in_incident=False)],
    "follow-up-days": [Row(EVERYONE, in_incident=False)],
    # For its owner, here the technician, who alone says that it is done, and for who
    # reviews the agency's incidents, here the training officer.
    "follow-up-item": [
        Row(
            absent(EVERYONE) | {"technician": 200, "training_officer": 200},
            absent(EVERYONE) | {"technician": 422, "training_officer": 403},
            {"number": 0},
            in_incident=False,
        )
    ],
    "sop-change": [Row(COMMAND, refused(COMMAND), {"number": 0})],
    "line": [Row(EVERYONE)],
    "line-part": [
        *(
            Row(WRITERS, refused(WRITERS), {"part": part})
            for part in ("whereabouts", "decon_line", "decon_check", "exposure_note")
        ),
        *(
            Row(TELLS, refused(TELLS), {"part": part})
            for part in ("notice", "volunteer")
        ),
    ],
    "exposures": [Row(SEES_EXPOSURE)],
    "exposure": [Row(SEES_EXPOSURE, kwargs=ALDER)],
    "medical": [Row(EVERYONE)],
    "medical-new": [Row(MEDICAL, refused(MEDICAL))],
    "medical-looks": [Row(SEES_MEDICAL)],
    "medical-person": [Row(SEES_MEDICAL, kwargs=ALDER)],
    "medical-check": [Row(MEDICAL, refused(MEDICAL), ALDER)],
    "medical-decide": [Row(MEDICAL, refused(MEDICAL), ALDER)],
    "incident-instruments": [Row(EVERYONE, NOBODY | {"commander": 302})],
    "instruments": [Row(EVERYONE, in_incident=False)],
    "due-days": [Row(EVERYONE, in_incident=False)],
    # Of drills that are not there; `test_drills.py` has one that is, for who runs it, for
    # its crew and for others.
    "drills": [Row(EVERYONE, in_incident=False)],
    "drill-days": [Row(EVERYONE, in_incident=False)],
    "drill-own": [Row(sent_on(EVERYONE), in_incident=False)],
    "drill-person": [Row(absent(EVERYONE), kwargs={"number": 0}, in_incident=False)],
    "drill": [Row(absent(EVERYONE), kwargs=NO_DRILL, in_incident=False)],
    "drill-live": [Row(absent(EVERYONE), kwargs=NO_DRILL, in_incident=False)],
    "drill-results": [Row(absent(EVERYONE), kwargs=NO_DRILL, in_incident=False)],
    "drill-next": [Row(NOT_OFFERED, absent(EVERYONE), NO_DRILL, in_incident=False)],
    "drill-end": [Row(NOT_OFFERED, absent(EVERYONE), NO_DRILL, in_incident=False)],
    "drill-answer": [
        Row(NOT_OFFERED, absent(EVERYONE), NO_DRILL | {"seq": 2}, in_incident=False)
    ],
    # For who reviews the agency's incidents, here the training officer.
    "drill-script-new": [Row(SOP, refused(SOP), in_incident=False)],
    "drill-script-from": [Row(absent(SOP), absent(SOP), NO_DRILL, in_incident=False)],
    "drill-script": [Row(absent(SOP), kwargs={"number": 0}, in_incident=False)],
    "drill-script-file": [Row(absent(SOP), kwargs={"number": 0}, in_incident=False)],
    "drill-start": [Row(absent(SOP), absent(SOP), {"number": 0}, in_incident=False)],
    "drill-plan": [Row(absent(SOP), absent(SOP), {"number": 0}, in_incident=False)],
    "drill-call-off": [Row(NOT_OFFERED, absent(SOP), {"number": 0}, in_incident=False)],
    "instrument-new": [
        Row(COMMAND, refused(COMMAND), {"kind": "gas_meter"}, in_incident=False)
    ],
    "instrument": [Row(EVERYONE, kwargs=METER, in_incident=False)],
    "instrument-test": [Row(EVERYONE, refused(EVERYONE), METER, in_incident=False)],
    "instrument-change": [Row(COMMAND, refused(COMMAND), METER, in_incident=False)],
    "instrument-service": [Row(COMMAND, refused(COMMAND), METER, in_incident=False)],
    "instrument-put-right": [
        Row(EVERYONE, refused(EVERYONE), METER | {"number": 0}, in_incident=False)
    ],
    # Nobody here has the name of a member; `test_keeping.py` has those who do.
    "own-record": [Row(EVERYONE, in_incident=False)],
    # Who sees no record of the person is not told that there is one.
    "personal-record": [
        Row(
            dict.fromkeys(ROLES, 404) | sees_exposure(), kwargs=ALDER, in_incident=False
        )
    ],
    # For who runs the agency, here the training officer; it is no part in an incident.
    "employment": [Row(SOP, refused(SOP), in_incident=False)],
    # Each finds there what they may see; test_archive.py has that.
    "archive": [Row(EVERYONE, in_incident=False)],
    "archive-figures": [Row(EVERYONE, in_incident=False)],
    "access-requests": [Row(SOP, refused(SOP), in_incident=False)],
    "access-request": [Row(absent(SOP), absent(SOP), {"number": 0}, in_incident=False)],
    "rules": [Row(EVERYONE, in_incident=False)],
    "sop-list": [Row(EVERYONE, in_incident=False)],
    "sop-compare": [Row(EVERYONE, in_incident=False)],
    "sop-version": [Row(EVERYONE, kwargs={"number": 0}, in_incident=False)],
    "sop-profile": [Row(EVERYONE, kwargs={"number": 0}, in_incident=False)],
    "sop-record": [Row(EVERYONE, kwargs={"number": 0}, in_incident=False)],
    "sop-first": [Row(SOP, refused(SOP), in_incident=False)],
    "sop-import": [Row(SOP, refused(SOP), in_incident=False)],
    "sop-new": [Row(SOP, refused(SOP), {"number": 0}, in_incident=False)],
    "sop-withdraw": [Row(SOP, refused(SOP), {"number": 0}, in_incident=False)],
    # It stores nothing: an empty row is answered with what is to be said of it.
    "sop-check": [Row(NOT_OFFERED, SOP, {"key": "par_interval"}, in_incident=False)],
    "sources": [Row(EVERYONE, in_incident=False)],
    "keys": [Row(KEYS, in_incident=False)],
    "key-new": [Row(NOT_OFFERED, sent_on(KEYS), in_incident=False)],
    "key-import": [Row(KEYS, refused(KEYS), in_incident=False)],
    "key-revoke": [Row(KEYS, refused(KEYS), {"number": 0}, in_incident=False)],
    "key-root": [Row(KEYS, kwargs={"number": 0}, in_incident=False)],
    "key-list": [Row(KEYS, kwargs={"number": 0}, in_incident=False)],
    "verify": [Row(EVERYONE, refused(EVERYONE), in_incident=False)],
    "sign-in": [
        Row(dict.fromkeys(ROLES, 302), dict.fromkeys(ROLES, 302), in_incident=False)
    ],
    # For who has given name and password and is not in yet.
    "sign-in-code": [
        Row(dict.fromkeys(ROLES, 302), dict.fromkeys(ROLES, 302), in_incident=False)
    ],
    "join": [Row(EVERYONE, refused(EVERYONE), in_incident=False)],
    "account": [Row(EVERYONE, in_incident=False)],
    "password": [Row(EVERYONE, refused(EVERYONE), in_incident=False)],
    "second-step": [Row(EVERYONE, refused(EVERYONE), in_incident=False)],
    # They have none; see test_account.py.
    "second-step-remove": [
        Row(sent_on(EVERYONE), sent_on(EVERYONE), in_incident=False)
    ],
    "recovery-codes": [Row(sent_on(EVERYONE), sent_on(EVERYONE), in_incident=False)],
    "sign-out": [Row(NOT_OFFERED, dict.fromkeys(ROLES, 302), in_incident=False)],
    "clock": [Row(EVERYONE, in_incident=False)],
    "health": [Row(EVERYONE, in_incident=False)],
}
WITHOUT_SIGN_IN = {
    "sign-in", "clock", "health", "field", "field-worker", "field-manifest",
    "field-icon-svg", "field-icon",
}  # fmt: skip
# They know neither a session nor a sign-in page: without a phone's cookie it is no.
FOR_PHONES = {
    "field-link", "field-table", "field-join", "field-leave", "field-entries",
    "field-photo",
}  # fmt: skip


def routes():
    """The names of all routes of the site but the admin's, which admin/test_office.py walks."""
    found, waiting = [], list(get_resolver().url_patterns)
    while waiting:
        one = waiting.pop()
        if isinstance(one, URLPattern):
            found.append(one.name)
        elif one.namespace != "admin":
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


@pytest.fixture(scope="module")
def _made(django_db_setup, django_db_blocker):
    with kept_for_module(django_db_blocker):
        yield made_scene()


@pytest.fixture
def scene(_made, db):
    """An incident with one reading and one report, and a person of each part."""
    incident, people = _made
    return (
        Incident.objects.get(pk=incident.pk),
        {role: Person.objects.get(pk=person.pk) for role, person in people.items()},
    )


def made_scene():
    commander = PersonFactory.create(may_open=True)
    sop = SopProfileFactory.create(agency=commander.agency)
    incident = open_incident(person=commander, sop=sop, at=timezone.now())
    people = {"commander": commander} | {
        role: join(
            incident,
            role,
            may_open=False,
            may_edit_sop=role == "training_officer",
            is_agency_owner=role == "training_officer",
            may_review=role == "training_officer",
        )
        for role in ROLES[1:]
    }
    log(incident, acid(timezone.now()), person=people["technician"])
    register_meter(commander)
    return incident, people


def address(name, row, incident):
    kwargs = dict(row.kwargs)
    if row.in_incident:
        kwargs["pk"] = incident.pk
    if name == "report-file":
        kwargs["number"] = _report(incident)
    if name in ("held", "device-revoke"):
        kwargs |= _held(incident, name)
    elif name.startswith("sop-") and name != "sop-change" and "number" in kwargs:
        kwargs["number"] = incident.sop_id
    elif name.startswith("key-") and "number" in kwargs:
        kwargs["number"] = signing_key_of(agency=incident.agency, at=timezone.now()).pk
    if name.startswith("what-if-") and "number" in kwargs:
        kwargs["number"] = _what_if_run(incident)
    if name in ("look-back-note", "follow-up-item"):
        kwargs["number"] = _improvement(incident)
    if name == "instrument-put-right":
        kwargs["number"] = InstrumentRecord.objects.get(kind="added").pk
    return reverse(f"incidents:{name}", kwargs=kwargs)


def _what_if_run(incident):
    """One that nobody has begun."""
    from incidents.models import WhatIfRun

    return WhatIfRun.objects.create(
        agency=incident.agency,
        name="Acid at 2",
        limits='{"acid_stop_ph":2}',
        asked_by=incident.opened_by,
        asked_by_name="Somebody",
        asked_at=timezone.now(),
        total=1,
    ).pk


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


def _improvement(incident):
    """An improvement that the technician owns, where there is one."""
    owned = Person.objects.filter(roles__incident=incident, roles__role="technician")
    owner = owned.first() or incident.opened_by
    return services.pin_note(
        incident_id=incident.pk,
        person=incident.opened_by,
        client_uuid=uuid.uuid4(),
        record="critique",
        kind="improvement",
        moment=incident.opened_at,
        says=Says(text="Wet it", owner=owner, due_on=timezone.now().date()),
        at=timezone.now(),
    ).pk


def _held(incident, name):
    """A phone that has joined and was cut off, with one entry that waits."""
    at = timezone.now()
    device, secret = devices.offer_device(
        incident_id=incident.pk,
        person=incident.opened_by,
        team="entry-1",
        name="Phone",
        at=at,
    )
    if name == "device-revoke":
        return {"device": device.pk}
    devices.join_device(secret=secret, at=at)
    held = DeviceEntry.objects.create(
        device=device,
        counter=1,
        client_uuid=uuid.uuid4(),
        sent=dumps({"observed_at": at.isoformat(), "body": {"kind": "ph_paper"}}),
        received_at=at,
        held_because="The device was revoked.",
        decision=DeviceEntry.Decision.WAITING,
    )
    return {"held": held.pk}


def invited(incident, role="technician", **about):
    """Someone of another agency, who came by a code."""
    person = PersonFactory.create(**({"may_open": False} | about))
    _, code = services.invite(
        incident_id=incident.pk,
        person=incident.opened_by,
        role=role,
        meant_for="E. Moss",
        at=timezone.now(),
    )
    services.accept_invitation(code=code, person=person, at=timezone.now())
    return person


def signed_in(person):
    client = Client()
    client.force_login(person)
    return client


def both(person, url):
    """What this person gets who looks at it, then presses."""
    client = signed_in(person)
    return client.get(url).status_code, client.post(url).status_code


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

    answers = {role: both(person, url) for role, person in people.items()}

    assert answers == {role: (row.get[role], row.post[role]) for role in ROLES}


@pytest.mark.parametrize(("name", "row"), IN_INCIDENT)
def test_another_agency_and_people_without_a_part_find_nothing(scene, name, row):
    incident, people = scene
    url = address(name, row, incident)
    before = incident.entries.count()
    nobody = (
        PersonFactory.create(),
        PersonFactory.create(is_agency_owner=True),
        PersonFactory.create(agency=incident.agency),
        # Who runs an agency keeps its people, not its incidents.
        PersonFactory.create(agency=incident.agency, is_agency_owner=True),
        PersonFactory.create(agency=None, is_superuser=True),
        invited(open_incident(person=PersonFactory.create(agency=incident.agency))),
    )

    for person in nobody:
        client = signed_in(person)
        if row.get["commander"] != 405:
            assert client.get(url).status_code == 404
        if row.post["commander"] != 405:
            assert client.post(url).status_code == 404

    assert incident.entries.count() == before


# Where the first to press is answered otherwise than the second, the order of the parts
# decides; what mutual aid may do there stands in a test of its own.
IN_ANY_ORDER = cases(
    (name, row)
    for name, row in ROWS
    if row.in_incident and name != "undo" and row.kwargs.get("kind") != "mayday"
)


def test_mutual_aid_may_call_a_mayday_and_undo_nothing_of_others(scene):
    incident, _ = scene
    client = signed_in(invited(incident, "technician"))
    undo = reverse("incidents:undo", kwargs={"pk": incident.pk, "seq": 2})
    mayday = reverse("incidents:decision", args=(incident.pk, "mayday"))

    assert client.post(undo).status_code == 403
    assert client.post(mayday).status_code == 302


@pytest.mark.parametrize(("name", "row"), IN_ANY_ORDER)
def test_mutual_aid_gets_what_its_part_gets_in_that_incident_and_no_more(
    scene, name, row, monkeypatch
):
    monkeypatch.setattr(services, "make_report", lambda **given: None, raising=False)
    incident, _ = scene
    url = address(name, row, incident)
    people = {role.value: invited(incident, role.value) for role in INVITABLE}

    answers = {role: both(person, url) for role, person in people.items()}

    assert answers == {role: (row.get[role], row.post[role]) for role in people}


def test_mutual_aid_that_is_over_finds_nothing(scene):
    incident, people = scene
    person = invited(incident)
    services.end_role(
        incident_id=incident.pk,
        person=people["commander"],
        of=person,
        at=timezone.now(),
    )

    for name in ("sheet", "sheet-live", "log", "worksheet-json"):
        url = reverse(f"incidents:{name}", kwargs={"pk": incident.pk})
        assert signed_in(person).get(url).status_code == 404


def test_mutual_aid_sees_nothing_of_the_agency_but_the_incident(scene):
    incident, _ = scene
    agency = incident.agency
    others = open_incident(
        person=PersonFactory.create(agency=agency), name="Other incident of theirs"
    )
    colleague = PersonFactory.create(agency=agency, display_name="Not in this one")
    person = invited(incident, may_open=True)
    client = signed_in(person)

    pages = [client.get(reverse("incidents:incident-list")).text]
    pages.append(client.get(reverse("incidents:incident-new")).text)
    for name in ("sheet", "log", "charts", "reports"):
        url = reverse(f"incidents:{name}", kwargs={"pk": incident.pk})
        pages.append(client.get(url).text)

    assert incident.name in pages[0]
    for text in pages:
        assert others.name not in text
        assert colleague.display_name not in text


@pytest.mark.parametrize(("name", "row"), CASES)
def test_whoever_is_not_signed_in_is_asked_to(scene, name, row):
    incident, _ = scene
    url = address(name, row, incident)

    response = Client().get(url)

    if name in WITHOUT_SIGN_IN:
        assert response.status_code == 200
    elif name in FOR_PHONES:
        assert response.status_code in (403, 405)
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
