"""The drill: back up while somebody writes, restore into an empty place, verify all.

Each step is a process of its own, as on the day when it matters.
"""

import hashlib
import json
import os
import sqlite3
import subprocess
import sys
import zipfile
from pathlib import Path

import psycopg
import pytest
from django.conf import settings

ROOT = Path(settings.BASE_DIR)
# Opens two incidents, then writes readings until it is told to stop, and prints each
# number once it was acknowledged.
WRITER = """
import sys, threading
from django.utils import timezone
from incidents.management.keeping import back_up
from pathlib import Path
from tests.factories import PersonFactory, acid, join, log, open_incident
from tests.incidents.services.test_medical import checked
from incidents.services import reports
boss = PersonFactory.create(agency__name="Example County", agency__slug="example")
first, second = (open_incident(person=boss, at=timezone.now()) for _ in range(2))
log(first, acid(timezone.now(), note="\\u05e9\\u05dc\\u05d5\\u05dd <b>"))
checked(first, join(first, "medical"), at=timezone.now())
reports.make_report(incident_id=first.pk, person=boss, at=timezone.now())
acknowledged, stop = [], threading.Event()
def write():
    while not stop.is_set():
        acknowledged.append(log(second, acid(timezone.now())).entry.seq)
thread = threading.Thread(target=write)
thread.start()
while len(acknowledged) < 3:
    stop.wait(0.05)
before = acknowledged[-1]
back_up(Path(sys.argv[1]), timezone.now())
after = acknowledged[-1]
stop.set(); thread.join()
print(first.pk, second.pk, before, after)
"""
READER = """
from incidents.models import Incident, Report, SigningKey
from django.conf import settings
from reports import keys
key = SigningKey.objects.get()
import json, hashlib
report = Report.objects.get()
print(json.dumps({
    "heads": {str(i.pk): i.head_seq for i in Incident.objects.all()},
    "report": hashlib.sha256(bytes(report.pdf)).hexdigest() == report.sha256,
    "opens": bool(keys.unlocked(bytes(key.encrypted_key), settings.SIGNING_PASSPHRASE)),
}))
"""


