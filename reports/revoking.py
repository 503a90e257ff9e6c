"""The list of certificates that an agency's root has taken back (RFC 5280, a CRL).

A list proves what was known on its day: it says of each certificate from when on it is not
to be trusted. What was signed before that day goes on holding.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any, Final

from reports.keys import Root, fingerprint, unlocked

# A list is made anew with each report; this is how long others may rely on one.
GOOD_FOR: Final = timedelta(days=365)
REASONS: Final = ("key_compromise", "superseded", "cessation_of_operation")


@dataclass(frozen=True, slots=True, kw_only=True)
class Revoked:
    """A certificate (by its fingerprint) and from when on it is not to be trusted."""

    fingerprint: str
    at: datetime
    words: str = ""


def revocation_list(
    *,
    root: Root,
    passphrase: str,
    revoked: Iterable[tuple[bytes, datetime, str]],
    at: datetime,
) -> bytes:
    """A list signed by the root, as DER. `revoked`: certificate, from when, reason.

    Raises `reports.keys.WrongPassphraseError`.
    """
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.serialization import Encoding

    key, _ = unlocked(root.encrypted_key, passphrase)
    issuer = x509.load_der_x509_certificate(root.certificate)
    now = at.astimezone(UTC).replace(microsecond=0)
    builder = (
        x509.CertificateRevocationListBuilder()
        .issuer_name(issuer.subject)
        .last_update(now)
        .next_update(now + GOOD_FOR)
        .add_extension(x509.CRLNumber(int(now.timestamp())), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(
                issuer.public_key()  # type: ignore[arg-type]  # always P-256
            ),
            critical=False,
        )
    )
    for certificate, since, reason in revoked:
        builder = builder.add_revoked_certificate(_entry(certificate, since, reason))
    signed = builder.sign(key, hashes.SHA256())
    return signed.public_bytes(Encoding.DER)


def _entry(certificate: bytes, since: datetime, reason: str) -> Any:
    from cryptography import x509

    flags = {
        "key_compromise": x509.ReasonFlags.key_compromise,
        "superseded": x509.ReasonFlags.superseded,
        "cessation_of_operation": x509.ReasonFlags.cessation_of_operation,
    }
    return (
        x509.RevokedCertificateBuilder()
        .serial_number(x509.load_der_x509_certificate(certificate).serial_number)
        .revocation_date(since.astimezone(UTC).replace(microsecond=0))
        .add_extension(x509.CRLReason(flags[reason]), critical=False)
        .build()
    )


def named_in(
    lists: Iterable[bytes], certificate: bytes, issuers: Iterable[bytes]
) -> Revoked | None:
    """The earliest entry for `certificate` in a list that one of `issuers` signed.

    A list that none of them signed, or that cannot be read, says nothing.
    """
    from cryptography import x509

    own = x509.load_der_x509_certificate(certificate)
    roots = [x509.load_der_x509_certificate(bytes(one)) for one in issuers]
    found: list[Revoked] = []
    for one in lists:
        try:
            crl = x509.load_der_x509_crl(one)
        except ValueError:
            continue
        if crl.issuer != own.issuer or not any(_signed_by(crl, root) for root in roots):
            continue
        entry = crl.get_revoked_certificate_by_serial_number(own.serial_number)
        if entry is not None:
            since = entry.revocation_date_utc
            found.append(Revoked(fingerprint=fingerprint(certificate), at=since))
    return min(found, key=lambda each: each.at, default=None)


def _signed_by(crl: Any, root: Any) -> bool:
    return bool(
        root.subject == crl.issuer and crl.is_signature_valid(root.public_key())
    )


def list_from_file(data: bytes) -> bytes:
    """The DER of a list, PEM or DER. Raises ValueError for anything else."""
    from cryptography import x509
    from cryptography.hazmat.primitives.serialization import Encoding

    pem = data.lstrip().startswith(b"-----BEGIN")
    load = x509.load_pem_x509_crl if pem else x509.load_der_x509_crl
    return load(data).public_bytes(Encoding.DER)
