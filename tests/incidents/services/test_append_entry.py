"""One entry goes in with all that belongs to it, or nothing does."""

import json
import uuid
from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from incidents import judging, services
from incidents.documents import loads
from incidents.models import FindingEvent, LogEntry, StoredFinding
from incidents.services import chain, findings
from screening.verdicts import Action
from tests.factories import START, acid, entry, join, log, meter, minutes, open_incident

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


def counts():
    return (
        LogEntry.objects.count(),
        StoredFinding.objects.count(),
        FindingEvent.objects.count(),
    )


def test_a_reading_is_stored_with_the_verdict_it_led_to():
    incident = open_incident()

    appended = log(incident, acid(START))

    incident.refresh_from_db()
    assert not appended.duplicate
    assert appended.entry.seq == incident.head_seq == 2
    assert appended.entry.hash == incident.head_hash
    assert appended.assessment.by_team()["entry-1"].action is Action.STOP
    stored = StoredFinding.objects.get(team_key="entry-1", hazard="acid_vapour")
    assert stored.entry == appended.entry
    assert stored.action == Action.STOP
    assert "pH 2" in stored.because
    assert stored.source
    raised = stored.events.get()
    assert raised.kind == "raised"
    assert raised.by == incident.opened_by
    assert raised.at == appended.entry.recorded_at


def test_every_append_moves_the_revision_that_the_sheet_polls():
    incident = open_incident()
    before = incident.revision

    log(incident, acid(START))
    log(incident, meter(minutes(1)))

    incident.refresh_from_db()
    assert incident.revision == before + 2


def test_numbers_are_kept_as_they_were_entered():
    incident = open_incident()

    appended = log(incident, meter(START, oxygen_percent=Decimal("20.90")))

    assert '"oxygen_percent":20.90' in appended.entry.body
    hashed = json.loads(bytes(appended.entry.canonical))
    assert hashed["body"] == appended.entry.body


def test_both_times_and_the_author_are_kept():
    incident = open_incident()
    technician = join(incident, "technician", display_name="T. Rowan")

    appended = log(
        incident,
        acid(START),
        person=technician,
        recorded_at=START + timedelta(seconds=9),
    )

    assert appended.entry.observed_at == START
    assert appended.entry.recorded_at == START + timedelta(seconds=9)
    assert appended.entry.author == technician
    assert appended.entry.author_name == "T. Rowan"


def test_a_server_clock_set_back_never_sets_the_record_back():
    incident = open_incident(at=minutes(10))

    appended = log(incident, acid(START), recorded_at=minutes(1))

    assert appended.entry.recorded_at == minutes(10)
    assert chain.verify(fresh(incident)) is None


def fresh(incident):
    incident.refresh_from_db()
    return incident


def test_the_same_entry_sent_twice_is_recorded_once_and_answered_as_the_first_time():
    incident = open_incident()
    sent_as = uuid.uuid4()
    first = log(incident, acid(START), client_uuid=sent_as)
    log(incident, meter(minutes(1), lel_percent=Decimal(12)))
    before = counts(), fresh(incident).revision

    again = log(incident, acid(START), client_uuid=sent_as, recorded_at=minutes(30))

    assert again.duplicate
    assert again.entry == first.entry
    assert again.findings == first.findings
    assert again.assessment == first.assessment
    assert (counts(), fresh(incident).revision) == before


def test_a_late_entry_sent_twice_is_answered_as_the_first_time():
    incident = open_incident()
    sent_as = uuid.uuid4()
    log(incident, meter(minutes(5)))
    first = log(incident, acid(START), client_uuid=sent_as, recorded_at=minutes(6))
    log(incident, acid(minutes(-2), ph="1"), recorded_at=minutes(7))

    again = log(incident, acid(START), client_uuid=sent_as, recorded_at=minutes(8))

    assert again.duplicate
    assert again.findings == first.findings
    assert again.assessment == first.assessment