def run(place, *arguments, url="", code=0):
    """A command of the server in a place of its own."""
    environment = {
        key: value
        for key, value in os.environ.items()
        if key not in ("DATABASE_URL", "SIGNING_PASSPHRASE", "SECRET_KEY")
    } | {"WORKSHEET_DATA": str(place), "PYTHONPATH": str(ROOT)}
    if url:
        environment["DATABASE_URL"] = url
    done = subprocess.run(
        [sys.executable, *map(str, arguments)],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == code, done.stdout + done.stderr
    return done


def script(text):
    return f"import django; django.setup()\n{text}"


def drill(tmp_path, urls=("", "")):
    """Where the backup lies, where it was restored to, and what the writer printed."""
    old, new, file = tmp_path / "old", tmp_path / "new", tmp_path / "backup.zip"
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    run(old, "manage.py", "migrate", "--verbosity", "0", url=urls[0])
    said = run(old, "-c", script(WRITER), file, url=urls[0]).stdout.split()
    restored = run(new, "manage.py", "restore", file, url=urls[1])
    return file, new, said, restored.stdout


def looked_at(new, said, url=""):
    first, second, before, after = said
    out = run(new, "-c", script(READER), url=url).stdout
    seen = json.loads(out)
    # What was acknowledged before the backup began is in it; it ends at one moment.
    assert int(before) <= seen["heads"][second] <= int(after) + 1
    assert seen["heads"][first] >= 2
    assert seen["report"]
    assert seen["opens"]


@pytest.fixture(scope="module")
def drilled(tmp_path_factory):
    return drill(tmp_path_factory.mktemp("drill"))


def test_what_was_backed_up_while_somebody_wrote_holds_in_an_empty_place(drilled):
    _, new, said, restored = drilled

    assert restored.count("entries hold") == 2
    checked = run(new, "manage.py", "verify_chain").stdout
    assert checked.count("entries hold") == 2
    looked_at(new, said)


def test_the_backup_names_every_file_and_head_and_is_for_its_owner_alone(drilled):
    file, _, said, _ = drilled

    with zipfile.ZipFile(file) as archive:
        manifest = json.loads(archive.read("manifest.json"))
        assert archive.testzip() is None
        assert set(archive.namelist()) == {*manifest["sha256"], "manifest.json"}
    assert (manifest["format"], manifest["version"]) == ("hazmat-worksheet-backup", 1)
    assert set(manifest["heads"]) == set(said[:2])
    assert "files/signing-passphrase" in manifest["sha256"]
    assert file.stat().st_mode & 0o077 == 0


def test_a_place_that_is_not_empty_is_left_alone(drilled):
    file, new, _, _ = drilled
    before = (new / "worksheet.sqlite3").read_bytes()

    done = run(new, "manage.py", "restore", file, code=1)

    assert "The database here is not empty" in done.stderr
    assert (new / "worksheet.sqlite3").read_bytes() == before


def test_a_damaged_backup_is_refused_before_anything_is_touched(drilled, tmp_path):
    file, _, _, _ = drilled
    damaged = tmp_path / "damaged.zip"
    with (
        zipfile.ZipFile(file) as archive,
        zipfile.ZipFile(damaged, "w") as copy,
    ):
        for name in archive.namelist():
            content = archive.read(name)
            if name == "database.sqlite3":
                content = content[:-1] + bytes([content[-1] ^ 1])
            copy.writestr(name, content)

    done = run(tmp_path / "place", "manage.py", "restore", damaged, code=1)

    assert "database.sqlite3 is not what was written" in done.stderr
    # Looking whether it is empty made an empty file, and nothing more.
    assert (tmp_path / "place" / "worksheet.sqlite3").stat().st_size == 0


def written_anew(file, into, change):
    """The backup with what `change` makes of its members, hashes and all."""
    with zipfile.ZipFile(file) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    manifest = json.loads(members.pop("manifest.json"))
    change(manifest, members)
    with zipfile.ZipFile(into, "w", zipfile.ZIP_DEFLATED) as copy:
        for name, content in members.items():
            copy.writestr(name, content)
        copy.writestr("manifest.json", json.dumps(manifest))
    return into


def rehashed(manifest, members):
    manifest["sha256"] = {
        name: hashlib.sha256(content).hexdigest() for name, content in members.items()
    }


def another_database(manifest, members):
    members["database.sqlite3"] = b"SQLite format 3\0" + b"no pages" * 100
    rehashed(manifest, members)


def of_another_program(manifest, members):
    with sqlite3.connect(":memory:") as database:
        database.execute("CREATE TABLE songs (title TEXT)")
        members["database.sqlite3"] = database.serialize()
    rehashed(manifest, members)


def of_a_newer_program(manifest, members):
    with sqlite3.connect(":memory:") as database:
        database.deserialize(members["database.sqlite3"])
        database.execute(
            "INSERT INTO django_migrations (app, name, applied) "
            "VALUES ('incidents', '9999_of_later', '2030-01-01')"
        )
        database.commit()
        members["database.sqlite3"] = database.serialize()
    rehashed(manifest, members)


def unnamed_database(manifest, members):
    del manifest["sha256"]["database.sqlite3"]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (another_database, "its database is damaged or of another program"),
        (of_another_program, "its database is damaged or of another program"),
        (of_a_newer_program, "made by a newer program (tables as of 9999_of_later)"),
        (unnamed_database, "manifest.json does not say what is in it"),
        (lambda said, _: said.update(sha256=None), "does not say what is in it"),
        (lambda said, _: said.update(format="songs"), "not of the format"),
        (lambda said, _: said.update(version=2), "has the version 2, here it is 1"),
        (lambda said, members: members.popitem(), "is missing"),
        (
            lambda said, _: said["sha256"].update({"files/../../x": "0" * 64}),
            "outside the data folder",
        ),
    ],
)
def test_a_file_that_fits_itself_and_not_this_program_is_refused_in_plain_words(
    drilled, empty, tmp_path, change, words
):
    file = written_anew(drilled[0], tmp_path / "other.zip", change)

    must_be_refused(file, empty, words)


@pytest.fixture(scope="module")
def empty(tmp_path_factory):
    """A place in which the server was once, with the secrets that it makes."""
    place = tmp_path_factory.mktemp("empty") / "place"
    run(place, "manage.py", "migrate", "--check", "--skip-checks", code=1)
    return place


