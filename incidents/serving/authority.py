"""A private certificate authority of one host, and the certificate that it gives it.

The authority's key is kept encrypted, and the authority may certify that one host name or
address and nothing else (name constraints, RFC 5280 section 4.2.1.10): a phone that has
installed it trusts no other site through it. P-256 throughout.
"""

import ipaddress
import os
import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey

AUTHORITY_DAYS: Final = 5 * 365
# Apple's limit for certificates since 2020 is 398 days, for those of private authorities
# 825 (from memory of its support pages); the shorter one holds everywhere.
CERTIFICATE_DAYS: Final = 397
RENEW_BEFORE: Final = timedelta(days=30)
_CLOCK_SLACK: Final = timedelta(days=1)
# RFC 1123 section 2.1: letters, digits, hyphens, labels of at most 63.
_LABEL: Final = r"[A-Za-z0-9]([A-Za-z0-9-]{0,61}[A-Za-z0-9])?"
_HOST: Final = re.compile(rf"{_LABEL}(\.{_LABEL})*", re.ASCII)
_LONGEST_HOST: Final = 253


class ServingError(Exception):
    """It cannot be served like this; the message says why in words for people."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Files:
    """Where the parts lie: PEM files in a directory of their own."""

    directory: Path

    @property
    def authority(self) -> Path:
        return self.directory / "authority.pem"

    @property
    def authority_key(self) -> Path:
        return self.directory / "authority-key.pem"

    @property
    def certificate(self) -> Path:
        return self.directory / "certificate.pem"

    @property
    def key(self) -> Path:
        return self.directory / "key.pem"


def host_name(text: str) -> str:
    """A host's name or address as a certificate takes it. Raises `ServingError`."""
    name = text.strip().rstrip(".").lower()
    if _address(name) is not None:
        return name
    digits = name.replace(".", "").isdigit()
    if digits or len(name) > _LONGEST_HOST or not _HOST.fullmatch(name):
        raise ServingError(
            f"{text!r} is no host name or address: expected one such as "
            "post.example.org or 192.168.1.20, without https:// and without a port."
        )
    return name


def _address(name: str) -> ipaddress.IPv4Address | ipaddress.IPv6Address | None:
    try:
        return ipaddress.ip_address(name)
    except ValueError:
        return None


def ensure(files: Files, *, host: str, passphrase: str, now: datetime) -> None:
    """Make what is missing, has run out or is for another host; keep the rest.

    Raises `ServingError` where the authority's key does not open, or the authority that
    phones may have installed is for another host: that is for a person to decide.
    """
    files.directory.mkdir(parents=True, exist_ok=True, mode=0o700)
    if not (files.authority.exists() and files.authority_key.exists()):
        _make_authority(files, host=host, passphrase=passphrase, now=now)
    authority = _load(files.authority)
    if _hosts_of(authority) != [host]:
        raise ServingError(
            f"The authority in {files.directory} is for {', '.join(_hosts_of(authority))}"
            f", not for {host}. Phones trust it for that name alone: serve under that "
            "name, or move the directory away to make a new authority."
        )
    if authority.not_valid_after_utc - now < RENEW_BEFORE:
        raise ServingError(
            "The authority runs out: move the directory away, start again, and install "
            "the new authority on each phone."
        )
    if not _still_good(files, host, authority, now):
        _make_certificate(files, host=host, passphrase=passphrase, now=now)


def fingerprint(files: Files) -> str:
    """SHA-256 of the authority's certificate, in pairs, as phones show it."""
    from cryptography.hazmat.primitives import hashes

    return _load(files.authority).fingerprint(hashes.SHA256()).hex(":").upper()


def authority_der(files: Files) -> bytes:
    """The authority's certificate as phones take it."""
    from cryptography.hazmat.primitives.serialization import Encoding

    return _load(files.authority).public_bytes(Encoding.DER)


def _load(path: Path) -> "x509.Certificate":
    from cryptography import x509

    try:
        return x509.load_pem_x509_certificate(path.read_bytes())
    except ValueError as error:
        raise ServingError(f"{path} is not a certificate: {error}") from error


def _hosts_of(certificate: "x509.Certificate") -> list[str]:
    """What an authority may certify."""
    from cryptography import x509

    constraints = certificate.extensions.get_extension_for_class(x509.NameConstraints)
    hosts = []
    for name in constraints.value.permitted_subtrees or ():
        # An address is kept as the network of itself alone: "192.168.1.20/32".
        hosts.append(str(name.value).partition("/")[0])
    return hosts


