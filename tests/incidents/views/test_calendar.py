"""Calls and follow-ups of an incident as a calendar, for whose part carries them."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from incidents import services
from tests.factories import acid, entry, join, log, open_incident

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


@pytest.fixture
def incident():
    return open_incident(at=timezone.now() - timedelta(hours=1))


def said(incident, **says):
    row = services.record_part(
        incident_id=incident.pk,
        person=incident.opened_by,
        part="calls",
        says={"body": "nrc", "rule": "302.6"} | says,
        at=timezone.now(),
        item="1",
    )
    incident.refresh_from_db()
    return row


def calendar(client, incident, person=None):
    client.force_login(person or incident.opened_by)
    answer = client.get(reverse("incidents:incident-calendar", args=(incident.pk,)))
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    return answer.text.replace("\r\n ", "")


def test_a_call_that_a_rule_asks_for_is_due_from_when_it_was_known(client, incident):
    known = (timezone.now() - timedelta(minutes=9)).replace(microsecond=0)
    said(incident, known_at=known.isoformat())

    text = calendar(client, incident)

    assert f"DTSTART:{known:%Y%m%dT%H%M%SZ}" in text
    assert "SUMMARY:To be called at once: National Response Center" in text
    assert "40 CFR 302.6." in text
    assert "No call is recorded yet." in text


def test_a_call_that_was_made_stands_with_its_report_number(client, incident):
    at = timezone.now().replace(microsecond=0)
    said(
        incident,
        known_at=at.isoformat(),
        called_at=at.isoformat(),
        number="555-0100",
        by="C. Mander",
        report_number="77-1",
    )

    text = calendar(client, incident)

    assert "SUMMARY:Called: National Response Center" in text
    assert "555-0100\\, by C. Mander. Report number 77-1." in text
    assert "at once" not in text


def test_a_call_that_no_rule_asks_for_has_no_time_at_which_it_is_due(client, incident):
    said(incident, body="other", which="Water works", rule="none")

    assert "BEGIN:VEVENT" not in calendar(client, incident)


def test_the_calls_begin_no_plan_that_keeps_a_team_out(incident):
    from incidents import plans

    said(incident, body="other", which="Water works", rule="none")

    assert not plans.plan_of(incident).begun


@pytest.mark.parametrize(
    ("says", "pointer"),
    [
        ({}, "/says/known_at"),
        ({"body": "other", "rule": "none"}, "/says/which"),
        ({"rule": "none", "report_number": "1"}, "/says/called_at"),
        ({"rule": "none", "called_at": "2026-03-04T14:02:00Z"}, "/says/by"),
    ],
)
def test_a_call_that_is_not_whole_is_refused_at_its_field(incident, says, pointer):
    with pytest.raises(services.EntryRefusedError) as refusal:
        said(incident, **says)

    assert pointer in [error.pointer for error in refusal.value.errors]


@pytest.fixture
def came_out(incident):
    at = incident.opened_at
    log(incident, entry("enter", at, team="entry-1", place="tank room"))
    log(incident, acid(at + timedelta(minutes=5)))
    log(incident, entry("exit", at + timedelta(minutes=20), team="entry-1"))
    incident.refresh_from_db()
    return incident


@pytest.mark.parametrize(
    ("role", "sees"),
    [("medical", True), ("safety_officer", True), ("viewer", False),
     ("technician", False), ("training_officer", False)],
)  # fmt: skip
def test_that_a_check_is_due_is_for_who_may_see_medical_alone(
    client, came_out, role, sees
):
    text = calendar(client, came_out, join(came_out, role))

    assert ("SUMMARY:Medical check due: Alder" in text) is sees
    assert ("Alder" in text) is sees


@pytest.mark.parametrize(
    ("role", "sees"), [("safety_officer", True), ("technician", False)]
)
def test_the_end_of_the_watch_after_fluoride_is_for_who_sees_exposure(
    client, came_out, role, sees
):
    """29 CFR 1910.146, note to the definition of IDLH: 12 to 72 hours later."""
    services.amend_setup(
        incident_id=came_out.pk,
        person=came_out.opened_by,
        changes={"suspects": ["hydrogen fluoride"]},
        at=timezone.now(),
    )
    came_out.refresh_from_db()
    out = came_out.opened_at + timedelta(minutes=20)

    text = calendar(client, came_out, join(came_out, role))

    assert (f"DTSTART:{out + timedelta(hours=72):%Y%m%dT%H%M%SZ}" in text) is sees
    assert ("Watch ends for delayed effects: Alder" in text) is sees
