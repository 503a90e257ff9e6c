"""The sealed report: made from the log, signed, kept, and true to the chain."""

import hashlib

import pytest

from incidents import services
from incidents.models import Report, SigningKey
from incidents.services import chain, devices
from incidents.services import reports as service
from reports import reading
from reports.chain import disagreement, head_of
from reports.data import ChainHead
from reports.verifying import verify_pdf
from screening.worksheet import load_json, parse_worksheet
from tests.factories import (
    acid,
    entry,
    join,
    log,
    meter,
    minutes,
    open_incident,
)

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


@pytest.fixture
def incident():
    incident = open_incident()
    reading = log(incident, acid(minutes(1)))
    log(incident, entry("acknowledge", minutes(2), entry=reading.entry.key))
    log(incident, meter(minutes(5), note="<b>not bold</b>"))
    log(incident, acid(minutes(3), ph="7"), recorded_at=minutes(6))
    services.close_incident(
        incident_id=incident.pk,
        person=incident.opened_by,
        at=minutes(9),
        reason="Handed over",
    )
    incident.refresh_from_db()
    return incident


def make(incident, person=None):
    return services.make_report(
        incident_id=incident.pk, person=person or incident.opened_by, at=minutes(10)
    )


def test_a_report_verifies_against_the_root_the_hash_and_the_head(incident):
    report = make(incident)

    pdf = bytes(report.pdf)
    key = SigningKey.objects.get(agency=incident.agency)
    result = verify_pdf(
        pdf,
        [bytes(key.root_certificate)],
        expected_sha256=report.sha256,
        expected_head=ChainHead(seq=incident.head_seq, sha256=incident.head_hash),
    )
    assert result.holds, [str(check) for check in result.checks]
    assert hashlib.sha256(pdf).hexdigest() == report.sha256
    assert (report.head_seq, report.head_hash) == (
        incident.head_seq,
        incident.head_hash,
    )
    assert report.certificate_fingerprint == key.fingerprint
    held = chain.Anchor(seq=report.head_seq, hash=report.head_hash)
    assert chain.verify(incident, anchor=held) is None


def test_the_records_that_travel_with_it_hash_to_the_head(incident):
    report = make(incident)

    files = reading.attachments(bytes(report.pdf))

    head = head_of(files["chain.json"])
    assert (head.seq, head.sha256) == (incident.head_seq, incident.head_hash)
    worksheet = load_json(files["worksheet.json"])
    assert len(parse_worksheet(worksheet).log) == 4


def test_one_key_is_made_for_an_agency_and_used_again(incident):
    first, second = make(incident), make(incident)

    assert SigningKey.objects.count() == 1
    assert first.certificate_fingerprint == second.certificate_fingerprint


def test_a_key_that_ran_out_is_retired_and_its_root_signs_another(incident):
    make(incident)
    later = minutes(60 * 24 * 366 * 6)

    services.make_report(incident_id=incident.pk, person=incident.opened_by, at=later)

    old, new = SigningKey.objects.order_by("created_at")
    assert old.retired_at == later
    assert new.retired_at is None
    assert bytes(old.root_certificate) == bytes(new.root_certificate)
    assert old.fingerprint != new.fingerprint


@pytest.mark.parametrize("role", ["commander", "training_officer", "viewer"])
def test_who_may_have_a_report(incident, role):
    assert make(incident, join(incident, role)).created_by_id


def test_who_may_not(incident):
    for person in (join(incident, "technician"), open_incident().opened_by):
        with pytest.raises(services.NotAllowedError):
            make(incident, person)

    assert Report.objects.count() == 0


def test_a_report_of_an_open_incident_is_of_the_log_as_it_stands():
    incident = open_incident()
    log(incident, acid(minutes(1)))

    report = make(incident)

    assert report.head_seq == 2


def test_an_entry_that_comes_in_meanwhile_is_in_the_report(incident, monkeypatch):
    incident = open_incident()
    log(incident, acid(minutes(1)))
    sealed = service._sealed
    calls = []

    def slow(*arguments):
        calls.append(1)
        pdf = sealed(*arguments)
        if len(calls) < service.ATTEMPTS:
            log(incident, acid(minutes(1 + len(calls))))
        return pdf

    monkeypatch.setattr(service, "_sealed", slow)
    report = make(incident)

    incident.refresh_from_db()
    assert len(calls) == service.ATTEMPTS
    assert (report.head_seq, report.head_hash) == (
        incident.head_seq,
        incident.head_hash,
    )


def test_a_phone_that_joined_stands_in_the_report_and_breaks_nothing():
    incident = open_incident()
    _, secret = devices.offer_device(
        incident_id=incident.pk,
        person=incident.opened_by,
        team="entry-1",
        name="Kim's phone",
        at=minutes(1),
    )
    devices.join_device(secret=secret, at=minutes(2))

    report = make(incident)

    pdf = bytes(report.pdf)
    assert "Kim's phone: joined" in " ".join(reading.page_texts(pdf))
    files = reading.attachments(pdf)
    assert disagreement(files["worksheet.json"], files["chain.json"]) == ""
