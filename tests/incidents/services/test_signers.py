"""Who signed a report is said by the keys kept here, not by a certificate's text."""

import pytest
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    pkcs12,
)

from incidents.models import SigningKey
from incidents.report_checks import check, known_here
from reports.verifying import verify_pdf
from tests.conftest import changes_allowed
from tests.factories import minutes, open_incident
from tests.incidents.services.test_signing_keys import (
    CA,
    NONE,
    checked,
    imported,
    sealed,
)
from tests.reports.authority import certificate, usage

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


@pytest.fixture
def incident():
    return open_incident()


def from_the_county(agency, names, county):
    """A key under one root for several agencies; whoever made it chose the name."""
    root_key, root = county
    key = ec.generate_private_key(ec.SECP256R1())
    granted = usage(digital_signature=True)
    own = certificate(
        names, key, "County root", root_key, [(NONE, True), (granted, True)]
    )
    file = pkcs12.serialize_key_and_certificates(
        b"key", key, own, [root], BestAvailableEncryption(b"theirs")
    )
    return imported(agency, file)


@pytest.fixture
def county():
    key = ec.generate_private_key(ec.SECP256R1())
    authority = [(CA, True), (usage(key_cert_sign=True, crl_sign=True), True)]
    return key, certificate("County root", key, "County root", key, authority)


def test_the_signer_is_the_agency_whose_key_it_is_whatever_the_certificate_says(
    incident, county
):
    """Another agency of this server has an imported key that carries the first's name."""
    from tests.reports.authority import NOW

    other = open_incident()
    from_the_county(other.agency, incident.agency.name, county)
    from_the_county(incident.agency, "Station 4", county)

    found = checked(sealed(other, NOW))

    assert found.holds, [str(one) for one in found.refused]
    assert found.agency == other.agency
    assert found.signed_by == (
        f"{other.agency}; its certificate names “{incident.agency.name}”"
    )


def test_a_root_of_several_agencies_names_none_of_them(incident, county):
    """The key itself is not kept here: it is one of the two, or of somebody else."""
    from tests.reports.authority import NOW

    other = open_incident()
    gone = from_the_county(other.agency, "Station 5", county)
    report = sealed(other, NOW)
    with changes_allowed():
        SigningKey.objects.filter(pk=gone.pk).update(
            fingerprint="0" * 64, retired_at=NOW
        )
    from_the_county(incident.agency, "Station 4", county)

    found = checked(report)

    assert found.agency is None
    assert found.signed_by.startswith("nobody who is known here; its certificate")


def test_a_key_that_nobody_here_certified_is_nobody_s(incident):
    """Made elsewhere under the very names that this server's own root has."""
    from reports import signing
    from reports.after_action import build
    from tests.reports.conftest import PASSPHRASE
    from tests.reports.samples import sample

    sealed(incident, minutes(10))
    name = incident.agency.name
    root = signing.make_root(agency=name, passphrase=PASSPHRASE, at=minutes(9))
    signer = signing.issue_signer(
        root=root, agency=name, passphrase=PASSPHRASE, at=minutes(9)
    )
    forged = signing.sign_pdf(
        build(sample()), signer, passphrase=PASSPHRASE, at=minutes(10)
    )

    found = check(
        forged.pdf, known_here(), lambda pdf, known: verify_pdf(pdf, known=known)
    )

    assert found.refused
    assert found.agency is None
    assert found.signed_by.startswith("nobody who is known here")
