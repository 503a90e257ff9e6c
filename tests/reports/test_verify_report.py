"""`manage.py verify_report`: what holds of a sealed report, against the database too."""

import io
from uuid import uuid4

import pytest
from django.core.management import CommandError, call_command

from incidents import services
from incidents.models import LogEntry
from reports.keys import make_root
from tests.conftest import changes_allowed
from tests.factories import acid, minutes, open_incident

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


@pytest.fixture
def report():
    incident = open_incident()
    person = incident.opened_by
    services.append_entry(
        incident_id=incident.pk,
        person=person,
        body=acid(minutes(2), note="<b>red</b>"),
        client_uuid=uuid4(),
        recorded_at=minutes(2),
    )
    at = minutes(60)
    services.close_incident(
        incident_id=incident.pk, person=person, at=at, reason="Handed over"
    )
    return services.make_report(incident_id=incident.pk, person=person, at=at)


@pytest.fixture
def check(tmp_path):
    """Run the command on some bytes: its lines, and its refusal or ""."""

    def run(pdf, **options):
        file = tmp_path / "report.pdf"
        file.write_bytes(pdf)
        out = io.StringIO()
        refusal = ""
        try:
            call_command("verify_report", str(file), stdout=out, **options)
        except CommandError as error:
            refusal = str(error)
        return out.getvalue(), refusal

    return run


def test_a_sealed_report_holds_in_every_point(report, check):
    said, refusal = check(bytes(report.pdf))

    assert refusal == ""
    assert said.count(": holds.") == 13
    assert "This report holds." in said
    assert report.incident.name in said


def test_one_changed_byte_is_refused_with_the_reason(report, check):
    changed = bytearray(report.pdf)
    place = changed.index(b"/ByteRange") - 400
    changed[place] ^= 1

    said, refusal = check(bytes(changed))

    assert "stored SHA-256" in refusal
    assert "REFUSED" in said
    assert "This report holds." not in said


def test_a_byte_changed_inside_the_signature_is_refused_by_the_stored_hash(
    report, check
):
    changed = bytearray(report.pdf)
    place = changed.index(b"/Contents <") + 5000
    changed[place : place + 1] = b"1" if changed[place : place + 1] != b"1" else b"2"

    said, refusal = check(bytes(changed))

    assert "stored SHA-256: REFUSED" in said
    assert "stored SHA-256" in refusal


def test_a_log_that_was_changed_since_is_refused(report, check):
    with changes_allowed():
        LogEntry.objects.filter(incident=report.incident, seq=2).update(body="{}")

    said, refusal = check(bytes(report.pdf))

    assert refusal == "This report does not hold: log."
    assert "entry 2" in said


def test_a_log_written_anew_with_good_hashes_is_refused_by_the_printed_head(
    report, check
):
    incident = report.incident
    with changes_allowed():
        last = incident.entries.order_by("seq").last()
        before = incident.entries.get(seq=last.seq - 1)
        LogEntry.objects.filter(pk=last.pk).delete()
        type(incident).objects.filter(pk=incident.pk).update(
            head_seq=before.seq, head_hash=before.hash, closed_at=None
        )

    said, refusal = check(bytes(report.pdf))

    assert refusal == "This report does not hold: log."
    assert "anchor" in said


def test_a_report_that_is_stored_nowhere_is_not_vouched_for(report, check):
    pdf = bytes(report.pdf)
    with changes_allowed():
        type(report).objects.all().delete()

    said, refusal = check(pdf)

    assert "signature: holds" in said
    assert "stored SHA-256: not checked" in said
    assert "stored SHA-256" in refusal
    assert "log" in refusal


def test_a_root_can_be_given_as_a_file(report, check, tmp_path):
    key = report.incident.agency.signing_keys.get()
    own, other = tmp_path / "own.der", tmp_path / "other.der"
    own.write_bytes(bytes(key.root_certificate))
    other.write_bytes(
        make_root(agency="Another", passphrase="any", at=minutes(0)).certificate
    )

    assert check(bytes(report.pdf), root=own)[1] == ""
    assert "trust" in check(bytes(report.pdf), root=other)[1]


def test_a_missing_file_and_a_file_without_certificate_are_named(
    report, check, tmp_path
):
    with pytest.raises(CommandError, match="cannot be read"):
        call_command("verify_report", str(tmp_path / "none.pdf"))

    nonsense = tmp_path / "nonsense.pem"
    nonsense.write_bytes(b"nonsense")
    assert "holds no certificate" in check(bytes(report.pdf), root=nonsense)[1]


def test_what_is_no_pdf_is_refused(report, check):
    said, refusal = check(b"no pdf")

    assert "signature: REFUSED" in said
    assert refusal
