"""Sealing: with a valid key and the right passphrase only, and without a network."""

import io
import socket
from datetime import timedelta

import pytest
from cryptography import x509
from pyhanko.pdf_utils.reader import PdfFileReader

from reports import reading, signing
from reports.keys import ROOT_YEARS, SIGNER_YEARS, certificate_from_file, unlocked
from tests.reports.conftest import AGENCY, PASSPHRASE, SEALED_AT


def years(count):
    return timedelta(days=365.25 * count)


def resolved(reference):
    return reference.get_object()


def signature_of(pdf):
    return PdfFileReader(io.BytesIO(pdf)).embedded_signatures[0]


def test_the_root_certifies_signers_and_nothing_else(root, signer):
    top = x509.load_der_x509_certificate(root.certificate)
    end = x509.load_der_x509_certificate(signer.certificate)

    end.verify_directly_issued_by(top)
    constraints = top.extensions.get_extension_for_class(x509.BasicConstraints).value
    assert (constraints.ca, constraints.path_length) == (True, 0)
    assert not end.extensions.get_extension_for_class(x509.BasicConstraints).value.ca
    assert end.extensions.get_extension_for_class(
        x509.KeyUsage
    ).value.content_commitment
    assert top.public_key().curve.name == "secp256r1"
    assert top.not_valid_after_utc > SEALED_AT + years(ROOT_YEARS) - timedelta(days=1)
    assert end.not_valid_after_utc < SEALED_AT + years(SIGNER_YEARS) + timedelta(days=1)


def test_private_keys_are_only_ever_given_encrypted(root, signer):
    for kept in (root.encrypted_key, signer.encrypted_key):
        with pytest.raises(signing.WrongPassphraseError, match="does not open"):
            unlocked(kept, "wrong")
        assert b"PRIVATE" not in kept


def test_the_seal_is_pades_and_forbids_every_change(sealed):
    signature = signature_of(sealed)

    assert signature.sig_object["/SubFilter"] == "/ETSI.CAdES.detached"
    assert signature.docmdp_level.name == "NO_CHANGES"
    assert signature.self_reported_timestamp == SEALED_AT


def test_the_sources_are_attached_with_their_relationship(sealed, draft):
    files = reading.attachments(sealed)
    root = PdfFileReader(io.BytesIO(sealed)).root

    assert files == {one.name: one.data for one in draft.files}
    relations = {
        str(spec["/UF"]): str(spec["/AFRelationship"])
        for spec in map(resolved, root["/AF"])
    }
    assert relations == {"worksheet.json": "/Source", "chain.json": "/Data"}


def test_the_box_on_the_last_page_names_signer_time_and_head(sealed, signer, draft):
    page = PdfFileReader(io.BytesIO(sealed)).root["/Pages"]["/Kids"][-1].get_object()
    (widget,) = map(resolved, page["/Annots"])

    left, bottom, right, top = map(float, widget["/Rect"])
    assert right - left > 400
    assert 50 < bottom < top < 150
    fonts = widget["/AP"]["/N"]["/Resources"]["/Font"]
    assert len(fonts) == 1


def test_a_report_can_be_sealed_without_a_visible_box(seal):
    page = PdfFileReader(io.BytesIO(seal(visible=False))).root["/Pages"]["/Kids"][-1]
    (widget,) = map(resolved, page.get_object()["/Annots"])

    assert [float(side) for side in widget["/Rect"]] == [0, 0, 0, 0]


def test_names_from_people_cannot_break_the_box(seal):
    sealed = seal(signed_for="%(signer)s %s 100 % \U0001f525 <b>")

    assert signature_of(sealed).self_reported_timestamp == SEALED_AT


def test_sealing_uses_no_network(seal, monkeypatch):
    def refuse(*args, **kwargs):
        raise AssertionError("a socket was opened")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket, "create_connection", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)

    assert seal().startswith(b"%PDF")


def test_the_wrong_passphrase_seals_nothing(seal):
    with pytest.raises(signing.WrongPassphraseError, match="does not open"):
        seal(passphrase="wrong")


@pytest.mark.parametrize(
    ("when", "words"),
    [
        (SEALED_AT + years(SIGNER_YEARS) + timedelta(seconds=1), "signing key expired"),
        (SEALED_AT - timedelta(days=2), "signing key is not valid before"),
    ],
)
def test_a_certificate_out_of_its_time_seals_nothing(seal, when, words):
    with pytest.raises(signing.CertificateNotValidError, match=words):
        seal(at=when)


def test_the_last_second_of_a_certificate_still_seals(seal):
    last = SEALED_AT + years(SIGNER_YEARS)

    assert signature_of(seal(at=last)).self_reported_timestamp == last


def test_an_expired_root_certifies_no_new_signer(root):
    with pytest.raises(signing.CertificateNotValidError, match="root expired"):
        signing.issue_signer(
            root=root,
            agency=AGENCY,
            passphrase=PASSPHRASE,
            at=SEALED_AT + years(ROOT_YEARS + 1),
        )


def test_a_key_and_a_certificate_that_do_not_belong_together_seal_nothing(
    seal, root, signer
):
    mixed = signing.Signer(
        certificate=root.certificate,
        encrypted_key=signer.encrypted_key,
        root_certificate=root.certificate,
    )

    with pytest.raises(signing.SigningError, match="does not belong"):
        seal(signer=mixed)


@pytest.mark.parametrize("agency", ["", "\U0001f525", "x" * 200, "Zoë, Łódź <b>/="])
def test_any_agency_name_gets_a_certificate(agency):
    made = signing.make_root(agency=agency, passphrase=PASSPHRASE, at=SEALED_AT)

    name = x509.load_der_x509_certificate(made.certificate).subject.rfc4514_string()
    assert "worksheet root" in name
    assert "<" not in name


def test_a_certificate_is_read_from_pem_and_der_and_nothing_else(root):
    from cryptography.hazmat.primitives.serialization import Encoding

    parsed = x509.load_der_x509_certificate(root.certificate)

    for encoding in (Encoding.PEM, Encoding.DER):
        assert certificate_from_file(parsed.public_bytes(encoding)) == root.certificate
    with pytest.raises(ValueError, match=r".+"):
        certificate_from_file(b"no certificate")