def test_a_repeat_is_answered_even_when_the_incident_was_closed_since():
    incident = open_incident()
    sent_as = uuid.uuid4()
    first = log(incident, acid(START), client_uuid=sent_as)
    services.close_incident(
        incident_id=incident.pk,
        person=incident.opened_by,
        at=minutes(5),
        reason="Handed over",
    )

    again = log(incident, acid(START), client_uuid=sent_as, recorded_at=minutes(6))

    assert again.duplicate
    assert again.entry == first.entry


@pytest.mark.parametrize(
    "change",
    [
        {"ph": Decimal(3)},
        {"place": "yard"},
        {"at": minutes(1).isoformat()},
        {"note": "x"},
    ],
)
def test_the_same_identifier_with_other_content_is_a_conflict(change):
    incident = open_incident()
    sent_as = uuid.uuid4()
    log(incident, acid(START), client_uuid=sent_as)
    before = counts()

    with pytest.raises(services.DuplicateConflictError):
        log(incident, acid(START) | change, client_uuid=sent_as, recorded_at=minutes(2))

    assert counts() == before


def test_a_repeat_without_a_time_is_the_same_entry():
    incident = open_incident()
    body = acid(START)
    del body["at"]
    sent_as = uuid.uuid4()

    first = log(incident, body, client_uuid=sent_as, recorded_at=START)
    again = log(incident, body, client_uuid=sent_as, recorded_at=minutes(1))

    assert first.entry.observed_at == START
    assert again.duplicate


def test_two_incidents_may_use_one_identifier():
    sent_as = uuid.uuid4()

    first = log(open_incident(), acid(START), client_uuid=sent_as)
    second = log(open_incident(), acid(START), client_uuid=sent_as)

    assert not second.duplicate
    assert first.entry.hash != second.entry.hash


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"ph": Decimal(15)}, "/ph"),
        ({"ph": Decimal("1." + "1" * 30)}, "/ph"),
        ({"team": "entry-9"}, "/team"),
        ({"kind": "opening"}, "/kind"),
        ({"colour": "red"}, "/colour"),
        ({"note": "a\x00b"}, "/note"),
        ({"note": "x" * 10_001}, "/note"),
        ({"place": "a\u202eb"}, "/place"),
        ({"at": "2026-03-04T14:02:00"}, "/at"),
        ({"at": minutes(6).isoformat()}, "/at"),
        ({"id": str(uuid.uuid4())}, "/id"),
    ],
)
def test_what_cannot_be_read_is_refused_by_its_place(change, pointer):
    incident = open_incident()
    before = counts()

    with pytest.raises(services.EntryRefusedError) as refused:
        log(incident, acid(START) | change, recorded_at=START)

    assert pointer in [error.pointer for error in refused.value.errors]
    assert all(error.expected for error in refused.value.errors)
    assert counts() == before


def test_a_float_is_refused():
    with pytest.raises(services.EntryRefusedError, match="float"):
        log(open_incident(), acid(START) | {"ph": 2.5})


def test_the_identifier_of_nothing_is_refused():
    with pytest.raises(services.EntryRefusedError):
        log(open_incident(), acid(START), client_uuid=uuid.UUID(int=0))


def test_a_long_note_is_kept_whole():
    note = "ö" * 4_000

    appended = log(open_incident(), acid(START, note=note))

    assert loads(appended.entry.body)["note"] == note


def fail(*_, **__):
    raise RuntimeError("injected")


@pytest.mark.parametrize(
    ("module", "name"),
    [
        (findings, "store"),
        (findings, "add_events"),
        (findings, "record_answer"),
        (judging, "judge"),
        (services.entries, "save_head"),
    ],
)
def test_a_fault_on_the_way_leaves_nothing_behind(monkeypatch, module, name):
    incident = open_incident()
    log(incident, acid(START))
    before = counts(), fresh(incident).head_hash, incident.revision
    with monkeypatch.context() as patch:
        patch.setattr(module, name, fail)

        with pytest.raises(RuntimeError, match="injected"):
            log(incident, acid(minutes(1), ph="1"))

    assert (counts(), fresh(incident).head_hash, incident.revision) == before
    log(incident, acid(minutes(1), ph="1"))
    assert chain.verify(fresh(incident)) is None


