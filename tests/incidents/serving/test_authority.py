"""A private authority that may certify one host; checked by another verifier of RFC 5280."""

import os
import stat
from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import load_pem_private_key
from cryptography.x509 import verification

from incidents.serving import authority
from incidents.serving.authority import Files, ServingError

NOW = datetime(2026, 3, 4, 14, 2, tzinfo=UTC)
PASSPHRASE = "a passphrase of the test"
HOST = "post.example.org"


@pytest.fixture
def files(tmp_path):
    made = Files(directory=tmp_path / "https")
    authority.ensure(made, host=HOST, passphrase=PASSPHRASE, now=NOW)
    return made


def certificate(path):
    return x509.load_pem_x509_certificate(path.read_bytes())


def verify(files, host, at=NOW):
    """By the library's own path validation, which reads name constraints."""
    store = verification.Store([certificate(files.authority)])
    builder = verification.PolicyBuilder().store(store).time(at)
    name = x509.DNSName(host)
    verifier = builder.build_server_verifier(name)
    return verifier.verify(certificate(files.certificate), [])


def test_the_certificate_is_good_for_the_host_and_for_no_other(files):
    assert verify(files, HOST)
    with pytest.raises(verification.VerificationError):
        verify(files, "other.example.org")


def test_the_authority_is_bound_to_the_one_name(files):
    found = certificate(files.authority).extensions
    constraints = found.get_extension_for_class(x509.NameConstraints)
    assert constraints.critical
    assert constraints.value.permitted_subtrees == [x509.DNSName(HOST)]
    basic = found.get_extension_for_class(x509.BasicConstraints)
    assert basic.critical
    assert (basic.value.ca, basic.value.path_length) == (True, 0)


def test_a_certificate_that_it_gives_for_another_name_is_worth_nothing(files):
    authority._make_certificate(
        files, host="evil.example.org", passphrase=PASSPHRASE, now=NOW
    )
    with pytest.raises(verification.VerificationError):
        verify(files, "evil.example.org")


def test_an_address_is_a_network_of_itself_alone(tmp_path):
    files = Files(directory=tmp_path)
    authority.ensure(files, host="192.168.1.20", passphrase=PASSPHRASE, now=NOW)
    found = certificate(files.authority).extensions
    (permitted,) = found.get_extension_for_class(
        x509.NameConstraints
    ).value.permitted_subtrees
    assert str(permitted.value) == "192.168.1.20/32"
    authority.ensure(files, host="192.168.1.20", passphrase=PASSPHRASE, now=NOW)


def test_the_authority_s_key_is_encrypted_and_nobody_else_may_read_it(files):
    with pytest.raises(TypeError):
        load_pem_private_key(files.authority_key.read_bytes(), None)
    for path in (files.authority_key, files.key):
        assert stat.S_IMODE(os.stat(path).st_mode) == 0o600


def test_a_second_start_keeps_what_is_good(files):
    before = files.authority.read_bytes(), files.certificate.read_bytes()
    authority.ensure(files, host=HOST, passphrase=PASSPHRASE, now=NOW)
    assert (files.authority.read_bytes(), files.certificate.read_bytes()) == before


def test_a_certificate_that_runs_out_is_renewed_under_the_same_authority(files):
    before = files.authority.read_bytes(), files.certificate.read_bytes()
    later = NOW + timedelta(days=authority.CERTIFICATE_DAYS - 20)
    authority.ensure(files, host=HOST, passphrase=PASSPHRASE, now=later)
    assert files.authority.read_bytes() == before[0]
    assert files.certificate.read_bytes() != before[1]
    assert verify(files, HOST, later + timedelta(days=300))


def test_another_name_is_a_decision_for_a_person(files):
    with pytest.raises(ServingError, match=r"is for post\.example\.org, not for"):
        authority.ensure(
            files, host="other.example.org", passphrase=PASSPHRASE, now=NOW
        )


def test_a_wrong_passphrase_makes_nothing_and_says_so(files):
    files.certificate.unlink()
    with pytest.raises(ServingError, match="passphrase"):
        authority.ensure(files, host=HOST, passphrase="another one", now=NOW)
    assert not files.certificate.exists()


@pytest.mark.parametrize(
    "name", ["https://post", "post:8443", "a b", "", "-x", "1.2.3", "x" * 64]
)
def test_what_is_no_name_is_refused(name):
    with pytest.raises(ServingError, match="no host name or address"):
        authority.host_name(name)


@pytest.mark.parametrize(
    ("name", "taken"),
    [("Post.Example.org.", HOST), ("10.0.0.7", "10.0.0.7"), ("fe80::1", "fe80::1")],
)
def test_names_and_addresses(name, taken):
    assert authority.host_name(name) == taken
