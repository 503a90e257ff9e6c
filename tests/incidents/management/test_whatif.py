"""`manage.py whatif`: what it prints, that nothing else is printed, and every way the same."""

import json
import os
import subprocess
import sys
import uuid
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from incidents.models import Incident
from incidents.rescreening import values, ways, worker
from tests.factories import (
    PersonFactory,
    SopProfileFactory,
    acid,
    entry,
    log,
    meter,
    minutes,
    open_incident,
)

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

ROOT = Path(__file__).resolve().parents[3]
LOWER = {"acid_stop_ph": 2, "acid_caution_ph": 3}


@pytest.fixture
def limits(tmp_path):
    """Writes a LIMITS.json and gives its path."""

    def write(document):
        path = tmp_path / "limits.json"
        text = document if isinstance(document, str) else json.dumps(document)
        path.write_text(text, encoding="utf-8")
        return str(path)

    return write


def whatif(path, *arguments):
    out, err = StringIO(), StringIO()
    call_command("whatif", path, *arguments, stdout=out, stderr=err)
    return out.getvalue(), err.getvalue()


def an_archive(count=5, person=None):
    """Incidents with a stop each at another pH: 2, 3, 4, 2, 3 ..."""
    person = person or PersonFactory.create()
    made = []
    for number in range(count):
        incident = open_incident(person=person, name=f"Incident {number}")
        log(incident, meter(minutes(1)))
        log(incident, acid(minutes(2), ph=str(2 + number % 3)))
        made.append(incident)
    return made


def test_it_prints_the_entries_and_teams_whose_action_differs(limits):
    (incident,) = an_archive(1)
    reading = log(incident, acid(minutes(3), ph="4", place="dock")).entry
    other = open_incident(name="Nothing read")

    out, err = whatif(limits(LOWER))

    found = json.loads(out)
    assert [one["id"] for one in found["incidents"]] == sorted(
        [str(incident.pk), str(other.pk)]
    )
    by_id = {one["id"]: one for one in found["incidents"]}
    one = by_id[str(incident.pk)]
    assert one["entries_judged"] == 3
    assert one["entries"] == [
        {
            "id": reading.key,
            "at": reading.observed_at.isoformat(),
            "teams": {"entry-1": {"before": "stop", "after": "caution"}},
        }
    ]
    # The strictest stays a stop, of the pH 2 in the tank room; the end does not.
    (team,) = one["teams"]
    assert team["strictest"] == {"before": "stop", "after": "stop"}
    assert team["at_end"] == {"before": "stop", "after": "caution"}
    assert {(f["way"], f["place"]) for f in one["findings"]} == {("not_at_all", "dock")}
    assert {f["before"]["entry"] for f in one["findings"]} == {reading.key}
    assert by_id[str(other.pk)]["entries_judged"] == 0
    assert found["summary"]["incidents"] == 2
    assert "2 of 2 incidents" in err


def test_the_actions_before_are_those_that_the_incident_was_judged_by(limits):
    """Its SOP was changed in mid-incident: the whole log goes by the later one."""
    from incidents import engine

    (incident,) = an_archive(1)
    strike = log(incident, acid(minutes(4), ph="3", place="dock")).entry
    log(
        incident,
        entry("strike", minutes(5), entry=strike.key, by="R", reason="Wrong"),
    )
    sop = SopProfileFactory.create(
        agency=incident.agency,
        document='{"name":"S","version":"1","limits":{"acid_stop_ph":1}}',
    )
    from incidents import services

    services.change_sop(
        incident_id=incident.pk, person=incident.opened_by, sop=sop, seen=None,
        reason="Other papers", at=minutes(6),
    )  # fmt: skip
    log(incident, acid(minutes(3), ph="2", place="roof"), recorded_at=minutes(7))
    incident.refresh_from_db()

    out, _ = whatif(limits({"acid_stop_ph": 3}), "--processes", "1")

    (one,) = json.loads(out)["incidents"]
    now = engine.live(incident)
    seen = now.state.standing["entry-1"].word
    at_end = {team["id"]: team["at_end"]["before"] for team in one["teams"]}
    assert at_end["entry-1"] == seen == "caution"


def test_a_drill_is_left_out_unless_it_is_named(limits):
    drill = open_incident(is_drill=True)
    open_incident()

    whole, _ = whatif(limits(LOWER))
    named, _ = whatif(limits(LOWER), "--incidents", str(drill.pk))

    assert str(drill.pk) not in whole
    assert [one["id"] for one in json.loads(named)["incidents"]] == [str(drill.pk)]


def test_one_agency_alone(limits):
    (incident, *_) = an_archive(2)
    open_incident()

    out, _ = whatif(limits(LOWER), "--agency", incident.agency.slug)

    assert json.loads(out)["summary"]["incidents"] == 2
    with pytest.raises(CommandError, match="no agency 'nobody'"):
        whatif(limits(LOWER), "--agency", "nobody")


@pytest.mark.parametrize(
    ("document", "words"),
    [
        ("{", "limits.json holds no limits"),
        ({"acid_stop": 1}, "/acid_stop: 1, expected"),
        ({"limits": {}}, "/name: "),
        ({"name": "A", "version": "1", "limits": {"par_interval": 3}}, "/limits/par_i"),
    ],
)
def test_what_is_wrong_with_the_limits_is_said_with_its_pointer(
    limits, document, words
):
    with pytest.raises(CommandError, match=words):
        whatif(limits(document))


