"""Small secrets sealed for the database: a copy of it alone does not give them away.

AES-256-GCM under a key derived from SECRET_KEY (HKDF with SHA-256, RFC 5869). A sealed
secret is bound to what it belongs to, so that it opens for nobody else. An older key in
SECRET_KEY_FALLBACKS still opens what it sealed.
"""

import base64
import os
from collections.abc import Iterator
from typing import Final

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django.conf import settings
from django.utils.encoding import force_bytes

MARK: Final = "sealed:"
_NONCE_BYTES: Final = 12  # NIST SP 800-38D, 8.2: 96 bits
_KEY_BYTES: Final = 32


class SealError(ValueError):
    """What was sealed cannot be opened: another key, another owner, or it was changed."""


def is_sealed(text: str) -> bool:
    return text.startswith(MARK)


def seal(secret: bytes, owner: str) -> str:
    """The secret as text; of 20 bytes, 71 characters. Never twice the same."""
    nonce = os.urandom(_NONCE_BYTES)
    key = next(_keys())
    sealed = AESGCM(key).encrypt(nonce, secret, owner.encode())
    return MARK + base64.urlsafe_b64encode(nonce + sealed).decode("ascii")


def unseal(text: str, owner: str) -> bytes:
    """The secret again. Raises `SealError`."""
    try:
        raw = base64.b64decode(text.removeprefix(MARK), altchars=b"-_", validate=True)
    except ValueError as error:
        raise SealError("it is no sealed secret") from error
    for key in _keys():
        try:
            return AESGCM(key).decrypt(
                raw[:_NONCE_BYTES], raw[_NONCE_BYTES:], owner.encode()
            )
        except (InvalidTag, ValueError):
            continue
    raise SealError("it was sealed under another key, or for somebody else")


def _keys() -> Iterator[bytes]:
    """The present key first."""
    for secret in (settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS):
        derived = HKDF(
            algorithm=SHA256(), length=_KEY_BYTES, salt=None, info=b"worksheet secrets"
        )
        yield derived.derive(force_bytes(secret))
