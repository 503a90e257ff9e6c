"""Reads the environment, and refuses loudly what cannot stand."""

import os
import secrets
from pathlib import Path

from django.core.exceptions import ImproperlyConfigured

MODES = ("demo", "production")
SHORTEST_SECRET = 50
SHORTEST_PASSPHRASE = 16


def mode(value: str) -> str:
    if value not in MODES:
        raise ImproperlyConfigured(
            f"WORKSHEET_MODE is {value!r}; expected one of {', '.join(MODES)}."
        )
    return value


def demo_secret(directory: Path, name: str) -> str:
    """A secret made at random on the first run of the demo and kept beside its data."""
    path = directory / name
    try:
        directory.mkdir(parents=True, exist_ok=True)
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return path.read_text(encoding="ascii").strip()
    except OSError:
        # A read-only place: good for this process, sign-ins end with it.
        return secrets.token_urlsafe(64)
    secret = secrets.token_urlsafe(64)
    with os.fdopen(handle, "w", encoding="ascii") as file:
        file.write(secret)
    return secret


def production_secret(name: str, value: str | None, *, shortest: int) -> str:
    """The secret, or a refusal that names the variable and what is wrong with it."""
    if not value:
        raise ImproperlyConfigured(f"{name} is not set. Production needs it.")
    if len(value) < shortest or len(set(value)) < 5 or value.startswith("django-"):
        raise ImproperlyConfigured(
            f"{name} is too weak: at least {shortest} characters, made at random."
        )
    return value


def whole_number(name: str, value: str, *, low: int, high: int) -> int:
    """The number, or a refusal that names the variable and what it may be."""
    if not (value.isascii() and value.isdigit() and low <= int(value) <= high):
        raise ImproperlyConfigured(
            f"{name} is {value!r}; expected a whole number from {low} to {high}."
        )
    return int(value)


def web_address(name: str, value: str) -> str:
    """An address of http or https, or "" for none."""
    if value and not value.startswith(("http://", "https://")):
        raise ImproperlyConfigured(
            f"{name} is {value!r}; expected an address that begins with http."
        )
    return value


def readable_file(name: str, value: str) -> str:
    """The path of a file that can be read, or "" for none."""
    if value and not os.access(value, os.R_OK):
        raise ImproperlyConfigured(f"{name} is {value!r}; no file can be read there.")
    return value
