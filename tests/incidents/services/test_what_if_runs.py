"""The archive in the background: the same result as at once, whatever happens to it."""

import json
import os
import signal
import subprocess
import sys
import time
from datetime import timedelta
from decimal import Decimal
from io import StringIO
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import call_command
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from incidents import selectors, services
from incidents.management.commands import db_worker
from incidents.models import WhatIfIncident, WhatIfRun
from incidents.rescreening import job, values
from incidents.services import what_if_runs
from tests.factories import PersonFactory, acid, log, meter, minutes, open_incident

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

ROOT = Path(__file__).resolve().parents[3]
LOWER = {"acid_stop_ph": Decimal(2), "acid_caution_ph": Decimal(3)}


@pytest.fixture(autouse=True)
def _small_and_here(monkeypatch, settings):
    monkeypatch.setattr(values, "INCIDENTS_IN_CHUNK", 2)
    settings.WHAT_IF_PROCESSES = 1


def reviewer(**changes):
    return PersonFactory.create(may_review=True, **changes)


def an_archive(person, count=5):
    for number in range(count):
        incident = open_incident(person=person, name=f"Incident {number}")
        log(incident, meter(minutes(1)))
        log(incident, acid(minutes(2), ph=str(2 + number % 3)))


def started(count=5, **changes):
    person = reviewer(**changes)
    an_archive(person, count)
    return what_if_runs.start_run(
        person=person, name="Acid at 2", document=LOWER, at=timezone.now()
    )


def all_work_done():
    """What waits is done here, by the worker's own command."""
    kept = {
        each: signal.getsignal(each)
        for each in (signal.SIGINT, signal.SIGTERM, signal.SIGQUIT)
    }
    try:
        call_command(
            "db_worker", batch=True, startup_delay=False, interval=0, verbosity=0
        )
    finally:
        for each, before in kept.items():
            signal.signal(each, before)


def result(run):
    run.refresh_from_db()
    return "".join(selectors.run_document(run))


def at_once(run, tmp_path):
    """What the command prints for the same agency and limits, in one process."""
    path, out = tmp_path / "limits.json", StringIO()
    path.write_text(run.limits, encoding="utf-8")
    call_command(
        "whatif", str(path), "--agency", run.agency.slug, "--processes", "1",
        stdout=out, stderr=StringIO(),
    )  # fmt: skip
    return out.getvalue()


def test_the_result_is_the_very_document_of_the_command(tmp_path):
    run = started()
    open_incident(person=run.asked_by, is_drill=True)
    open_incident()  # of another agency

    job.work(run.pk)

    assert result(run) == at_once(run, tmp_path)
    assert (run.state, run.done, run.total) == ("done", 5, 5)
    assert json.loads(result(run))["summary"]["differ"] > 0


def test_the_result_is_read_some_lines_at_a_time(tmp_path, monkeypatch):
    from incidents.selectors import what_if

    run = started()
    job.work(run.pk)
    whole = result(run)

    for at_once_read in (1, 2, 5):
        monkeypatch.setattr(what_if, "LINES_AT_ONCE", at_once_read)
        assert result(run) == whole == at_once(run, tmp_path)


def test_nothing_of_an_incident_is_written():
    run = started(2)
    before = list(
        run.agency.incidents.order_by("pk").values_list("head_hash", "revision")
    )

    job.work(run.pk)

    after = list(
        run.agency.incidents.order_by("pk").values_list("head_hash", "revision")
    )
    assert after == before


def test_how_far_it_is_is_kept_after_each_chunk(monkeypatch):
    run = started()
    seen = []
    store = job._store

    def watched(mine, rows):
        stored = store(mine, rows)
        seen.append(WhatIfRun.objects.get(pk=run.pk).done)
        return stored

    monkeypatch.setattr(job, "_store", watched)
    job.work(run.pk)

    assert seen == [2, 4, 5]


