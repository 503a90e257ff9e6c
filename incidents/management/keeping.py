"""A backup is one zip file: the database, the files beside it, and what both must be.

`manifest.json` names each member with its SHA-256 and each incident's head, so that a
restore can tell a whole copy from a damaged one, and an old one from a new one.
"""

import hashlib
import json
import os
import sqlite3
import subprocess
import tempfile
import zipfile
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from django.conf import settings
from django.core.management.base import CommandError
from django.db import connection

from incidents.models import Incident

FORMAT: Final = "hazmat-worksheet-backup"
VERSION: Final = 1
MANIFEST: Final = "manifest.json"
FILES: Final = "files/"
SQLITE: Final = "database.sqlite3"
POSTGRESQL: Final = "database.pgdump"
PIECE: Final = 1_000_000


def back_up(path: Path, at: datetime) -> dict[str, Any]:
    """Write the backup; the file appears under its name only when it is whole."""
    data = settings.WORKSHEET_DATA.resolve()
    if path.exists():
        raise CommandError(f"{path} exists. A backup is never written over another.")
    if data in path.resolve().parents:
        raise CommandError("Choose a place outside the data folder, on another disk.")
    part = path.with_name(f"{path.name}.part")
    try:
        with tempfile.TemporaryDirectory(dir=path.resolve().parent) as folder:
            database = Path(folder) / database_name()
            _dump(database)
            handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
            with os.fdopen(handle, "wb") as raw, zipfile.ZipFile(raw, "w") as archive:
                manifest = _write(archive, database, data, at)
                archive.close()
                raw.flush()
                os.fsync(raw.fileno())
        os.replace(part, path)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise CommandError(f"{path} cannot be written: {error.strerror}.") from error
    return manifest


def database_name() -> str:
    return POSTGRESQL if connection.vendor == "postgresql" else SQLITE


def _write(
    archive: zipfile.ZipFile, database: Path, data: Path, at: datetime
) -> dict[str, Any]:
    members = {database.name: _add(archive, database, database.name)}
    for file in _beside(data):
        name = FILES + file.relative_to(data).as_posix()
        members[name] = _add(archive, file, name)
    manifest = {
        "format": FORMAT,
        "version": VERSION,
        "made_at": at.isoformat(),
        "database": database.name,
        "sha256": members,
        "heads": _heads(database),
        "passphrase": "files/signing-passphrase" in members,
    }
    text = json.dumps(manifest, indent=1, ensure_ascii=False)
    archive.writestr(MANIFEST, text, zipfile.ZIP_DEFLATED)
    return manifest


def _add(archive: zipfile.ZipFile, file: Path, name: str) -> str:
    """Copy a file in, hashing what was read: it may go on growing."""
    digest = hashlib.sha256()
    entry = zipfile.ZipInfo(name)
    entry.compress_type = zipfile.ZIP_DEFLATED
    entry.external_attr = 0o600 << 16
    with file.open("rb") as source, archive.open(entry, "w", force_zip64=True) as into:
        while piece := source.read(PIECE):
            digest.update(piece)
            into.write(piece)
    return digest.hexdigest()


def _beside(data: Path) -> Iterator[Path]:
    """Secrets of the demo, the authority for https, kept files; not the database."""
    name = str(connection.settings_dict["NAME"])
    for file in sorted(data.rglob("*")):
        if not file.is_file() or file.is_symlink():
            continue
        if connection.vendor == "sqlite" and str(file).startswith(
            str(Path(name).resolve())
        ):
            continue
        yield file


def _dump(into: Path) -> None:
    if connection.vendor == "postgresql":
        run("pg_dump", "--format=custom", "--no-owner", f"--file={into}")
        return
    # The whole copy in one step: a consistent moment, for which writers wait, and which
    # a busy log cannot put off without end.
    source = sqlite3.connect(str(connection.settings_dict["NAME"]), timeout=60)
    target = sqlite3.connect(into)
    try:
        source.backup(target)
        (answer,) = target.execute("PRAGMA integrity_check").fetchone()
    finally:
        source.close()
        target.close()
    if answer != "ok":
        raise CommandError(f"The copy of the database is damaged: {answer}")


def _heads(database: Path) -> dict[str, str]:
    """Each incident's head: of the copy itself on SQLite, at most older on PostgreSQL."""
    if connection.vendor == "postgresql":
        return {}
    copy = sqlite3.connect(database)
    try:
        rows = copy.execute("SELECT id, head_seq, head_hash FROM incidents_incident")
        return {
            str(Incident._meta.pk.to_python(key)): f"{seq}:{digest}"
            for key, seq, digest in rows
        }
    finally:
        copy.close()


def run(program: str, *arguments: str, connected: bool = True) -> None:
    """A program of PostgreSQL, on the database here unless it needs none.

    Raises `CommandError` where it is not installed or fails.
    """
    known = connection.settings_dict
    environment = os.environ | {"PGPASSWORD": str(known["PASSWORD"] or "")}
    where = [
        f"--host={known['HOST'] or '127.0.0.1'}",
        f"--port={known['PORT'] or 5432}",
        f"--username={known['USER']}",
        f"--dbname={known['NAME']}",
    ]
    try:
        subprocess.run(
            [program, *(where if connected else ()), *arguments],
            env=environment,
            check=True,
            capture_output=True,
            text=True,
        )
    except FileNotFoundError as error:
        raise CommandError(f"{program} is not installed here.") from error
    except subprocess.CalledProcessError as error:
        raise CommandError(f"{program} failed: {error.stderr.strip()}") from error
