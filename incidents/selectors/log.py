"""The log as pages and documents show it."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import Prefetch

from incidents.documents import loads
from incidents.models import FindingEvent, Incident, LogEntry, StoredFinding
from screening.readings import KINDS


@dataclass(frozen=True, slots=True, kw_only=True)
class LogRow:
    """One line of the log with all that belongs to it."""

    entry: LogEntry
    body: Mapping[str, Any]  # numbers are Decimal, as entered
    findings: tuple[StoredFinding, ...]  # strictest first; each with its `events`
    struck_by: LogEntry | None  # the entry that put this one right
    strike_reason: str
    acknowledged_by: tuple[LogEntry, ...]

    @property
    def is_decision(self) -> bool:
        kind = KINDS.get(self.entry.kind)
        return kind is not None and not kind.is_reading


def log_rows(
    incident: Incident, *, limit: int = 50, before_seq: int | None = None
) -> list[LogRow]:
    """The newest `limit` rows by number, or those before `before_seq`.

    Four queries, however many rows.
    """
    rows = incident.entries.order_by("-seq")
    if before_seq is not None:
        rows = rows.filter(seq__lt=before_seq)
    return _with_all(incident, list(_prepared(rows)[:limit]))


def log_row(incident: Incident, seq: int) -> LogRow | None:
    """One row by its number."""
    rows = _with_all(incident, list(_prepared(incident.entries.filter(seq=seq))))
    return rows[0] if rows else None


def full_log(incident: Incident) -> list[LogRow]:
    """Every row in the order of recording, for the report."""
    return _with_all(incident, list(_prepared(incident.entries.order_by("seq"))))


def _prepared(rows: Any) -> Any:
    events = FindingEvent.objects.select_related("by")
    found = StoredFinding.objects.order_by("-action", "pk").prefetch_related(
        Prefetch("events", queryset=events)
    )
    return rows.select_related("author").prefetch_related(
        Prefetch("findings", queryset=found)
    )


def _with_all(incident: Incident, rows: list[LogEntry]) -> list[LogRow]:
    strikes: dict[str, tuple[LogEntry, str]] = {}
    heard: dict[str, list[LogEntry]] = {}
    pointing = incident.entries.filter(kind__in=("strike", "acknowledge"))
    for entry in pointing.select_related("author").order_by("seq"):
        body = loads(entry.body)
        if entry.kind == "strike":
            strikes.setdefault(body["entry"], (entry, body["reason"]))
        else:
            heard.setdefault(body["entry"], []).append(entry)
    return [
        LogRow(
            entry=row,
            body=loads(row.body),
            findings=tuple(row.findings.all()),
            struck_by=strikes.get(row.key, (None, ""))[0],
            strike_reason=strikes.get(row.key, (None, ""))[1],
            acknowledged_by=tuple(heard.get(row.key, ())),
        )
        for row in rows
    ]
