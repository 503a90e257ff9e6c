"""The pages of the signing key, of signing off and of checking a report."""

import io
import uuid
import zlib

import pikepdf
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from incidents import services
from incidents.models import KeyRevocation, SigningKey
from incidents.services.signing_keys import signing_key_of
from tests.conftest import changes_allowed
from tests.factories import PersonFactory, acid, log, minutes, open_incident
from tests.incidents.services.test_signing_keys import file_of

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


def signed_in(person):
    client = Client()
    client.force_login(person)
    return client


@pytest.fixture
def owner():
    return PersonFactory.create(is_agency_owner=True)


@pytest.fixture
def incident(owner):
    incident = open_incident(person=owner)
    log(incident, acid(minutes(1), note="<b>loud</b>"))
    return incident


@pytest.fixture
def report(incident):
    return services.make_report(
        incident_id=incident.pk, person=incident.opened_by, at=minutes(10)
    )


def upload(pdf, name="report.pdf"):
    return SimpleUploadedFile(name, bytes(pdf), "application/pdf")


def verify(person, pdf, **more):
    address = reverse("incidents:verify")
    return signed_in(person).post(address, {"file": upload(pdf), **more})


def words(answer):
    return " ".join(answer.text.split())


# --- the key --------------------------------------------------------------------------


def test_the_owner_makes_replaces_and_sees_the_keys(owner):
    client = signed_in(owner)

    for _ in range(2):
        client.post(reverse("incidents:key-new"))

    live = SigningKey.objects.get(retired_at=None)
    page = words(client.get(reverse("incidents:keys")))
    assert SigningKey.objects.count() == 2
    assert live.fingerprint in page
    assert "In use" in page
    assert "Replaced" in page


def test_a_key_is_imported_on_the_page(owner):
    answer = signed_in(owner).post(
        reverse("incidents:key-import"),
        {"file": upload(file_of(), "key.p12"), "passphrase": "theirs"},
    )

    assert answer.status_code == 302
    assert SigningKey.objects.get().imported


def test_a_wrong_passphrase_is_said_beside_the_file_and_never_shown(owner):
    answer = signed_in(owner).post(
        reverse("incidents:key-import"),
        {"file": upload(file_of(), "key.p12"), "passphrase": "not-theirs"},
    )

    assert answer.status_code == 422
    assert "its passphrase is another one" in words(answer)
    assert "not-theirs" not in answer.text
    assert not SigningKey.objects.exists()


def test_a_key_is_revoked_on_the_page_in_the_agencys_own_time(report, owner):
    key = SigningKey.objects.get()

    answer = signed_in(owner).post(
        reverse("incidents:key-revoke", args=(key.pk,)),
        {
            "since": "2026-03-04 13:30",  # in Chicago
            "reason": "key_compromise",
            "words": "The laptop was stolen",
        },
    )

    assert answer.status_code == 302
    assert KeyRevocation.objects.get().since == minutes(30)
    assert (
        "The laptop was stolen" in signed_in(owner).get(reverse("incidents:keys")).text
    )


@pytest.mark.parametrize(
    "since", ["", "yesterday", "2999-01-01 00:00", "2026-02-30 1:1"]
)
def test_a_time_that_is_none_revokes_nothing(report, owner, since):
    key = SigningKey.objects.get()

    answer = signed_in(owner).post(
        reverse("incidents:key-revoke", args=(key.pk,)),
        {"since": since, "reason": "superseded", "words": "New one"},
    )

    assert answer.status_code == 422
    assert not KeyRevocation.objects.exists()


def test_the_key_of_another_agency_is_not_found(report):
    stranger = PersonFactory.create(is_agency_owner=True)
    key = SigningKey.objects.get()

    for name in ("key-revoke", "key-root", "key-list"):
        url = reverse(f"incidents:{name}", args=(key.pk,))
        assert signed_in(stranger).get(url).status_code == 404


# --- signing off ----------------------------------------------------------------------


def test_signing_off_on_the_page_is_kept_once_and_named(incident):
    client = signed_in(incident.opened_by)
    page = client.get(reverse("incidents:reports", args=(incident.pk,)))
    assert "Missing" in words(page)
    sent = {"client_uuid": uuid.uuid4(), "answer": "agree", "dissent": ""}

    for _ in range(2):
        client.post(reverse("incidents:sign-off", args=(incident.pk,)), sent)

    after = words(client.get(reverse("incidents:reports", args=(incident.pk,))))
    assert incident.entries.filter(kind="sign_off").count() == 1
    assert "Missing" not in after
    assert "entries 1 to 2" in after


def test_a_dissent_without_words_is_asked_for_them(incident):
    answer = signed_in(incident.opened_by).post(
        reverse("incidents:sign-off", args=(incident.pk,)),
        {"client_uuid": uuid.uuid4(), "answer": "dissent", "dissent": ""},
    )

    assert answer.status_code == 422
    assert "Say what you do not stand for." in words(answer)


# --- checking a report ----------------------------------------------------------------


def test_a_report_of_this_server_is_said_to_hold_by_the_log_too(report, owner):
    answer = verify(owner, report.pdf)

    page = words(answer)
    assert answer.status_code == 200
    assert "log says the same." in page
    assert f"Signed by </dt> <dd> {owner.agency}; its certificate names" in page
    assert "by the signer's own clock" in page
    assert "PAdES B-B" in page
    assert report.incident.name in page


