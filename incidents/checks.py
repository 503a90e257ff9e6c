"""System checks: what would let a recorded reading be lost, said before the start."""

import shutil
import sqlite3
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, Warning, register
from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper

from incidents.sqlite import wal_is_sound

SYNCHRONOUS_FULL = 2
LEAST_FREE_BYTES = 500_000_000
ROLLBACK_JOURNALS = ("truncate", "delete", "persist")


def journal_mode(connection: BaseDatabaseWrapper) -> str:
    """The journal mode of a live SQLite connection, in lower case."""
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA journal_mode")
        return str(cursor.fetchone()[0]).lower()


def synchronous(connection: BaseDatabaseWrapper) -> int:
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA synchronous")
        return int(cursor.fetchone()[0])


def journal_choice() -> str:
    """Which journal this SQLite gets, and why, in one sentence."""
    version = sqlite3.sqlite_version
    if wal_is_sound(sqlite3.sqlite_version_info):
        return (
            f"SQLite {version} is free of the WAL-reset fault: write-ahead logging, "
            "synchronous=FULL."
        )
    return (
        f"SQLite {version} has the WAL-reset fault (mended in 3.51.3, 3.50.7 and "
        "3.44.6), which can corrupt a database in write-ahead mode: rollback journal, "
        "synchronous=FULL."
    )


def sqlite_faults(mode: str, sync: int, version: tuple[int, int, int]) -> list[Error]:
    """What is wrong with a SQLite connection read back, given the linked version."""
    faults = []
    if mode == "wal" and not wal_is_sound(version):
        faults.append(
            Error(
                "The SQLite database is in write-ahead mode on a SQLite with the "
                "WAL-reset fault.",
                hint=journal_choice(),
                id="incidents.E001",
            )
        )
    elif mode != "wal" and mode not in ROLLBACK_JOURNALS:
        faults.append(
            Error(
                f"The SQLite journal mode is {mode}: a crash could lose the log.",
                hint=journal_choice(),
                id="incidents.E002",
            )
        )
    if sync < SYNCHRONOUS_FULL:
        faults.append(
            Error(
                f"SQLite's synchronous is {sync}: a power cut could lose a reading "
                "that was acknowledged.",
                hint="Leave `synchronous` at FULL (2).",
                id="incidents.E003",
            )
        )
    return faults


@register(Tags.database)
def database_keeps_what_it_acknowledged(
    databases: Sequence[str] | None = None, **_: Any
) -> list[CheckMessage]:
    """Read the durability settings back from live connections."""
    found: list[CheckMessage] = []
    for alias in databases or ():
        connection = connections[alias]
        if connection.vendor == "sqlite":
            found += sqlite_faults(
                journal_mode(connection),
                synchronous(connection),
                sqlite3.sqlite_version_info,
            )
        elif connection.vendor == "postgresql":
            found += _postgresql_faults(connection)
    return found


def _postgresql_faults(connection: BaseDatabaseWrapper) -> list[CheckMessage]:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT name, setting FROM pg_settings WHERE setting = 'off' AND name IN "
            "('fsync', 'synchronous_commit', 'full_page_writes')"
        )
        off = [name for name, _ in cursor.fetchall()]
    return [
        Error(
            f"PostgreSQL runs with {name} off: a power cut could lose a reading.",
            hint=f"Set {name} to on.",
            id="incidents.E004",
        )
        for name in off
    ]


@register(deploy=True)
def there_is_room(**_: Any) -> list[CheckMessage]:
    """Warn before the disk is full; a full disk takes no readings."""
    folder = Path(settings.WORKSHEET_DATA)
    while not folder.exists():
        folder = folder.parent
    if shutil.disk_usage(folder).free >= LEAST_FREE_BYTES:
        return []
    return [
        Warning(
            f"Less than {LEAST_FREE_BYTES // 1_000_000} MB are free where "
            "WORKSHEET_DATA lies.",
            id="incidents.W001",
        )
    ]
