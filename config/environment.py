"""Reads the environment, and refuses loudly what cannot stand."""

import os
import secrets
import sqlite3
from pathlib import Path

from django.core.exceptions import ImproperlyConfigured

MODES = ("demo", "production")
SHORTEST_SECRET = 50
SHORTEST_PASSPHRASE = 16

# The fault is a race of two connections of a database in write-ahead mode that can
# corrupt it. Source: sqlite.org/wal.html and the notes of release 3.51.3, as restated
# by two independent accounts; 3.50.7 and 3.44.6 carry the same mend.
_WAL_RESET_MENDED = {(3, 44): 6, (3, 50): 7, (3, 51): 3}
_FIRST_WITH_WAL = (3, 7, 0)


def mode(value: str) -> str:
    if value not in MODES:
        raise ImproperlyConfigured(
            f"WORKSHEET_MODE is {value!r}; expected one of {', '.join(MODES)}."
        )
    return value


def wal_is_sound(version: tuple[int, int, int]) -> bool:
    """Whether this SQLite is free of the WAL-reset fault."""
    major, minor, patch = version
    if version < _FIRST_WITH_WAL:
        return False
    if (major, minor) in _WAL_RESET_MENDED:
        return patch >= _WAL_RESET_MENDED[(major, minor)]
    return (major, minor) > max(_WAL_RESET_MENDED)


def sqlite_options() -> dict[str, object]:
    """Immediate transactions, every commit on the disk before it is acknowledged.

    Where write-ahead logging is not to be trusted the rollback journal is used, and
    truncated at commit: unlike deleting it, that is durable at synchronous=FULL without
    a sync of the directory (from memory of sqlite.org/pragma.html, synchronous=EXTRA).
    """
    journal = "WAL" if wal_is_sound(sqlite3.sqlite_version_info) else "TRUNCATE"
    return {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": f"PRAGMA journal_mode={journal}; PRAGMA synchronous=FULL;",
    }


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
