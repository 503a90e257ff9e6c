"""The log as pages and documents show it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from django.db.models import Prefetch

from incidents.documents import loads
from incidents.models import FindingEvent, Incident, LogEntry, StoredFinding
from incidents.models.log import CORRECTION, PHOTO_ARRIVED, UNDONE
from incidents.photo_claims import Claim
from incidents.then import Then, raised_by
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
    photo: Claim | None = None  # what the record names
    photo_here: bool = False  # whether its bytes are here
    photo_gone: bool = False  # whether they came, by the log, and are here no more
    right_seq: int | None = None  # the entry that stands in the place of this one
    wrong_seq: int | None = None  # the struck one in whose place this stands

    @property
    def is_decision(self) -> bool:
        kind = KINDS.get(self.entry.kind)
        return kind is not None and not kind.is_reading


def log_rows(
    incident: Incident, *, limit: int = 50, before_seq: int | None = None
) -> list[LogRow]:
    """The newest `limit` rows by number, or those before `before_seq`.

    Four queries, however many rows; one more where one of them has a photo, and another
    where one of those photos is not here.
    """
    rows = incident.entries.order_by("-seq")
    if before_seq is not None:
        rows = rows.filter(seq__lt=before_seq)
    return _with_all(incident, list(_prepared(rows)[:limit]))


def log_rows_then(then: Then, *, limit: int = 50) -> list[LogRow]:
    """The newest rows that were there at a moment, with what was said of them by then.

    A strike, an answer or a finding that came later is not there. Six queries.
    """
    raised = raised_by(then.incident, then.past.entries)
    newest = [row.pk for row in then.rows[-limit:]]
    rows = _prepared(then.incident.entries.filter(pk__in=newest).order_by("-seq"))
    found = _with_all(then.incident, list(rows), then.past.entries)
    return [replace(row, findings=_findings_then(row, raised, then)) for row in found]


def _findings_then(
    row: LogRow, raised: frozenset[int], then: Then
) -> tuple[StoredFinding, ...]:
    there = tuple(finding for finding in row.findings if finding.pk in raised)
    for finding in there:
        finding.superseded = finding.pk not in then.past.standing  # not saved
    return there


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


def _with_all(
    incident: Incident, rows: list[LogEntry], there: frozenset[int] | None = None
) -> list[LogRow]:
    strikes: dict[str, tuple[LogEntry, str]] = {}
    heard: dict[str, list[LogEntry]] = {}
    rights: dict[str, int] = {}
    wrongs: dict[str, int] = {}
    kinds = ("strike", "acknowledge", UNDONE, CORRECTION)
    pointing = incident.entries.filter(kind__in=kinds)
    for entry in pointing.select_related("author").order_by("seq"):
        if there is not None and entry.pk not in there:
            continue
        body = loads(entry.body)
        if entry.kind == CORRECTION:
            rights[body["wrong"]] = int(body["right_seq"])
            wrongs[body["right"]] = int(body["wrong_seq"])
        elif entry.kind != "acknowledge":
            strikes.setdefault(body["entry"], (entry, body["reason"]))
        else:
            heard.setdefault(body["entry"], []).append(entry)
    bodies = {row.pk: loads(row.body) for row in rows}
    claims = {pk: Claim.of(body) for pk, body in bodies.items()}
    here = received(incident, filter(None, claims.values()))
    came = arrived(incident) if set(claims.values()) - here - {None} else frozenset()
    return [
        LogRow(
            entry=row,
            body=bodies[row.pk],
            findings=tuple(row.findings.all()),
            struck_by=strikes.get(row.key, (None, ""))[0],
            strike_reason=strikes.get(row.key, (None, ""))[1],
            acknowledged_by=tuple(heard.get(row.key, ())),
            photo=claims[row.pk],
            photo_here=claims[row.pk] in here,
            photo_gone=claims[row.pk] not in here
            and getattr(claims[row.pk], "sha256", "") in came,
            right_seq=rights.get(row.key),
            wrong_seq=wrongs.get(row.key),
        )
        for row in rows
    ]


def arrived(incident: Incident) -> frozenset[str]:
    """The hashes of all photos whose arrival the log has. One query."""
    rows = incident.entries.filter(kind=PHOTO_ARRIVED).values_list("body", flat=True)
    return frozenset(str(loads(body)["sha256"]) for body in rows)


def received(incident: Incident, claims: Iterable[Claim]) -> set[Claim | None]:
    """Those whose bytes are here. No query for no claim."""
    by_hash = {claim.sha256: claim for claim in claims}
    if not by_hash:
        return set()
    found = incident.photos.filter(sha256__in=by_hash)
    return {by_hash[sha256] for sha256 in found.values_list("sha256", flat=True)}
