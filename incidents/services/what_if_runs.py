"""The archive under other limits, in the background: asked for, cancelled, taken up again.

Nothing of an incident is written by any of it.
"""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any, Final

from incidents.documents import dumps
from incidents.models import Person, WhatIfIncident, WhatIfRun
from incidents.rescreening.job import LEASE
from incidents.services.errors import (
    EntryRefusedError,
    NotAllowedError,
    RunEndedError,
)
from incidents.services.locking import one_transaction
from incidents.services.permissions import require_reviewer
from incidents.services.typed import typed
from incidents.tasks import judge_archive
from review.what_if_document import read_limits
from screening.worksheet import WorksheetErrors

SLACK: Final = timedelta(seconds=5)
State = WhatIfRun.State


def start_run(
    *,
    person: Person,
    name: str,
    document: Mapping[str, Any],
    at: datetime,
    query: str = "",
) -> WhatIfRun:
    """Ask for every incident of the agency, drills left out, under a LIMITS.json.

    `query` asks the same on the page of one incident. Raises `NotAllowedError`, and `EntryRefusedError` for limits that are none or a name
    that is no line of text.
    """
    agency = require_reviewer(person)
    try:
        read_limits(document)
    except WorksheetErrors as errors:
        raise EntryRefusedError(errors.errors) from errors
    called = typed(name, "/name", longest=200, one_line=True, needed="a name")
    with one_transaction():
        keys = list(agency.incidents.real().values_list("pk", flat=True))
        run = WhatIfRun.objects.create(
            agency=agency,
            name=called,
            limits=dumps(document),
            query=query,
            asked_by=person,
            asked_by_name=person.shown_name,
            asked_at=at,
            total=len(keys),
        )
        WhatIfIncident.objects.bulk_create(
            (WhatIfIncident(run=run, incident_id=key) for key in keys), batch_size=500
        )
        judge_archive.enqueue(run.pk)
    return run


def cancel_run(*, person: Person, run: WhatIfRun, at: datetime) -> None:
    """Ask the worker to stop; one that waits for a worker ends here.

    What was judged until then is kept. Raises `RunEndedError` where it has ended.
    """
    with one_transaction():
        now = _locked(person, run)
        if now.has_ended:
            raise RunEndedError("The run has ended already.")
        now.cancel_asked_at = now.cancel_asked_at or at
        if now.state == State.WAITING or is_left(now, at):
            now.state, now.ended_at, now.claim = State.CANCELLED, at, None
        now.save()


def take_up(*, person: Person, run: WhatIfRun, at: datetime) -> None:
    """Go on with a run that was cancelled, failed or left by its worker.

    Raises `RunEndedError` where it is done or a worker is at it.
    """
    with one_transaction():
        now = _locked(person, run)
        if now.state == State.DONE or not (now.has_ended or is_left(now, at)):
            raise RunEndedError("The run is done, or a worker is at it.")
        now.state, now.claim, now.heartbeat_at = State.WAITING, None, None
        now.cancel_asked_at, now.ended_at, now.failure = None, None, ""
        now.save()
        judge_archive.enqueue(now.pk)


def take_up_what_was_left() -> int:
    """Queue every run that has not ended anew, for a worker that begins; how many.

    One whose worker was killed is due when its claim runs out. For one that another
    worker is at, the task will find nothing to do.
    """
    found = WhatIfRun.objects.filter(state__in=(State.WAITING, State.RUNNING))
    for run in found:
        due = run.heartbeat_at and run.heartbeat_at + LEASE + SLACK
        judge_archive.using(run_after=due).enqueue(run.pk)
    return len(found)


def is_left(run: WhatIfRun, at: datetime) -> bool:
    """Whether a running one gave no sign of life for longer than its claim counts."""
    beat = run.heartbeat_at
    return run.state == State.RUNNING and (beat is None or at - beat > LEASE)


def _locked(person: Person, run: WhatIfRun) -> WhatIfRun:
    agency = require_reviewer(person)
    now = WhatIfRun.objects.select_for_update().get(pk=run.pk)
    if now.agency_id != agency.pk:
        raise NotAllowedError("This run is of another agency.")
    return now