def die_after(monkeypatch, chunks):
    """The worker is killed while it judges the chunk after so many."""
    judged = job.ways.judged

    def dying(*arguments, **options):
        for number, rows in enumerate(judged(*arguments, **options)):
            if number == chunks:
                raise KilledError
            yield rows

    monkeypatch.setattr(job.ways, "judged", dying)


class KilledError(BaseException):
    """As sudden as a kill: no clause of the program catches it."""


def test_a_killed_run_goes_on_where_it_stopped_and_gives_the_same(
    monkeypatch, tmp_path
):
    run = started()
    with monkeypatch.context() as patch:
        die_after(patch, 1)
        with pytest.raises(KilledError):
            job.work(run.pk)
    run.refresh_from_db()
    assert (run.state, run.done) == ("running", 2)
    again = []
    judged = job.ways.judged
    monkeypatch.setattr(
        job.ways, "judged", lambda chunks, *a, **o: again.extend(chunks) or judged(chunks, *a, **o)
    )  # fmt: skip

    job.work(run.pk)  # too early: the claim still counts
    assert WhatIfRun.objects.get(pk=run.pk).state == "running"
    WhatIfRun.objects.update(heartbeat_at=timezone.now() - job.LEASE)
    job.work(run.pk)

    assert sum(map(len, again)) == 3
    assert result(run) == at_once(run, tmp_path)
    assert run.state == "done"


def test_a_worker_whose_run_was_taken_over_stores_nothing_more():
    run = started()
    first = job._claim(run.pk)
    WhatIfRun.objects.update(heartbeat_at=timezone.now() - job.LEASE)
    second = job._claim(run.pk)

    assert second.claim != first.claim
    assert not job._store(first, [])
    assert job._store(second, [])


def test_cancelling_stops_after_the_chunk(monkeypatch):
    run = started()
    store = job._store

    def cancelling(mine, rows):
        what_if_runs.cancel_run(person=run.asked_by, run=run, at=timezone.now())
        return store(mine, rows)

    monkeypatch.setattr(job, "_store", cancelling)
    job.work(run.pk)

    run.refresh_from_db()
    assert (run.state, run.done) == ("cancelled", 2)
    with pytest.raises(services.RunEndedError):
        what_if_runs.cancel_run(person=run.asked_by, run=run, at=timezone.now())


def test_one_that_waits_is_cancelled_at_once_and_can_be_taken_up(tmp_path):
    run = started()
    what_if_runs.cancel_run(person=run.asked_by, run=run, at=timezone.now())
    job.work(run.pk)
    run.refresh_from_db()
    assert (run.state, run.done) == ("cancelled", 0)

    what_if_runs.take_up(person=run.asked_by, run=run, at=timezone.now())
    job.work(run.pk)

    assert result(run) == at_once(run, tmp_path)
    with pytest.raises(services.RunEndedError):
        what_if_runs.take_up(person=run.asked_by, run=run, at=timezone.now())


def test_a_fault_ends_the_run_with_its_words_and_it_can_be_taken_up(monkeypatch):
    run = started()
    with monkeypatch.context() as patch:
        patch.setattr(job, "chunks_of", lambda incidents: 1 / 0)
        job.work(run.pk)
    run.refresh_from_db()
    assert (run.state, run.failure[:17]) == ("failed", "ZeroDivisionError")

    what_if_runs.take_up(person=run.asked_by, run=run, at=timezone.now())
    job.work(run.pk)

    run.refresh_from_db()
    assert (run.state, run.failure) == ("done", "")


def test_a_run_that_a_worker_is_at_cannot_be_taken_up():
    run = started()
    job._claim(run.pk)

    with pytest.raises(services.RunEndedError):
        what_if_runs.take_up(person=run.asked_by, run=run, at=timezone.now())