def test_an_incident_that_there_is_not_is_said(limits):
    unknown = uuid.uuid4()

    with pytest.raises(CommandError, match=f"no incident {unknown}"):
        whatif(limits(LOWER), "--incidents", str(unknown))
    with pytest.raises(CommandError, match="'one' is no incident's id"):
        whatif(limits(LOWER), "--incidents", "one")
    with pytest.raises(CommandError, match="No such file"):
        whatif("/nowhere/limits.json")
    with pytest.raises(CommandError, match="at least 1"):
        whatif(limits(LOWER), "--processes", "0")


def test_from_a_shell_the_document_is_all_that_stands_on_standard_output(
    limits, tmp_path
):
    kept = {"WORKSHEET_DATA": str(tmp_path), "PATH": "/usr/bin:/bin"}

    def manage(*arguments):
        return subprocess.run(
            [sys.executable, "manage.py", *arguments],
            cwd=ROOT, env=kept, capture_output=True, text=True, timeout=120,
            check=False,
        )  # fmt: skip

    assert manage("migrate", "--verbosity", "0").returncode == 0
    done = manage("whatif", limits(LOWER))
    wrong = manage("whatif", limits({"acid_stop": 1}))

    assert json.loads(done.stdout)["incidents"] == []
    assert (wrong.returncode, wrong.stdout) == (1, "")
    assert "/acid_stop" in wrong.stderr


def test_three_queries_for_a_chunk_however_many_incidents(limits):
    path = limits(LOWER)
    counts = []
    for more in (1, 20):
        an_archive(more)
        with CaptureQueriesContext(
            connection,
        ) as found:
            whatif(path, "--processes", "1")
        counts.append(len(found))

    assert counts == [3, 3]


def test_chunks_are_of_about_the_same_work(monkeypatch):
    monkeypatch.setattr(values, "ENTRIES_IN_CHUNK", 7)
    made = an_archive(5)

    chunks = values.chunks_of(Incident.objects.all())

    assert [len(chunk) for chunk in chunks] == [2, 2, 1]
    assert [key for chunk in chunks for key in chunk] == sorted(
        (one.pk for one in made), key=str
    )


# --- Every way the same ----------------------------------------------------------------


@pytest.fixture
def small_chunks(monkeypatch):
    monkeypatch.setattr(values, "INCIDENTS_IN_CHUNK", 2)


@pytest.mark.django_db(transaction=True)
def test_two_processes_print_the_very_bytes_of_one(limits, small_chunks):
    an_archive()
    path = limits(LOWER)

    one, _ = whatif(path, "--processes", "1")
    two, err = whatif(path, "--processes", "2")

    assert json.loads(one)["summary"]["differ"] > 0
    assert two == one
    assert "5 of 5 incidents" in err


@pytest.mark.django_db(transaction=True)
def test_the_machines_of_a_scheduler_print_the_very_bytes_too(limits, small_chunks):
    distributed = pytest.importorskip(
        "distributed", reason="the extra `cluster` is not installed"
    )
    an_archive()
    path = limits(LOWER)
    one, _ = whatif(path, "--processes", "1")

    with distributed.LocalCluster(
        n_workers=1, threads_per_worker=1, processes=False, dashboard_address=None
    ) as cluster:
        many, _ = whatif(path, "--scheduler", cluster.scheduler_address)

    assert many == one


def test_a_scheduler_that_does_not_answer_is_said(limits, monkeypatch):
    pytest.importorskip("distributed", reason="the extra `cluster` is not installed")
    monkeypatch.setattr(ways, "CONNECT_SECONDS", 0.5)

    with pytest.raises(CommandError, match="No scheduler answers at tcp://127"):
        whatif(limits(LOWER), "--scheduler", "tcp://127.0.0.1:9")


@pytest.mark.django_db(transaction=True)
def test_a_process_that_dies_is_said(limits, small_chunks, monkeypatch):
    an_archive()
    monkeypatch.setattr(ways, "begin", os._exit)
    monkeypatch.setattr(ways, "_database", lambda: 1)

    with pytest.raises(CommandError, match="A process ended before its work was done"):
        whatif(limits(LOWER), "--processes", "2")


def test_without_the_extra_the_words_say_how_to_get_it(limits, monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)

    with pytest.raises(CommandError, match="extra `cluster`"):
        whatif(limits(LOWER), "--scheduler", "tcp://127.0.0.1:9")


@pytest.mark.django_db(transaction=True)
def test_a_worker_s_connection_cannot_write():
    from django.db import DatabaseError

    incident = open_incident()
    worker.read_only()
    try:
        with pytest.raises(DatabaseError, match=r"readonly|read-only"):
            Incident.objects.filter(pk=incident.pk).update(name="Changed")
    finally:
        if connection.vendor == "postgresql":  # it goes back to the pool as it is
            with connection.cursor() as cursor:
                cursor.execute("SET default_transaction_read_only = off")
        connection.close()
