"""An agency's keys: a root of its own, and the signer that the root certifies.

All on bytes: certificates as DER, private keys as PKCS #12 under a passphrase. Who keeps
them, and where, is not this module's business. P-256 throughout; the root lasts 35 years,
five more than exposure records are kept (29 CFR 1910.1020(d)(1)), a signer 5.
"""

import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any, Final

ROOT_YEARS: Final = 35
SIGNER_YEARS: Final = 5
# From memory of the OWASP password storage cheat sheet: hundreds of thousands of rounds
# for PBKDF2; loading a key then takes a tenth of a second.
KDF_ROUNDS: Final = 200_000

# A clock that is a little behind must still find a new certificate valid.
_CLOCK_SLACK: Final = timedelta(days=1)
_YEAR: Final = timedelta(days=365.25)
# X.509 allows 64 characters in a common name.
_NAME_LENGTH: Final = 40


class SigningError(Exception):
    """The report was not signed; the message says why in words for people."""


class WrongPassphraseError(SigningError):
    """The passphrase does not open the key, or the key is damaged."""


class CertificateNotValidError(SigningError):
    """The certificate is expired, or not valid yet, at the time of signing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Root:
    """The agency's own root. Its fingerprint belongs on paper, in the safe."""

    certificate: bytes
    encrypted_key: bytes

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the certificate, 64 hex digits."""
        return fingerprint(self.certificate)


@dataclass(frozen=True, slots=True, kw_only=True)
class Signer:
    """The key that signs reports, with the root that certified it."""

    certificate: bytes
    encrypted_key: bytes
    root_certificate: bytes
    between: tuple[bytes, ...] = ()  # certificates from the signer's to the root's

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the certificate, 64 hex digits."""
        return fingerprint(self.certificate)


def fingerprint(certificate: bytes) -> str:
    """SHA-256 of a certificate's DER, 64 hex digits."""
    import hashlib

    return hashlib.sha256(certificate).hexdigest()


def make_root(*, agency: str, passphrase: str, at: datetime) -> Root:
    """A new root for an agency, its key encrypted under `passphrase`."""
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric import ec

    key = ec.generate_private_key(ec.SECP256R1())
    name = _name(agency, "worksheet root")
    builder = _builder(name, name, key.public_key(), at, ROOT_YEARS)
    builder = builder.add_extension(
        x509.BasicConstraints(ca=True, path_length=0), critical=True
    ).add_extension(_usage(certifies=True), critical=True)
    certificate = _signed(builder, key)
    return Root(
        certificate=certificate,
        encrypted_key=encrypted(key, certificate, passphrase),
    )


def issue_signer(*, root: Root, agency: str, passphrase: str, at: datetime) -> Signer:
    """A new signing key certified by the root.

    Raises `WrongPassphraseError` and, past the root's time, `CertificateNotValidError`.
    """
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric import ec

    root_key, _ = unlocked(root.encrypted_key, passphrase)
    check_valid_at(root.certificate, at, "the agency's root")
    issuer = x509.load_der_x509_certificate(root.certificate)
    key = ec.generate_private_key(ec.SECP256R1())
    subject = _name(agency, "report signer")
    builder = _builder(subject, issuer.subject, key.public_key(), at, SIGNER_YEARS)
    authority = x509.AuthorityKeyIdentifier.from_issuer_public_key(
        issuer.public_key()  # type: ignore[arg-type]  # the root's key is always P-256
    )
    builder = (
        builder.add_extension(
            x509.BasicConstraints(ca=False, path_length=None), critical=True
        )
        .add_extension(_usage(certifies=False), critical=True)
        .add_extension(authority, critical=False)
    )
    certificate = _signed(builder, root_key)
    return Signer(
        certificate=certificate,
        encrypted_key=encrypted(key, certificate, passphrase),
        root_certificate=root.certificate,
    )


def unlocked(encrypted_key: bytes, passphrase: str) -> tuple[Any, bytes]:
    """The private key and, as DER, its certificate. Raises `WrongPassphraseError`."""
    from cryptography.hazmat.primitives.serialization import Encoding, pkcs12

    try:
        key, certificate, _ = pkcs12.load_key_and_certificates(
            encrypted_key, passphrase.encode("utf-8")
        )
    except ValueError as error:
        raise WrongPassphraseError(
            "The passphrase does not open the agency's signing key."
        ) from error
    if key is None or certificate is None:
        raise WrongPassphraseError("The stored signing key is not complete.")
    return key, certificate.public_bytes(Encoding.DER)


def check_valid_at(certificate: bytes, at: datetime, whose: str) -> None:
    """Raises `CertificateNotValidError` unless the certificate is valid at that time."""
    from cryptography import x509

    parsed = x509.load_der_x509_certificate(certificate)
    if at > parsed.not_valid_after_utc:
        raise CertificateNotValidError(
            f"The certificate of {whose} expired on {parsed.not_valid_after_utc:%d.%m.%Y}."
            " Make a new signing key."
        )
    if at < parsed.not_valid_before_utc:
        raise CertificateNotValidError(
            f"The certificate of {whose} is not valid before"
            f" {parsed.not_valid_before_utc:%d.%m.%Y}. Check the clock."
        )


def _builder(subject: Any, issuer: Any, key: Any, at: datetime, years: int) -> Any:
    from cryptography import x509

    start = at.astimezone(UTC).replace(microsecond=0)
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(start - _CLOCK_SLACK)
        .not_valid_after(start + years * _YEAR)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key), critical=False)
    )


def _name(agency: str, part: str) -> Any:
    from cryptography import x509
    from cryptography.x509.oid import NameOID

    plain = re.sub(r"[^\w .,&'()-]", "", agency).strip()[:_NAME_LENGTH] or "Agency"
    return x509.Name(
        [
            x509.NameAttribute(NameOID.ORGANIZATION_NAME, plain),
            x509.NameAttribute(NameOID.COMMON_NAME, f"{plain}, {part}"),
        ]
    )


def _usage(*, certifies: bool) -> Any:
    from cryptography import x509

    return x509.KeyUsage(
        digital_signature=not certifies,
        content_commitment=not certifies,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=certifies,
        crl_sign=certifies,
        encipher_only=False,
        decipher_only=False,
    )


def _signed(builder: Any, key: Any) -> bytes:
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.serialization import Encoding

    der: bytes = builder.sign(key, hashes.SHA256()).public_bytes(Encoding.DER)
    return der


def encrypted(key: Any, certificate: bytes, passphrase: str) -> bytes:
    """A private key with its certificate, as PKCS #12 under the passphrase."""
    from cryptography import x509
    from cryptography.hazmat.primitives.hashes import SHA256
    from cryptography.hazmat.primitives.serialization import PrivateFormat, pkcs12

    protection = (
        PrivateFormat.PKCS12.encryption_builder()
        .kdf_rounds(KDF_ROUNDS)
        .key_cert_algorithm(pkcs12.PBES.PBESv2SHA256AndAES256CBC)
        .hmac_hash(SHA256())
        .build(passphrase.encode("utf-8"))
    )
    return pkcs12.serialize_key_and_certificates(
        None, key, x509.load_der_x509_certificate(certificate), None, protection
    )


def certificate_from_file(data: bytes) -> bytes:
    """The DER of a certificate file, PEM or DER. Raises ValueError for anything else."""
    from cryptography import x509
    from cryptography.hazmat.primitives.serialization import Encoding

    pem = data.lstrip().startswith(b"-----BEGIN")
    load = x509.load_pem_x509_certificate if pem else x509.load_der_x509_certificate
    return load(data).public_bytes(Encoding.DER)