def test_only_who_reviews_the_agency_s_incidents_may():
    run = started(1)
    plain = PersonFactory.create(agency=run.agency)
    stranger = reviewer()

    for person in (plain, stranger):
        with pytest.raises(services.NotAllowedError):
            what_if_runs.cancel_run(person=person, run=run, at=timezone.now())
        with pytest.raises(services.NotAllowedError):
            what_if_runs.take_up(person=person, run=run, at=timezone.now())
    with pytest.raises(services.NotAllowedError):
        what_if_runs.start_run(
            person=plain, name="A", document=LOWER, at=timezone.now()
        )


def test_limits_that_are_none_are_refused_and_nothing_is_kept():
    with pytest.raises(services.EntryRefusedError):
        what_if_runs.start_run(
            person=reviewer(), name="A", document={"acid": 1}, at=timezone.now()
        )

    assert not WhatIfRun.objects.exists()
    assert not DBTaskResult.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_the_worker_of_the_task_library_does_it(tmp_path):
    run = started()

    all_work_done()

    assert result(run) == at_once(run, tmp_path)


def test_a_worker_that_begins_takes_up_what_a_killed_one_left():
    run = started()
    job._claim(run.pk)
    DBTaskResult.objects.update(status="RUNNING")  # as a kill leaves it

    assert what_if_runs.take_up_what_was_left() == 1

    waiting = DBTaskResult.objects.get(status="READY")
    run.refresh_from_db()
    assert waiting.run_after == run.heartbeat_at + job.LEASE + what_if_runs.SLACK
    assert issubclass(db_worker.Command, db_worker.Worker)


@pytest.mark.django_db(transaction=True)
def test_two_processes_give_the_same(settings, tmp_path):
    settings.WHAT_IF_PROCESSES = 2
    run = started()

    job.work(run.pk)

    assert result(run) == at_once(run, tmp_path)
    assert (run.state, run.done) == ("done", 5)


# --- A worker's own process --------------------------------------------------------------


def worker(name):
    """`manage.py db_worker` on the test's database, slow enough to be caught at work."""
    code = (
        "import os, time, django; django.setup(); "
        "from django.core.management import call_command; "
        "from incidents.rescreening import values, job; "
        "values.INCIDENTS_IN_CHUNK = 1; store = job._store; "
        "job._store = lambda *a: (time.sleep(0.3), store(*a))[1]; "
        "call_command('db_worker', startup_delay=False, interval=0.1, verbosity=0,"
        " end_with_parent=True)"
    )
    environment = dict(os.environ) | {
        "DJANGO_SETTINGS_MODULE": "config.settings",
        "WHAT_IF_PROCESSES": "1",
        "DATABASE_URL": name,
    }
    return subprocess.Popen(
        [sys.executable, "-c", code], cwd=ROOT, env=environment, stdin=subprocess.PIPE
    )


def url_of_the_test_database():
    from django.db import connection

    about = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{about['NAME']}"
    return (
        f"postgres://{about['USER']}:{about['PASSWORD']}@{about['HOST']}:"
        f"{about['PORT']}/{about['NAME']}"
    )


def wait_until(condition, seconds=60):
    ends = time.monotonic() + seconds
    while not condition():
        assert time.monotonic() < ends, "it did not come about"
        time.sleep(0.1)


def done(run):
    return WhatIfIncident.objects.filter(run=run).exclude(document="").count()


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGTERM, None])
def test_a_worker_ended_in_the_middle_and_a_new_one_give_the_same(how, tmp_path):
    """Killed, told to end, or left alone by who started it."""
    run = started(6)
    first = worker(url_of_the_test_database())
    try:
        wait_until(lambda: done(run) >= 1)
        if how is None:
            first.stdin.close()
        else:
            first.send_signal(how)
        first.wait(30)
    finally:
        first.kill()
        first.wait()
        first.stdin.close()
    assert 0 < done(run) < 6
    WhatIfRun.objects.exclude(heartbeat_at=None).update(
        heartbeat_at=timezone.now() - job.LEASE - timedelta(minutes=1)
    )

    all_work_done()

    assert result(run) == at_once(run, tmp_path)
    assert run.state == "done"
    assert settings.WHAT_IF_PROCESSES == 1
