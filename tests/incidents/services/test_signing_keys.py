"""The agency's key: made, imported, replaced and taken back; old reports go on holding."""

from datetime import timedelta

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec, rsa
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    pkcs12,
)
from django.conf import settings
from django.db import DatabaseError, transaction

from incidents import services
from incidents.models import KeyRevocation, SigningKey
from incidents.report_checks import check, known_here
from incidents.services import signing_keys
from reports.importing import NotUsableError
from reports.keys import SigningError, unlocked
from reports.verifying import verify_pdf
from tests.factories import PersonFactory, minutes, open_incident
from tests.reports.authority import certificate, usage

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

NONE = x509.BasicConstraints(ca=False, path_length=None)
CA = x509.BasicConstraints(ca=True, path_length=None)


@pytest.fixture
def incident():
    return open_incident(person=PersonFactory.create(is_agency_owner=True))


@pytest.fixture
def owner(incident):
    return incident.opened_by


def sealed(incident, at):
    return services.make_report(
        incident_id=incident.pk, person=incident.opened_by, at=at
    )


def checked(report):
    return check(
        bytes(report.pdf), known_here(), lambda pdf, known: verify_pdf(pdf, known=known)
    )


def words_on(name, found):
    return next(one for one in found.checks if one.name == name)


def test_a_replaced_key_leaves_the_root_and_the_old_reports(incident):
    first = sealed(incident, minutes(10))

    new = signing_keys.replace_key(agency=incident.agency, at=minutes(11))

    second = sealed(incident, minutes(12))
    old = SigningKey.objects.exclude(pk=new.pk).get()
    assert old.retired_at == minutes(11)
    assert bytes(old.root_certificate) == bytes(new.root_certificate)
    assert second.certificate_fingerprint == new.fingerprint
    assert checked(first).holds
    assert checked(second).holds


def test_a_report_of_before_the_revocation_holds_and_says_so(incident, owner):
    report = sealed(incident, minutes(10))
    signing_keys.revoke_key(
        key=SigningKey.objects.get(),
        person=owner,
        since=minutes(20),
        reason="key_compromise",
        words="The laptop was stolen",
        at=minutes(30),
    )

    found = checked(report)

    assert found.holds
    words = words_on("revocation", found).words
    assert "revoked on 2026-03-04 19:20:00 UTC" in words
    assert "after signing: this still holds" in words


def test_a_report_signed_after_the_revocation_is_refused_plainly(incident, owner):
    report = sealed(incident, minutes(10))
    signing_keys.revoke_key(
        key=SigningKey.objects.get(),
        person=owner,
        since=minutes(9),
        reason="key_compromise",
        words="Copied the day before",
        at=minutes(30),
    )

    found = checked(report)

    assert not found.holds
    assert "before this was signed" in words_on("revocation", found).words


def test_the_next_report_after_a_revocation_has_a_new_key_under_the_same_root(
    incident, owner
):
    sealed(incident, minutes(10))
    old = SigningKey.objects.get()
    signing_keys.revoke_key(
        key=old,
        person=owner,
        since=minutes(11),
        reason="superseded",
        words="New laptop",
        at=minutes(12),
    )

    report = sealed(incident, minutes(13))

    new = SigningKey.objects.get(retired_at=None)
    assert new.pk != old.pk
    assert bytes(new.root_certificate) == bytes(old.root_certificate)
    assert checked(report).holds


def test_the_roots_list_names_what_was_revoked(incident, owner):
    sealed(incident, minutes(10))
    key = SigningKey.objects.get()
    before = x509.load_der_x509_crl(signing_keys.list_of_revoked(key, minutes(11)))
    signing_keys.revoke_key(
        key=key,
        person=owner,
        since=minutes(11),
        reason="superseded",
        words="New laptop",
        at=minutes(12),
    )

    after = x509.load_der_x509_crl(signing_keys.list_of_revoked(key, minutes(13)))

    assert len(list(before)) == 0
    assert [entry.revocation_date_utc for entry in after] == [minutes(11)]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"since": minutes(31)}, "a time that has passed"),
        ({"reason": "boredom"}, "one of the reasons"),
        ({"words": " "}, "what happened"),
    ],
)
def test_what_is_not_whole_revokes_nothing(incident, owner, change, words):
    sealed(incident, minutes(10))
    given = {
        "key": SigningKey.objects.get(),
        "person": owner,
        "since": minutes(20),
        "reason": "superseded",
        "words": "New laptop",
        "at": minutes(30),
    }

    with pytest.raises(services.EntryRefusedError, match=words):
        signing_keys.revoke_key(**{**given, **change})

    assert not KeyRevocation.objects.exists()
    assert SigningKey.objects.get().retired_at is None


