"""A certificate that was taken back: what was signed before holds, what came after not."""

from datetime import timedelta

import pytest
from cryptography import x509

from reports import revoking, signing
from reports.revoking import Revoked, list_from_file, named_in, revocation_list
from reports.verifying import Known, verify_pdf
from tests.reports.conftest import AGENCY, PASSPHRASE, SEALED_AT

DAY = timedelta(days=1)


@pytest.fixture
def listed(root, signer):
    """A list of the root that takes the signer back from a day on."""

    def make(since, root=root, certificate=signer.certificate):
        return revocation_list(
            root=root,
            passphrase=PASSPHRASE,
            revoked=[(certificate, since, "key_compromise")],
            at=SEALED_AT + 30 * DAY,
        )

    return make


def check(pdf, name, **known):
    found = verify_pdf(pdf, known=Known(**known))
    return next(each for each in found.checks if each.name == name)


def test_the_list_is_one_of_rfc_5280_signed_by_the_root(root, signer, listed):
    """RFC 5280, 5.1 and 5.2.3; read back by the library's own parser."""
    crl = x509.load_der_x509_crl(listed(SEALED_AT + DAY))
    top = x509.load_der_x509_certificate(root.certificate)

    assert crl.is_signature_valid(top.public_key())
    assert crl.issuer == top.subject
    assert crl.next_update_utc > crl.last_update_utc
    (entry,) = list(crl)
    own = x509.load_der_x509_certificate(signer.certificate)
    assert entry.serial_number == own.serial_number
    reason = entry.extensions.get_extension_for_class(x509.CRLReason).value.reason
    assert reason is x509.ReasonFlags.key_compromise
    assert crl.extensions.get_extension_for_class(x509.CRLNumber).value.crl_number > 0


def test_signed_before_it_was_revoked_holds_and_says_so(sealed, root, listed):
    after = SEALED_AT + DAY

    found = check(
        sealed, "revocation", roots=(root.certificate,), lists=(listed(after),)
    )

    assert found.holds is True
    assert f"revoked on {after:%Y-%m-%d %H:%M:%S} UTC, after signing" in found.words
    assert "signer's own word" in found.words


@pytest.mark.parametrize("since", [SEALED_AT, SEALED_AT - DAY])
def test_signed_when_it_was_revoked_or_later_is_refused_plainly(
    sealed, root, listed, since
):
    found = check(
        sealed, "revocation", roots=(root.certificate,), lists=(listed(since),)
    )

    assert found.holds is False
    assert f"revoked on {since:%Y-%m-%d}" in found.words
    assert "before this was signed" in found.words


def test_what_this_server_knows_counts_like_a_list(sealed, root, signer):
    told = Revoked(fingerprint=signer.fingerprint, at=SEALED_AT - DAY, words="stolen")

    found = check(sealed, "revocation", roots=(root.certificate,), revoked=(told,))

    assert found.holds is False
    assert "(stolen)" in found.words


def test_the_earliest_word_against_it_counts(sealed, root, signer, listed):
    told = Revoked(fingerprint=signer.fingerprint, at=SEALED_AT + DAY)

    found = check(
        sealed,
        "revocation",
        roots=(root.certificate,),
        revoked=(told,),
        lists=(listed(SEALED_AT - DAY),),
    )

    assert found.holds is False


def test_a_list_that_another_root_signed_says_nothing(sealed, root, signer, listed):
    foreign = signing.make_root(agency=AGENCY, passphrase=PASSPHRASE, at=SEALED_AT)
    theirs = listed(SEALED_AT - DAY, root=foreign)

    assert named_in([theirs], signer.certificate, [root.certificate]) is None
    found = check(sealed, "revocation", roots=(root.certificate,), lists=(theirs,))
    assert found.holds is True


def test_what_is_no_list_says_nothing_and_is_refused_as_a_file(root, signer, listed):
    assert named_in([b"nonsense"], signer.certificate, [root.certificate]) is None
    with pytest.raises(ValueError, match=r".+"):
        list_from_file(b"nonsense")
    one = listed(SEALED_AT)
    assert list_from_file(one) == one


def test_another_certificate_of_the_root_is_not_touched(root, signer, listed):
    other = signing.issue_signer(
        root=root, agency=AGENCY, passphrase=PASSPHRASE, at=SEALED_AT
    )

    assert named_in([listed(SEALED_AT)], other.certificate, [root.certificate]) is None


def test_every_reason_is_known_to_the_library(root, signer):
    for reason in revoking.REASONS:
        data = revocation_list(
            root=root,
            passphrase=PASSPHRASE,
            revoked=[(signer.certificate, SEALED_AT, reason)],
            at=SEALED_AT,
        )
        (entry,) = list(x509.load_der_x509_crl(data))
        found = entry.extensions.get_extension_for_class(x509.CRLReason).value
        assert found.reason.name == reason