def _still_good(
    files: Files, host: str, authority: "x509.Certificate", now: datetime
) -> bool:
    if not (files.certificate.exists() and files.key.exists()):
        return False
    certificate = _load(files.certificate)
    left = certificate.not_valid_after_utc - now
    return certificate.issuer == authority.subject and left > RENEW_BEFORE


def _make_authority(files: Files, *, host: str, passphrase: str, now: datetime) -> None:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import NameOID

    key = ec.generate_private_key(ec.SECP256R1())
    title = f"Incident worksheet, {host}"[:64]
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, title)])
    builder = _builder(subject, subject, key.public_key(), now, AUTHORITY_DAYS)
    builder = (
        builder.add_extension(x509.BasicConstraints(ca=True, path_length=0), True)
        .add_extension(_usage(certifies=True), True)
        .add_extension(
            x509.SubjectKeyIdentifier.from_public_key(key.public_key()), False
        )
        .add_extension(x509.NameConstraints([_constraint(host)], None), True)
    )
    _write(files.authority_key, _pem_of(key, passphrase))
    _write(files.authority, _signed(builder, key))


def _make_certificate(
    files: Files, *, host: str, passphrase: str, now: datetime
) -> None:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

    authority, authority_key = _load(files.authority), _open(files, passphrase)
    key = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, host[:64])])
    builder = _builder(
        authority.subject, subject, key.public_key(), now, CERTIFICATE_DAYS
    )
    issuer = x509.AuthorityKeyIdentifier.from_issuer_public_key(
        authority_key.public_key()
    )
    server = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH])
    builder = (
        builder.add_extension(x509.BasicConstraints(ca=False, path_length=None), True)
        .add_extension(_usage(certifies=False), True)
        .add_extension(server, False)
        .add_extension(issuer, False)
        .add_extension(x509.SubjectAlternativeName([_name(host)]), False)
    )
    _write(files.key, _pem_of(key, ""))
    _write(files.certificate, _signed(builder, authority_key))


def _builder(
    issuer: "x509.Name", subject: "x509.Name", key: object, now: datetime, days: int
) -> "x509.CertificateBuilder":
    from cryptography import x509

    builder = x509.CertificateBuilder(issuer_name=issuer, subject_name=subject)
    start = now.astimezone(UTC) - _CLOCK_SLACK
    return (
        builder.public_key(key)  # type: ignore[arg-type]
        .serial_number(x509.random_serial_number())
        .not_valid_before(start)
        .not_valid_after(start + timedelta(days=days))
    )


def _name(host: str) -> "x509.GeneralName":
    from cryptography import x509

    address = _address(host)
    return x509.DNSName(host) if address is None else x509.IPAddress(address)


def _constraint(host: str) -> "x509.GeneralName":
    """The one name that is permitted; an address as the network of itself alone."""
    from cryptography import x509

    if _address(host) is None:
        return x509.DNSName(host)
    return x509.IPAddress(ipaddress.ip_network(host))


def _usage(*, certifies: bool) -> "x509.KeyUsage":
    from cryptography import x509

    return x509.KeyUsage(
        digital_signature=not certifies,
        key_cert_sign=certifies,
        crl_sign=certifies,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _signed(
    builder: "x509.CertificateBuilder", key: "EllipticCurvePrivateKey"
) -> bytes:
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.serialization import Encoding

    return builder.sign(key, hashes.SHA256()).public_bytes(Encoding.PEM)


def _pem_of(key: "EllipticCurvePrivateKey", passphrase: str) -> bytes:
    from cryptography.hazmat.primitives import serialization

    secret: serialization.KeySerializationEncryption = serialization.NoEncryption()
    if passphrase:
        secret = serialization.BestAvailableEncryption(passphrase.encode())
    return key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, secret
    )


def _open(files: Files, passphrase: str) -> "EllipticCurvePrivateKey":
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    try:
        key = load_pem_private_key(
            files.authority_key.read_bytes(), passphrase.encode()
        )
    except (ValueError, TypeError) as error:
        raise ServingError(
            "The passphrase does not open the authority's key: set SIGNING_PASSPHRASE "
            "to the one of the day it was made."
        ) from error
    assert isinstance(key, ec.EllipticCurvePrivateKey)
    return key


def _write(path: Path, content: bytes) -> None:
    """Written whole or not at all, and to be read by its owner alone."""
    fresh = path.with_suffix(".new")
    fresh.unlink(missing_ok=True)
    handle = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(content)
    fresh.replace(path)
