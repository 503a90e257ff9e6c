"""A backup goes back into an empty place, or is refused in plain words and nothing moves.

The file may be cut off, damaged, of another program or of a newer one: all of it is read,
and its database opened beside the one that is here, before anything is put in place.
"""

import hashlib
import json
import os
import re
import sqlite3
import tempfile
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from contextlib import closing
from pathlib import Path
from typing import Any, Final
from uuid import UUID

from django.conf import settings
from django.core.management.base import CommandError
from django.db import connection
from django.db.migrations.loader import MigrationLoader

from incidents.management.keeping import (
    FILES,
    FORMAT,
    MANIFEST,
    PIECE,
    POSTGRESQL,
    SQLITE,
    VERSION,
    database_name,
    run,
)

# A manifest names each file and each incident in a line; one of this size is none.
LARGEST_MANIFEST: Final = 50_000_000
_SHA256: Final = re.compile(r"[0-9a-f]{64}")
_HEAD: Final = re.compile(r"[0-9]{1,10}:[0-9a-f]{64}")
# What reading a file that is no whole zip raises, whatever it is instead.
_UNREADABLE: Final = (
    zipfile.BadZipFile,
    zlib.error,
    EOFError,
    NotImplementedError,  # packed in a way that this program does not unpack
    RuntimeError,  # locked by a password
    ValueError,
    KeyError,
    RecursionError,
)


class NoBackupError(ValueError):
    """The file is no backup that can be put in here; the message says why."""


def restore(path: Path) -> dict[str, Any]:
    """Put a backup into an empty place; nothing is touched before all of it was read.

    Raises `CommandError` in plain words for a place that is not empty, and for a file
    that is not a whole backup of this program.
    """
    if connection.introspection.table_names():
        raise CommandError(
            "The database here is not empty. A backup goes into an empty one: set "
            "WORKSHEET_DATA or DATABASE_URL to another place."
        )
    into = settings.WORKSHEET_DATA
    into.mkdir(parents=True, exist_ok=True)
    try:
        with (
            zipfile.ZipFile(path) as archive,
            tempfile.TemporaryDirectory(dir=into) as folder,
        ):
            manifest = _checked(archive)
            database = Path(folder) / database_name()
            _put(archive, database_name(), database)
            _check_database(database)
            _put_files(archive, manifest)
            _put_database(database)
    except NoBackupError as error:
        raise _refused(path, str(error)) from error
    except OSError as error:
        raise _refused(path, error.strerror or "it cannot be read") from error
    except _UNREADABLE as error:
        raise _refused(path, "it is damaged, cut off, or no backup") from error
    return manifest


def _refused(path: Path, why: str) -> CommandError:
    return CommandError(f"{path} was not restored: {why}. Nothing here was changed.")


# --- What the file says ---------------------------------------------------------------


def _checked(archive: zipfile.ZipFile) -> dict[str, Any]:
    """The manifest, once every member is what it says."""
    manifest = _manifest(archive)
    if manifest["database"] != database_name():
        kind = "PostgreSQL" if manifest["database"] == POSTGRESQL else "SQLite"
        raise NoBackupError(f"it is of a {kind} database; set DATABASE_URL to one")
    for name, expected in manifest["sha256"].items():
        if ".." in Path(name).parts or Path(name).is_absolute():
            raise NoBackupError(f"{name} would lie outside the data folder")
        if name not in archive.namelist():
            raise NoBackupError(f"{name} is missing")
        if _hash_of(archive, name) != expected:
            raise NoBackupError(f"{name} is not what was written")
    return manifest


def _hash_of(archive: zipfile.ZipFile, name: str) -> str:
    digest = hashlib.sha256()
    try:
        with archive.open(name) as member:
            while piece := member.read(PIECE):
                digest.update(piece)
    except _UNREADABLE as error:
        raise NoBackupError(f"{name} is damaged") from error
    return digest.hexdigest()


