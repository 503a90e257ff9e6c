import sqlite3

import pytest
from django.db import connection

from incidents import checks
from incidents.sqlite import sqlite_options, wal_is_sound

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


@pytest.mark.parametrize(
    ("version", "sound"),
    [
        # Releases named in the notes of 3.51.3, as restated by two accounts of them.
        ((3, 6, 23), False),
        ((3, 40, 1), False),
        ((3, 44, 5), False),
        ((3, 44, 6), True),
        ((3, 45, 0), False),
        ((3, 50, 6), False),
        ((3, 50, 7), True),
        ((3, 51, 2), False),
        ((3, 51, 3), True),
        ((3, 52, 0), True),
        ((4, 0, 0), True),
    ],
)
def test_write_ahead_logging_only_where_its_fault_is_mended(version, sound):
    assert wal_is_sound(version) is sound


@pytest.mark.parametrize(
    ("version", "journal"), [((3, 40, 1), "TRUNCATE"), ((3, 51, 3), "WAL")]
)
def test_the_journal_follows_the_linked_version(monkeypatch, version, journal):
    monkeypatch.setattr(sqlite3, "sqlite_version_info", version)

    assert f"journal_mode={journal};" in sqlite_options()["init_command"]


@pytest.mark.parametrize(
    ("mode", "sync", "version", "expected"),
    [
        ("wal", 2, (3, 40, 1), ["incidents.E001"]),
        ("wal", 2, (3, 51, 3), []),
        ("truncate", 2, (3, 40, 1), []),
        ("memory", 2, (3, 51, 3), ["incidents.E002"]),
        ("off", 0, (3, 40, 1), ["incidents.E002", "incidents.E003"]),
        ("truncate", 1, (3, 40, 1), ["incidents.E003"]),
        ("truncate", 3, (3, 40, 1), []),
    ],
)
def test_a_connection_that_could_lose_a_reading_is_an_error(
    mode, sync, version, expected
):
    found = checks.sqlite_faults(mode, sync, version)

    assert [fault.id for fault in found] == expected


def test_the_live_connection_keeps_what_it_acknowledged():
    assert checks.database_keeps_what_it_acknowledged(databases=["default"]) == []
    if connection.vendor == "sqlite":
        sound = wal_is_sound(sqlite3.sqlite_version_info)
        assert checks.journal_mode(connection) == ("wal" if sound else "truncate")
        assert checks.synchronous(connection) == checks.SYNCHRONOUS_FULL
        assert connection.transaction_mode == "IMMEDIATE"


def test_the_choice_of_journal_gives_its_reason():
    sentence = checks.journal_choice()

    assert sqlite3.sqlite_version in sentence
    assert "WAL-reset fault" in sentence
