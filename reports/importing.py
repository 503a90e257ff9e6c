"""A signing key that an agency already has, taken from a PKCS #12 file (RFC 7292).

The key is encrypted anew under this server's passphrase; the file's own passphrase is not
kept. The chain in the file must lead from the certificate to one that signed itself.
"""

from datetime import datetime
from typing import Any, Final

from reports.keys import Signer, SigningError, check_valid_at, encrypted

LARGEST_FILE: Final = 100_000
# From memory of NIST SP 800-131A: RSA of fewer bits signs nothing any more.
LEAST_RSA_BITS: Final = 2048


class NotUsableError(SigningError):
    """The file holds no key that reports can be signed with; the message says why."""


def imported_signer(
    file: bytes, *, file_passphrase: str, passphrase: str, at: datetime
) -> Signer:
    """The signer in a PKCS #12 file. Raises `NotUsableError`, `CertificateNotValidError`."""
    from cryptography.hazmat.primitives.serialization import Encoding

    key, certificate, others = _opened(file, file_passphrase)
    _check_kind(key)
    _check_use(certificate)
    der = certificate.public_bytes(Encoding.DER)
    check_valid_at(der, at, "the imported key")
    chain = _chain(certificate, others)
    root = chain[-1].public_bytes(Encoding.DER)
    check_valid_at(root, at, "the imported key's root")
    return Signer(
        certificate=der,
        encrypted_key=encrypted(key, der, passphrase),
        root_certificate=root,
        between=tuple(one.public_bytes(Encoding.DER) for one in chain[1:-1]),
    )


def _opened(file: bytes, file_passphrase: str) -> tuple[Any, Any, list[Any]]:
    from cryptography.hazmat.primitives.serialization import pkcs12

    if len(file) > LARGEST_FILE:
        raise NotUsableError("The file is too large for one key and its certificates.")
    try:
        key, certificate, others = pkcs12.load_key_and_certificates(
            file, file_passphrase.encode("utf-8") if file_passphrase else None
        )
    except (ValueError, TypeError) as error:
        raise NotUsableError(
            "This is no PKCS #12 file, or its passphrase is another one."
        ) from error
    if key is None or certificate is None:
        raise NotUsableError("The file holds no private key with its certificate.")
    return key, certificate, list(others)


def _check_kind(key: Any) -> None:
    from cryptography.hazmat.primitives.asymmetric import ec, rsa

    if isinstance(key, ec.EllipticCurvePrivateKey) and key.curve.name == "secp256r1":
        return
    if isinstance(key, rsa.RSAPrivateKey) and key.key_size >= LEAST_RSA_BITS:
        return
    raise NotUsableError(
        f"Only keys on the curve P-256, or RSA from {LEAST_RSA_BITS} bits, can be used."
    )


def _check_use(certificate: Any) -> None:
    from cryptography import x509

    try:
        usage = certificate.extensions.get_extension_for_class(x509.KeyUsage).value
    except x509.ExtensionNotFound:
        raise NotUsableError(
            "The certificate does not say what it is for; it must allow signatures."
        ) from None
    if not (usage.digital_signature or usage.content_commitment):
        raise NotUsableError("The certificate is not for signatures.")


def _chain(certificate: Any, others: list[Any]) -> list[Any]:
    """From the certificate to one that signed itself."""
    chain = [certificate]
    while chain[-1].issuer != chain[-1].subject:
        above = [one for one in others if _issued(one, chain[-1]) and one not in chain]
        if not above:
            raise NotUsableError(
                "The file must hold the certificates up to the root; one is missing above "
                f"{chain[-1].subject.rfc4514_string()}."
            )
        chain.append(above[0])
    if not _issued(chain[-1], chain[-1]):
        raise NotUsableError("The root in the file did not sign itself.")
    return chain


def _issued(above: Any, below: Any) -> bool:
    from cryptography.exceptions import InvalidSignature

    try:
        below.verify_directly_issued_by(above)
    except (ValueError, TypeError, InvalidSignature):
        return False
    return True
