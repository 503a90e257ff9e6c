from io import StringIO

import pytest
from cryptography import x509
from django.core.management import CommandError, call_command

from incidents.services.signing_keys import signing_key_of
from tests.factories import START, AgencyFactory

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


def printed(**options):
    out = StringIO()
    call_command("root_certificate", stdout=out, **options)
    return out.getvalue()


def test_what_is_printed_is_the_root_that_certifies_the_agencys_key():
    key = signing_key_of(agency=AgencyFactory.create(), at=START)

    said = printed()

    root = x509.load_pem_x509_certificate(said[said.index("-----BEGIN") :].encode())
    signer = x509.load_der_x509_certificate(bytes(key.certificate))
    signer.verify_directly_issued_by(root)
    assert key.agency.name in said
    assert "PRIVATE" not in said


def test_of_several_agencies_one_must_be_named():
    one, other = AgencyFactory.create_batch(2)
    for agency in (one, other):
        signing_key_of(agency=agency, at=START)

    names = ", ".join(sorted((one.name, other.name)))
    with pytest.raises(CommandError, match=names):
        printed()

    assert printed(agency=other.name).startswith(other.name)


def test_without_a_key_it_says_when_there_will_be_one():
    with pytest.raises(CommandError, match="first report"):
        printed()
