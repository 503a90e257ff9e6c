"""A database that is held, and writers that die at any moment."""

import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import psycopg
import pytest
from django.db import connection

from incidents import services
from tests.factories import acid, log, minutes, open_incident

ROOT = Path(__file__).resolve().parents[3]

SET_UP = """
import django; django.setup()
from django.core.management import call_command
call_command("migrate", verbosity=0)
from tests.factories import open_incident
print(open_incident().pk)
"""
# Sends every entry of its own until all are acknowledged, blindly again after a death.
WRITER = """
import sys, uuid
import django; django.setup()
from incidents.models import Incident
from tests.factories import acid, log, minutes
incident = Incident.objects.get()
writer, count = int(sys.argv[1]), int(sys.argv[2])
for number in range(count):
    sent_as = uuid.UUID(int=writer * 1000 + number + 1)
    done = log(incident, acid(minutes(number)), client_uuid=sent_as,
               recorded_at=minutes(100))
    print(sent_as, done.entry.seq, flush=True)
"""
CHECK = """
import django; django.setup()
from incidents.models import Incident
from incidents.services import chain
from incidents.services.rebuilding import rebuild
incident = Incident.objects.get()
assert chain.verify(incident) is None, chain.verify(incident)
assert not rebuild(incident_id=incident.pk)
for key, seq in incident.entries.order_by("seq").values_list("client_uuid", "seq"):
    print(key, seq)
"""


@pytest.mark.django_db(transaction=True)
@pytest.mark.db_both
def test_a_database_that_is_held_is_a_refusal_and_sending_again_is_harmless():
    incident = open_incident()
    name = connection.settings_dict["NAME"]
    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA busy_timeout = 50")
        holder = sqlite3.connect(name, isolation_level=None)
        holder.execute("BEGIN IMMEDIATE")
    else:
        with connection.cursor() as cursor:
            cursor.execute("SET lock_timeout = '50ms'")
        holder = psycopg.connect(
            dbname=name,
            host=connection.settings_dict["HOST"],
            user=connection.settings_dict["USER"],
            password=connection.settings_dict["PASSWORD"] or None,
            port=connection.settings_dict["PORT"] or None,
        )
        holder.execute("SELECT 1 FROM incidents_incident FOR UPDATE")
    try:
        with pytest.raises(services.StorageBusyError, match="send it again"):
            log(incident, acid(minutes(1)))
        assert incident.entries.count() == 1
    finally:
        holder.rollback()
        holder.close()

    assert log(incident, acid(minutes(1))).entry.seq == 2
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("RESET lock_timeout")  # the pool keeps the connection
    connection.close()


def run(code, environment, *arguments):
    return subprocess.run(
        [sys.executable, "-c", code, *arguments],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )


def test_writers_killed_at_any_moment_lose_and_double_nothing(tmp_path):
    kept = {key: os.environ[key] for key in ("PATH", "HOME") if key in os.environ}
    environment = kept | {
        "DJANGO_SETTINGS_MODULE": "config.settings",
        "WORKSHEET_DATA": str(tmp_path),
        "LOG_LEVEL": "ERROR",
    }
    ready = run(SET_UP, environment)
    assert ready.returncode == 0, ready.stderr
    writers, each, chance = 2, 30, random.Random(7)
    outputs = [tmp_path / f"writer-{number}.txt" for number in range(writers)]
    kills = 0

    for number, output in enumerate(outputs):
        for _ in range(3):
            with output.open("ab") as file:
                process = subprocess.Popen(
                    [sys.executable, "-c", WRITER, str(number + 1), str(each)],
                    cwd=ROOT,
                    env=environment,
                    stdout=file,
                    start_new_session=True,
                )
            before = output.stat().st_size
            while process.poll() is None and output.stat().st_size == before:
                time.sleep(0.01)
            time.sleep(chance.uniform(0, 0.15))
            if process.poll() is None:
                process.send_signal(signal.SIGKILL)
                kills += 1
            process.wait()
        assert run(WRITER, environment, str(number + 1), str(each)).returncode == 0

    checked = run(CHECK, environment)
    assert checked.returncode == 0, checked.stderr
    stored = dict(line.split() for line in checked.stdout.splitlines())
    seqs = sorted(int(seq) for seq in stored.values())
    assert seqs == list(range(1, 2 + writers * each))
    acknowledged = [
        line.split()
        for output in outputs
        for line in output.read_text().splitlines()
        if len(line.split()) == 2
    ]
    assert kills
    assert acknowledged
    for sent_as, seq in acknowledged:
        assert stored[sent_as] == seq