def test_only_who_runs_this_agency_revokes_its_key_and_only_once(incident, owner):
    sealed(incident, minutes(10))
    given = {
        "key": SigningKey.objects.get(),
        "since": minutes(20),
        "reason": "superseded",
        "words": "New laptop",
        "at": minutes(30),
    }

    for person in (
        PersonFactory.create(agency=incident.agency),
        PersonFactory.create(is_agency_owner=True),
    ):
        with pytest.raises(services.NotAllowedError):
            signing_keys.revoke_key(person=person, **given)
    signing_keys.revoke_key(person=owner, **given)
    with pytest.raises(services.NotAllowedError, match="before"):
        signing_keys.revoke_key(person=owner, **given)


def test_the_database_keeps_a_revocation_as_it_is(incident, owner):
    sealed(incident, minutes(10))
    row = signing_keys.revoke_key(
        key=SigningKey.objects.get(),
        person=owner,
        since=minutes(20),
        reason="superseded",
        words="New laptop",
        at=minutes(30),
    )

    rows = KeyRevocation.objects.filter(pk=row.pk)
    for change in (lambda: rows.update(words=""), rows.delete):
        with (
            pytest.raises(DatabaseError, match="takes no"),
            transaction.atomic(),
        ):
            change()


# --- imported keys ------------------------------------------------------------------


def file_of(key=None, *, above=True, use=None, days=365, passphrase=b"theirs"):
    """A PKCS #12 file with a signer under an intermediate under a root."""
    keys = [ec.generate_private_key(ec.SECP256R1()) for _ in range(2)]
    key = key or ec.generate_private_key(ec.SECP256R1())
    authority = [(CA, True), (usage(key_cert_sign=True, crl_sign=True), True)]
    root = certificate("County root", keys[0], "County root", keys[0], authority)
    between = certificate("County issuing", keys[1], "County root", keys[0], authority)
    granted = use or usage(digital_signature=True)
    own = certificate(
        "Station 4", key, "County issuing", keys[1], [(NONE, True), (granted, True)]
    )
    others = [between, root] if above else [between]
    return pkcs12.serialize_key_and_certificates(
        b"key", key, own, others, BestAvailableEncryption(passphrase)
    )


def imported(agency, file, passphrase="theirs", at=None):
    from tests.reports.authority import NOW

    return signing_keys.import_key(
        agency=agency, file=file, file_passphrase=passphrase, at=at or NOW
    )


@pytest.mark.parametrize("kind", ["P-256", "RSA"])
def test_an_imported_key_seals_reports_that_hold(incident, kind):
    from tests.reports.authority import NOW

    key = rsa.generate_private_key(65537, 2048) if kind == "RSA" else None
    stored = imported(incident.agency, file_of(key))

    report = sealed(incident, NOW)

    found = checked(report)
    assert found.holds, [str(one) for one in found.refused]
    assert found.verification.signer == "Station 4"
    assert report.certificate_fingerprint == stored.fingerprint
    assert stored.imported
    assert bytes(stored.encrypted_root_key) == b""


def test_an_imported_key_is_kept_under_the_servers_own_passphrase(incident):
    stored = imported(incident.agency, file_of())

    unlocked(bytes(stored.encrypted_key), settings.SIGNING_PASSPHRASE)
    with pytest.raises(SigningError, match="does not open"):
        unlocked(bytes(stored.encrypted_key), "theirs")


@pytest.mark.parametrize(
    ("file", "passphrase", "words"),
    [
        (b"no file", "theirs", "no PKCS #12 file"),
        (file_of, "wrong", "another one"),
        (b"x" * 200_000, "theirs", "too large"),
        (lambda: file_of(above=False), "theirs", "missing above"),
        (
            lambda: file_of(ec.generate_private_key(ec.SECP384R1())),
            "theirs",
            "Only keys on the curve P-256",
        ),
        (
            lambda: file_of(rsa.generate_private_key(65537, 1024)),
            "theirs",
            "RSA from 2048",
        ),
        (
            lambda: file_of(use=usage(key_encipherment=True)),
            "theirs",
            "not for signatures",
        ),
    ],
)
def test_a_file_that_cannot_be_used_is_refused_and_nothing_stored(
    incident, file, passphrase, words
):
    with pytest.raises(NotUsableError, match=words):
        imported(
            incident.agency, file if isinstance(file, bytes) else file(), passphrase
        )

    assert not SigningKey.objects.exists()


def test_an_imported_key_that_ran_out_is_not_replaced_behind_the_agencys_back(
    incident,
):
    from tests.reports.authority import NOW

    imported(incident.agency, file_of())

    with pytest.raises(SigningError, match="expired"):
        sealed(incident, NOW + timedelta(days=400))
    assert SigningKey.objects.count() == 1


def test_the_same_key_is_imported_once(incident):
    file = file_of()
    imported(incident.agency, file)

    with pytest.raises(NotUsableError, match="before"):
        imported(incident.agency, file)
