"""Secrets that are shown once and kept as a digest only."""

import hashlib
import secrets
from typing import Final

SECRET_BYTES: Final = 32  # 256 bits: beyond guessing, so a plain hash will do


def new_secret() -> str:
    return secrets.token_urlsafe(SECRET_BYTES)


def digest(secret: str) -> str:
    """SHA-256, 64 hex digits."""
    return hashlib.sha256(secret.encode()).hexdigest()