def _manifest(archive: zipfile.ZipFile) -> dict[str, Any]:
    if MANIFEST not in archive.namelist():
        raise NoBackupError(f"it has no {MANIFEST}, which every backup has")
    if archive.getinfo(MANIFEST).file_size > LARGEST_MANIFEST:
        raise NoBackupError(f"its {MANIFEST} is too large to be one")
    manifest = json.loads(archive.read(MANIFEST))
    if not isinstance(manifest, dict) or manifest.get("format") != FORMAT:
        raise NoBackupError(f"it is not of the format {FORMAT}")
    if manifest.get("version") != VERSION:
        raise NoBackupError(
            f"its format has the version {manifest.get('version')}, here it is {VERSION}"
        )
    if not all(_parts(manifest)):
        raise NoBackupError(f"its {MANIFEST} does not say what is in it")
    return manifest


def _parts(manifest: Mapping[str, Any]) -> Iterator[bool]:
    """Whether each part of the manifest is of the shape that it is written in."""
    members, heads = manifest.get("sha256"), manifest.get("heads")
    yield manifest.get("database") in (SQLITE, POSTGRESQL)
    yield isinstance(manifest.get("made_at"), str)
    yield isinstance(members, dict) and manifest["database"] in members
    yield isinstance(members, dict) and all(
        isinstance(digest, str) and _SHA256.fullmatch(digest)
        for digest in members.values()
    )
    yield isinstance(heads, dict) and all(map(_is_head, heads.items()))


def _is_head(item: tuple[str, Any]) -> bool:
    try:
        UUID(item[0])
    except ValueError:
        return False
    return isinstance(item[1], str) and _HEAD.fullmatch(item[1]) is not None


# --- What its database says -----------------------------------------------------------


def _check_database(file: Path) -> None:
    """Raises `NoBackupError` for what this program could not go on with."""
    if connection.vendor == "postgresql":
        try:
            run("pg_restore", "--list", str(file), connected=False)
        except CommandError as error:
            raise NoBackupError("its database is damaged or no dump") from error
        return
    try:
        with closing(sqlite3.connect(file)) as database:
            (answer,) = database.execute("PRAGMA integrity_check").fetchone()
            known = database.execute("SELECT app, name FROM django_migrations")
            applied = {(str(app), str(name)) for app, name in known}
            database.execute("SELECT COUNT(*) FROM incidents_logentry").fetchone()
    except sqlite3.Error as error:
        raise NoBackupError("its database is damaged or of another program") from error
    if answer != "ok":
        raise NoBackupError("its database is damaged")
    ours = set(MigrationLoader(None).disk_migrations)
    newer = sorted(name for app, name in applied - ours if app == "incidents")
    if newer:
        raise NoBackupError(
            f"it was made by a newer program (tables as of {newer[-1]})"
        )


# --- Into place -----------------------------------------------------------------------


def _put_files(archive: zipfile.ZipFile, manifest: dict[str, Any]) -> None:
    for name in manifest["sha256"]:
        if name.startswith(FILES):
            _put(archive, name, settings.WORKSHEET_DATA / name.removeprefix(FILES))


def _put(archive: zipfile.ZipFile, name: str, into: Path) -> None:
    into.parent.mkdir(parents=True, exist_ok=True)
    part = into.with_name(f"{into.name}.part")
    handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with archive.open(name) as member, os.fdopen(handle, "wb") as file:
        while piece := member.read(PIECE):
            file.write(piece)
        file.flush()
        os.fsync(file.fileno())
    os.replace(part, into)


def _put_database(file: Path) -> None:
    if connection.vendor != "postgresql":
        connection.close()
        place = Path(connection.settings_dict["NAME"])
        place.parent.mkdir(parents=True, exist_ok=True)
        part = place.with_name(f"{place.name}.part")
        _copy(file, part)
        os.replace(part, place)
        return
    arguments = ("--no-owner", "--exit-on-error", "--single-transaction")
    run("pg_restore", *arguments, str(file))


def _copy(file: Path, into: Path) -> None:
    """Onto the disk of the place itself, which may be another."""
    handle = os.open(into, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with file.open("rb") as source, os.fdopen(handle, "wb") as target:
        while piece := source.read(PIECE):
            target.write(piece)
        target.flush()
        os.fsync(target.fileno())
