"""How SQLite is opened so that an acknowledged reading stays. No Django in here."""

import sqlite3

# The fault is a race of two connections of a database in write-ahead mode that can
# corrupt it. Source: sqlite.org/wal.html and the notes of release 3.51.3, as restated
# by two independent accounts; 3.50.7 and 3.44.6 carry the same mend.
_WAL_RESET_MENDED = {(3, 44): 6, (3, 50): 7, (3, 51): 3}
_FIRST_WITH_WAL = (3, 7, 0)


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