def test_a_changed_byte_is_said_plainly(report, owner):
    changed = bytearray(report.pdf)
    changed[len(changed) // 2] ^= 1

    page = words(verify(owner, bytes(changed)))

    assert "This report does not hold." in page
    assert "Signed by" not in page
    assert "not from a root that is known here" not in page
    assert "Its bytes are as they were signed" not in page
    assert page.rindex(": not in order.") < page.index(": in order.")


def test_to_a_stranger_it_is_one_of_another_server(report):
    stranger = PersonFactory.create()

    page = words(verify(stranger, report.pdf))

    assert "The report holds in itself. It is not held against a log" in page
    assert f">{report.incident.name}</a>" not in page
    assert "not checked" in page


def test_a_report_of_another_server_needs_its_root(report, owner):
    pdf = bytes(report.pdf)
    root = bytes(SigningKey.objects.get().root_certificate)
    with changes_allowed():
        type(report).objects.all().delete()
        SigningKey.objects.all().delete()

    without = words(verify(owner, pdf))
    given = words(verify(owner, pdf, root=upload(root, "root.der")))

    assert "This report does not hold." in without
    assert "Its bytes are as they were signed, but nobody" in without
    assert "not from a root that is known here" in without
    assert "The report holds in itself." in given
    assert "made on another server" in given


def test_a_revocation_is_said_on_the_page(report, owner):
    KeyRevocation.objects.create(
        key=SigningKey.objects.get(),
        since=minutes(20),
        recorded_at=minutes(21),
        recorded_by="Somebody",
        reason="key_compromise",
    )

    page = words(verify(owner, report.pdf))

    assert "revoked on 2026-03-04 19:20:00 UTC" in page
    assert "after signing" in page


def encrypted(pdf):
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(bytes(pdf))) as opened:
        opened.save(out, encryption=pikepdf.Encryption(owner="o", user="u"))
    return out.getvalue()


def many_pages():
    out = io.BytesIO()
    with pikepdf.new() as made:
        for _ in range(3000):
            made.add_blank_page()
        made.save(out)
    return out.getvalue()


def xref_loop(pdf):
    """The newest cross-reference names itself as the one before it."""
    pdf = bytes(pdf)
    start = int(pdf.rsplit(b"startxref\n", 1)[1].split()[0])
    at = pdf.index(b"/Prev ", start)
    end = pdf.index(b"\n", at)
    return pdf[:at] + f"/Prev {start}".encode().ljust(end - at) + pdf[end:]


def page_loop():
    return (
        b"%PDF-1.7\n1 0 obj\n<</Type/Catalog/Pages 2 0 R>>\nendobj\n"
        b"2 0 obj\n<</Type/Pages/Count 1/Kids[2 0 R]>>\nendobj\n"
        b"xref\n0 3\n0000000000 65535 f \n0000000009 00000 n \n0000000054 00000 n \n"
        b"trailer\n<</Size 3/Root 1 0 R>>\nstartxref\n103\n%%EOF\n"
    )


def deep():
    return b"%PDF-1.7\n1 0 obj\n" + b"[" * 200_000 + b"\nendobj\ntrailer<</Root 1 0 R>>"


def bomb():
    """A page whose words are a thousand megabytes of spaces."""
    packed = zlib.compress(b" " * 100_000_000, 9)
    out = io.BytesIO()
    with pikepdf.new() as made:
        made.add_blank_page()
        made.pages[0].Contents = pikepdf.Stream(made, b" " * 1000)
        made.save(out, compress_streams=False)
    plain = out.getvalue()
    old = b" " * 1000
    return plain.replace(old, packed).replace(
        b"/Length 1000", f"/Filter /FlateDecode /Length {len(packed)}".encode()
    )


HOSTILE = {
    "no PDF": lambda pdf: b"no PDF at all",
    "a picture": lambda pdf: b"\x89PNG\r\n\x1a\n" + b"\0" * 100,
    "only a head": lambda pdf: b"%PDF-1.7\n",
    "cut off": lambda pdf: bytes(pdf)[: len(pdf) // 2],
    "encrypted": encrypted,
    "many pages": lambda pdf: many_pages(),
    "cross-references in a ring": xref_loop,
    "pages in a ring": lambda pdf: page_loop(),
    "nested without end": lambda pdf: deep(),
    "packed tightly": lambda pdf: bomb(),
}


@pytest.mark.parametrize("kind", HOSTILE)
def test_a_hostile_file_gets_a_plain_refusal(report, owner, kind):
    answer = verify(owner, HOSTILE[kind](report.pdf))

    assert answer.status_code in (200, 422)
    page = words(answer)
    assert "This report does not hold." in page or "Not checked" in page
    assert "Traceback" not in page


def test_a_file_that_is_too_large_is_refused_unread(owner, monkeypatch):
    monkeypatch.setattr(
        "reports.apart.verify_apart", lambda *given: pytest.fail("it was read")
    )
    answer = verify(owner, b"%PDF-" + b"\0" * 25_000_001)

    assert answer.status_code == 422
    assert "larger than 25 MB" in words(answer)


def test_what_outlasts_its_time_is_refused(report, owner, monkeypatch):
    monkeypatch.setattr("reports.apart.SECONDS", 0.01)

    answer = verify(owner, report.pdf)

    assert answer.status_code == 422
    assert "took too long" in words(answer)


def test_a_root_that_is_none_is_said_beside_its_field(report, owner):
    answer = verify(owner, report.pdf, root=upload(b"nonsense", "root.pem"))

    assert answer.status_code == 422
    assert "This file holds no certificate." in words(answer)


def test_nothing_of_a_checked_file_is_kept(report, owner):
    before = type(report).objects.count()

    verify(owner, report.pdf)

    assert type(report).objects.count() == before
    assert signing_key_of(agency=owner.agency, at=minutes(11)).retired_at is None
