"""One what-if run as a worker does it: chunk by chunk, each stored with how far it is.

The run can be ended at any moment. A worker that is told to stop, or a person who cancels,
is heard after each chunk. A worker that is killed leaves the run claimed: whoever takes it
up after `LEASE` without a sign of life goes on with the incidents that have no result yet.
"""

import logging
import signal
import threading
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import timedelta
from types import FrameType
from typing import Final
from uuid import UUID, uuid4

from django.conf import settings
from django.db import transaction
from django.utils import timezone

from incidents.models import Incident, WhatIfIncident, WhatIfRun
from incidents.rescreening import ways
from incidents.rescreening.values import chunks_of
from review.what_if_document import Row, read_limits

log = logging.getLogger(__name__)

LEASE: Final = timedelta(minutes=2)  # a claim without a sign of life counts that long
State = WhatIfRun.State


def work(number: int) -> None:
    """Go through the incidents of a run that have no result yet.

    Does nothing where the run has ended, or another worker gave a sign of life lately. A
    fault ends the run with the fault's words; what was judged is kept.
    """
    run = _claim(number)
    if run is None:
        return
    with _told_to_stop() as told:
        try:
            _judge(run, told)
        except Exception as error:
            if told.is_set():  # the processes were ended with this one
                _leave(run)
                return
            log.exception("What-if run %s was not finished", number)
            _end(run, State.FAILED, f"{type(error).__name__}: {error}"[:500])


def _judge(run: WhatIfRun, told: threading.Event) -> None:
    if _cancelled(run):
        return
    waiting = WhatIfIncident.objects.filter(run=run, document="")
    chunks = chunks_of(Incident.objects.filter(pk__in=waiting.values("incident")))
    rows = ways.judged(
        chunks,
        read_limits(run.document),
        processes=settings.WHAT_IF_PROCESSES or ways.all_cores(),
    )
    with closing(rows):
        for chunk in rows:
            if not _store(run, chunk) or _cancelled(run):
                return
            if told.is_set():
                _leave(run)
                return
    _end(run, State.DONE)


@transaction.atomic
def _claim(number: int) -> WhatIfRun | None:
    """The run for this worker alone; None where there is nothing to do."""
    run = WhatIfRun.objects.select_for_update().filter(pk=number).first()
    now = timezone.now()
    if run is None or run.has_ended:
        return None
    if run.claim and run.heartbeat_at and now - run.heartbeat_at < LEASE:
        return None
    run.claim, run.claimed_at, run.heartbeat_at = uuid4(), now, now
    run.state = State.RUNNING
    run.done = WhatIfIncident.objects.filter(run=run).exclude(document="").count()
    run.done_when_claimed = run.done
    run.save()
    return run


@transaction.atomic
def _store(run: WhatIfRun, rows: list[Row]) -> bool:
    """Keep a chunk's results; False where another worker has taken the run over."""
    mine = WhatIfRun.objects.select_for_update().filter(pk=run.pk, claim=run.claim)
    if not mine.exists():
        return False
    for row in rows:
        WhatIfIncident.objects.filter(run=run, incident=UUID(row.incident)).update(
            document=row.document,
            differs=row.differs,
            ended_otherwise=row.ended_otherwise,
            judged=row.judged,
        )
    run.done += len(rows)
    mine.update(done=run.done, heartbeat_at=timezone.now())
    return True


def _cancelled(run: WhatIfRun) -> bool:
    """End the run where somebody asked for it."""
    asked = WhatIfRun.objects.filter(pk=run.pk, cancel_asked_at__isnull=False)
    if not asked.exists():
        return False
    _end(run, State.CANCELLED)
    return True


def _end(run: WhatIfRun, state: str, failure: str = "") -> None:
    WhatIfRun.objects.filter(pk=run.pk, claim=run.claim).update(
        state=state, failure=failure, ended_at=timezone.now(), claim=None
    )


@transaction.atomic
def _leave(run: WhatIfRun) -> None:
    """Give the run back, to be taken up by the next worker at once."""
    from incidents.tasks import judge_archive

    mine = WhatIfRun.objects.filter(pk=run.pk, claim=run.claim)
    if mine.update(state=State.WAITING, claim=None, heartbeat_at=None):
        judge_archive.enqueue(run.pk)


@contextmanager
def _told_to_stop() -> Iterator[threading.Event]:
    """An event that is set when the worker is told to end; it hears of it as well."""
    told = threading.Event()
    if threading.current_thread() is not threading.main_thread():
        yield told
        return
    kept = {each: signal.getsignal(each) for each in (signal.SIGTERM, signal.SIGINT)}

    def hear(number: int, frame: FrameType | None) -> None:
        told.set()
        before = kept[signal.Signals(number)]
        if callable(before):
            before(number, frame)

    for each in kept:
        signal.signal(each, hear)
    try:
        yield told
    finally:
        for each, before in kept.items():
            signal.signal(each, before)