def must_be_refused(file, place, words):
    """No traceback, no file that was not there, and the command says that."""
    before = {path: path.read_bytes() for path in place.rglob("*") if path.is_file()}

    done = run(place, "manage.py", "restore", file, code=1)

    assert words in done.stderr
    assert "Nothing here was changed." in done.stderr
    assert "Traceback" not in done.stdout + done.stderr
    after = {path: path.read_bytes() for path in place.rglob("*") if path.is_file()}
    assert after == before


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"no zip", "damaged, cut off, or no backup"),
        (None, "No such file"),
    ],
)
def test_what_is_no_zip_is_refused_in_plain_words(tmp_path, empty, content, words):
    file = tmp_path / "file.zip"
    if content is not None:
        file.write_bytes(content)

    must_be_refused(file, empty, words)


def test_a_zip_of_something_else_is_refused_in_plain_words(tmp_path, empty):
    file = tmp_path / "songs.zip"
    with zipfile.ZipFile(file, "w") as archive:
        archive.writestr("song.txt", "la")
    must_be_refused(file, empty, "it has no manifest.json")
    with zipfile.ZipFile(file, "w") as archive:
        archive.writestr("manifest.json", "[1]")

    must_be_refused(file, empty, "not of the format")


@pytest.mark.parametrize("share", [0.2, 0.7])
def test_damage_anywhere_is_refused_in_plain_words(drilled, empty, tmp_path, share):
    """In the packed bytes themselves, and where the file was cut off."""
    whole = drilled[0].read_bytes()
    at = int(len(whole) * share)
    for name, content in {
        "turned.zip": whole[:at] + bytes([whole[at] ^ 0xFF]) * 64 + whole[at + 64 :],
        "cut.zip": whole[:at],
    }.items():
        (tmp_path / name).write_bytes(content)
        must_be_refused(tmp_path / name, empty, "was not restored")


def test_an_incident_that_the_backup_names_and_does_not_hold_is_said(drilled, tmp_path):
    gone = "00000000-0000-4000-8000-000000000000"
    file = written_anew(
        drilled[0],
        tmp_path / "other.zip",
        lambda said, _: said["heads"].update({gone: f"3:{'0' * 64}"}),
    )

    done = run(tmp_path / "place", "manage.py", "restore", file, code=1)

    assert f"incident {gone}: the backup names it, and it is not in it" in done.stdout


def test_a_backup_is_never_written_over_another(drilled):
    file, new, _, _ = drilled
    before = file.read_bytes()

    done = run(new, "manage.py", "backup", file, code=1)

    assert "never written over another" in done.stderr
    assert file.read_bytes() == before


def test_a_backup_does_not_lie_in_what_it_backs_up(drilled):
    _, new, _, _ = drilled

    done = run(new, "manage.py", "backup", new / "backup.zip", code=1)

    assert "outside the data folder" in done.stderr


def test_a_log_that_was_changed_before_the_backup_is_found_by_the_restore(
    drilled, tmp_path
):
    file, _, _, _ = drilled
    place, changed = tmp_path / "place", tmp_path / "changed.zip"
    run(place, "manage.py", "restore", file)
    with sqlite3.connect(place / "worksheet.sqlite3") as database:
        database.execute("DROP TRIGGER incidents_logentry_no_update")
        database.execute(
            "UPDATE incidents_logentry SET author_name = 'x' WHERE seq = 2"
        )
    run(place, "manage.py", "backup", changed)

    done = run(tmp_path / "again", "manage.py", "restore", changed, code=1)

    assert "entry 2: columns" in done.stdout


@pytest.mark.postgres
def test_the_drill_on_postgresql(tmp_path, postgresql_url):
    names = [f"drill_{os.getpid()}_{which}" for which in ("old", "new")]
    base = postgresql_url.rpartition("/")[0]
    with psycopg.connect(postgresql_url, autocommit=True) as server:
        for name in names:
            server.execute(f"CREATE DATABASE {name}")
    try:
        urls = [f"{base}/{name}" for name in names]
        _, new, said, restored = drill(tmp_path, urls)
        assert restored.count("entries hold") == 2
        looked_at(new, said, urls[1])
    finally:
        with psycopg.connect(postgresql_url, autocommit=True) as server:
            for name in names:
                server.execute(f"DROP DATABASE {name} WITH (FORCE)")
