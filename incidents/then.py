"""An incident as it was known at a moment that is over.

A record counts from when it was recorded on: a reading that came late was not known
before, and what was put right later stood as it was. Which findings stood follows from
the log up to then, as the findings that are kept do (`services.findings.reconcile`).

Of an imported worksheet nobody knows when its entries came; there they count from their
own times on.
"""

import copy
from collections import OrderedDict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final, TypeAlias

from incidents import commands, engine, judging, plans
from incidents.documents import dumps, loads
from incidents.kept_alarms import Past
from incidents.models import (
    FindingEvent,
    ImportedWorksheet,
    Incident,
    LogEntry,
    SopProfile,
    StoredFinding,
)
from incidents.models.log import AMENDMENT, CLOSING, OPENING, REOPENING
from incidents.statements import all_said, said_before, take

# States by the hash of the last record that they know: it stands for all before it.
KEPT_MOMENTS: Final = 16
Key: TypeAlias = tuple[object, ...]
_replayed: OrderedDict[Key, tuple[engine.Live, engine.Found]] = OrderedDict()


@dataclass(frozen=True, slots=True, kw_only=True)
class Then:
    """What was known of an incident at a moment."""

    incident: (
        Incident  # a copy with the set-up, limits and closing of then; never saved
    )
    at: datetime
    rows: tuple[LogEntry, ...]  # the records that were there, in order
    now: engine.Live
    past: Past

    @property
    def last(self) -> LogEntry:
        return self.rows[-1]


def rows_of(incident: Incident) -> tuple[LogEntry, ...]:
    """Every record up to the head, in order. One query."""
    rows = incident.entries.filter(seq__lte=incident.head_seq).order_by("seq")
    return tuple(rows.defer("canonical"))


def is_imported(incident: Incident) -> bool:
    """Whether the times of recording are those of an import. One query, or none."""
    known = getattr(incident, "is_imported", None)
    if known is not None:
        return bool(known)
    return ImportedWorksheet.objects.filter(incident=incident).exists()


def known_at(
    rows: Sequence[LogEntry], at: datetime, *, imported: bool = False
) -> tuple[LogEntry, ...]:
    """The records that were there at a moment; the opening always is.

    A server's clock that was set back cannot take a record out of the order of the log.
    """
    if imported:
        return tuple(r for r in rows if r.kind == OPENING or r.observed_at <= at)
    there = [number for number, row in enumerate(rows) if row.recorded_at <= at]
    return tuple(rows[: max(there, default=0) + 1])


def then(incident: Incident, at: datetime) -> Then:
    """The incident as it was known at `at`. Some five queries."""
    imported = is_imported(incident)
    rows = known_at(rows_of(incident), at, imported=imported)
    now, found = _replay(incident, rows, at if imported else None)
    entries = frozenset(row.pk for row in rows)
    return Then(
        incident=incident_after(incident, rows),
        at=at,
        rows=rows,
        now=now,
        past=Past(entries=entries, standing=_standing(incident, entries, found)),
    )


def beside_of(rows: Sequence[LogEntry]) -> judging.Beside:
    """What people had written beside readings after these records. No query."""
    return judging.Beside(said=commands.standing_in(rows), plan=plans.plan_from(rows))


def _replay(
    incident: Incident, rows: Sequence[LogEntry], at: datetime | None
) -> tuple[engine.Live, engine.Found]:
    key = (incident.pk, rows[-1].hash, at)
    if key not in _replayed:
        _replayed[key] = engine.replay(rows)
        while len(_replayed) > KEPT_MOMENTS:
            _replayed.popitem(last=False)
    return _replayed[key]


def incident_after(incident: Incident, rows: Sequence[LogEntry]) -> Incident:
    """The incident's row as it was after these records. Whoever saved it would write the past over the present."""
    past = copy.copy(incident)
    past.setup = dumps(engine.setup_of(rows))
    past.head_seq, past.head_hash = rows[-1].seq, rows[-1].hash
    past.closed_at = past.closed_by = None
    for row in rows:
        if row.kind == CLOSING:
            past.closed_at, past.closed_by_id = row.recorded_at, row.author_id
        elif row.kind == REOPENING:
            past.closed_at = past.closed_by = None
    past.sop = _sop(incident, rows)
    return past


def _sop(incident: Incident, rows: Iterable[LogEntry]) -> SopProfile | None:
    """The version of the SOP that held; no query where it is the present one."""
    record = edition_of(rows)
    if record is None or (incident.sop and incident.sop.pk == record["id"]):
        return incident.sop if record else None
    return SopProfile.objects.filter(pk=record["id"]).first()


def edition_of(rows: Iterable[LogEntry]) -> Mapping[str, Any] | None:
    """The last that the log says of the version of the SOP; None for built-in limits."""
    found: Mapping[str, Any] | None = None
    for row in rows:
        if row.kind in (OPENING, AMENDMENT):
            found = loads(row.body).get("sop", found)
    return found


# --- Which findings stood -------------------------------------------------------------


def _standing(
    incident: Incident, entries: frozenset[int], found: engine.Found
) -> frozenset[int]:
    """The kept findings that the log of then says, of those that were raised by then."""
    derived = all_said(found)
    raised = _raised(incident, entries)
    return frozenset(row.pk for row in raised if take(derived, said_before(row)))


def raised_by(incident: Incident, entries: frozenset[int]) -> frozenset[int]:
    """The findings that one of these records raised. One query."""
    events = FindingEvent.objects.filter(
        finding__incident=incident, kind=FindingEvent.Kind.RAISED
    )
    return frozenset(
        finding
        for finding, entry in events.values_list("finding_id", "entry_id")
        if entry in entries
    )


def _raised(incident: Incident, entries: frozenset[int]) -> list[StoredFinding]:
    raised = raised_by(incident, entries)
    rows = StoredFinding.objects.filter(incident=incident).select_related("entry")
    return [row for row in rows.order_by("pk") if row.pk in raised]
