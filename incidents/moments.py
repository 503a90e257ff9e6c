"""At which moment an incident is judged: the one place where that is chosen.

An open incident is judged at the moment that is asked for, usually now. One that has ended
is judged at its end: nobody was inside, or overdue, for all the days that have passed since.
"""

from datetime import datetime
from typing import Protocol

from django.db.models import Max, Q

from incidents.models import APP_KINDS, ImportedWorksheet, Incident


class Seen(Protocol):
    """What of `engine.Live` is needed here."""

    @property
    def last(self) -> tuple[datetime, str] | None: ...


def moment_of(incident: Incident, now: Seen, at: datetime) -> datetime:
    """`at`, never past the end of the incident, and never before the last observation.

    No query while the incident is open, one for one that has ended.
    """
    end = ended_at(incident)
    moment = at if end is None else min(at, end)
    return max(moment, now.last[0]) if now.last else moment


def ended_at(incident: Incident) -> datetime | None:
    """When the incident ended; None while it is open.

    One that was imported ended with the last entry of its file: its closing record says
    when it was imported. Without any entry nothing but that is known.
    """
    if incident.closed_at is None:
        return None
    said = ~Q(incident__entries__kind__in=APP_KINDS)
    last = Max("incident__entries__observed_at", filter=said)
    rows = ImportedWorksheet.objects.filter(pk=incident.pk).annotate(last=last)
    return rows.values_list("last", flat=True).first() or incident.closed_at
