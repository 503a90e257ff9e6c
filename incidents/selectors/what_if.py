"""What-if as pages need it: runs over the archive, and one incident both ways."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from django.db.models import Count, Q, QuerySet
from django.http import Http404

from incidents.models import Agency, Incident, Person, WhatIfIncident, WhatIfRun
from review.what_if_document import Row, read_limits, whole

LINES_AT_ONCE: Final = 200
SHOWN: Final = 200  # on the page of a run; the file has all


def what_if_runs(agency: Agency) -> list[WhatIfRun]:
    """Every run of the agency, newest first. One query."""
    return list(agency.what_if_runs.order_by("-asked_at", "-pk"))


def what_if_extent(agency: Agency) -> int:
    """How many incidents a run of now would be about."""
    return agency.incidents.real().count()


def what_if_run_for(person: Person, number: int) -> WhatIfRun:
    """The run of the reviewer's own agency, or 404."""
    runs = WhatIfRun.objects.filter(pk=number, agency=person.agency_id)
    if not person.reviews:
        runs = runs.none()
    run = runs.select_related("agency").first()
    if run is None:
        raise Http404("No such run.")
    return run


@dataclass(frozen=True, slots=True, kw_only=True)
class RunResult:
    """What came of a run. The lists hold the newest `SHOWN`."""

    differ: int  # a team's action differs after some entry
    ended_otherwise: int
    otherwise: list[Incident]
    could_not: int  # their logs cannot be read under the limits
    not_readable: list[Incident]

    @property
    def only_on_the_way(self) -> int:
        """Those that differ on the way and end alike."""
        return self.differ - self.ended_otherwise


def what_if_result(run: WhatIfRun) -> RunResult:
    """Three queries, however many incidents."""
    rows = WhatIfIncident.objects.filter(run=run).exclude(document="")
    sums = rows.aggregate(
        differ=Count("pk", filter=Q(differs=True)),
        ended_otherwise=Count("pk", filter=Q(ended_otherwise=True)),
        could_not=Count("pk", filter=Q(judged=False)),
    )
    return RunResult(
        **sums,
        otherwise=_newest(rows.filter(ended_otherwise=True)),
        not_readable=_newest(rows.filter(judged=False)),
    )


def _newest(rows: QuerySet[WhatIfIncident]) -> list[Incident]:
    found = Incident.objects.filter(pk__in=rows.values("incident"))
    return list(found.order_by("-opened_at", "pk")[:SHOWN])


def run_document(run: WhatIfRun) -> Iterator[str]:
    """The document of `manage.py whatif` for what was judged, in pieces."""
    return whole(read_limits(run.document), run.limits, _lines(run))


def _lines(run: WhatIfRun) -> Iterator[Row]:
    """Some at a time, each by a query of its own.

    Whoever takes the file slowly must not hold a read of SQLite open meanwhile: without
    write-ahead logging that would keep every writer out.
    """
    rows = WhatIfIncident.objects.filter(run=run).exclude(document="")
    rows = rows.order_by("incident_id")
    after = rows
    while True:
        found = list(
            after.values_list(
                "incident_id", "document", "differs", "ended_otherwise", "judged"
            )[:LINES_AT_ONCE]
        )
        for key, document, differs, otherwise, judged in found:
            yield Row(str(key), document, differs, otherwise, judged)
        if len(found) < LINES_AT_ONCE:
            return
        after = rows.filter(incident_id__gt=found[-1][0])


def time_left(run: WhatIfRun, at: datetime) -> timedelta | None:
    """By how fast this worker was so far; None where that cannot be told yet."""
    since, done = run.claimed_at, run.done - run.done_when_claimed
    if run.state != WhatIfRun.State.RUNNING or since is None or done <= 0:
        return None
    return (at - since) / done * (run.total - run.done)
