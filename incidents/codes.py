"""Secrets that people read out, write down and type: passwords, codes."""

import secrets
from typing import Final

from django.utils.crypto import salted_hmac

# Without the letters and figures that are taken for one another.
_LETTERS: Final = "abcdefghjkmnpqrstuvwxyz23456789"


def random_words(groups: int) -> str:
    """So many groups of four characters, joined by hyphens; 4.95 bits a character."""
    return "-".join(
        "".join(secrets.choice(_LETTERS) for _ in range(4)) for _ in range(groups)
    )


def keyed_hash(purpose: str, typed: str) -> str:
    """What is kept of a code: 64 hexadecimal digits, the same however it was typed.

    Capitals, blanks and hyphens do not count. Keyed with SECRET_KEY, so that a copy of
    the database alone does not let anyone try codes.
    """
    plain = "".join(c for c in typed.casefold() if c.isalnum())
    return salted_hmac(f"worksheet {purpose}", plain, algorithm="sha256").hexdigest()