def test_acknowledging_names_who_heard():
    incident = open_incident()
    reading = log(incident, acid(START))

    log(incident, entry("acknowledge", minutes(1), entry=reading.entry.key))

    found = StoredFinding.objects.filter(entry=reading.entry)
    for row in found:
        heard = row.events.get(kind="acknowledged")
        assert heard.by == incident.opened_by
        assert heard.at == minutes(1)
    assert found


def test_an_entry_that_is_not_there_cannot_be_acknowledged_or_struck():
    incident = open_incident()
    other = log(open_incident(), acid(START))

    for body in (
        entry("acknowledge", START, entry=other.entry.key),
        entry("strike", START, entry=other.entry.key, reason="misread"),
        entry("strike", START, entry="o1", reason="misread"),
    ):
        with pytest.raises(services.EntryRefusedError) as refused:
            log(incident, body)
        assert refused.value.errors[0].pointer == "/entry"


def test_the_opening_record_cannot_be_struck():
    incident = open_incident()
    opening = incident.entries.get(seq=1)

    with pytest.raises(services.EntryRefusedError):
        log(incident, entry("strike", START, entry=opening.key, reason="no"))


def test_a_struck_reading_stays_in_the_log_and_no_longer_counts():
    incident = open_incident()
    reading = log(incident, acid(START))

    struck = log(
        incident,
        entry("strike", minutes(1), entry=reading.entry.key, reason="wrong strip"),
    )

    assert struck.assessment.by_team()["entry-1"].action is not Action.STOP
    assert incident.entries.filter(pk=reading.entry.pk).exists()
    assert StoredFinding.objects.filter(entry=reading.entry, superseded=False).exists()


@pytest.mark.parametrize(
    "body",
    [
        entry("exit", minutes(2), team="entry-1"),
        entry("change_ensemble", minutes(2), team="entry-1", ensemble="level_a"),
        entry("ventilate", minutes(2), place="tank room", method="fan at the door"),
    ],
)
def test_what_the_commander_does_about_a_finding_is_noted_on_it(body):
    incident = open_incident()
    log(incident, entry("enter", START, team="entry-1", place="tank room"))
    reading = log(incident, acid(minutes(1)))

    done = log(incident, body)

    row = StoredFinding.objects.get(
        entry=reading.entry, team_key="entry-1", hazard="acid_vapour"
    )
    acted = row.events.get(kind="acted_on")
    assert acted.entry == done.entry
    assert acted.by == incident.opened_by


def test_a_clear_that_holds_is_noted_and_one_that_is_refused_is_not():
    incident = open_incident()
    reading = log(incident, acid(START))
    clear = {"hazard": "acid_vapour", "place": "tank room", "reason": "ventilated"}
    row = StoredFinding.objects.get(
        entry=reading.entry, team_key="entry-1", hazard="acid_vapour"
    )

    log(incident, entry("clear", minutes(1), **clear))
    assert not row.events.filter(kind="cleared").exists()

    log(incident, acid(minutes(2), ph="7"))
    held = log(incident, entry("clear", minutes(3), **clear))

    cleared = row.events.get(kind="cleared")
    assert cleared.entry == held.entry
    assert held.assessment.by_team()["entry-1"].action is not Action.STOP


def test_a_device_name_that_cannot_be_kept_is_refused():
    incident = open_incident()

    with pytest.raises(services.EntryRefusedError) as refused:
        services.append_entry(
            incident_id=incident.pk,
            person=incident.opened_by,
            body=acid(START),
            client_uuid=uuid.uuid4(),
            recorded_at=START,
            device="a\x00b",
        )

    assert refused.value.errors[0].pointer == "/device"
    assert incident.entries.count() == 1


def test_the_agencys_clock_takes_no_query_of_its_own():
    incident = open_incident()
    person = incident.opened_by

    with CaptureQueriesContext(connection) as asked:
        log(incident, acid(START), person=person)

    read = [
        query["sql"] for query in asked if 'FROM "incidents_agency"' in query["sql"]
    ]
    assert asked.captured_queries
    assert read == []
