"""The figures of one incident (`review.measures`), from what is stored, and as JSON.

The JSON is compact and holds only what a page over many incidents needs; per incident
`measures_of` gives all of it.
"""

import json
import logging
from collections.abc import Iterable, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any, Final

from incidents import engine
from incidents.documents import loads
from incidents.models import Incident, LogEntry, StoredFinding
from review.across import SERIES, Kept, Stop
from review.measures import (
    Answer,
    FindingRow,
    LogRow,
    Measures,
    Outcome,
    Turn,
    measure,
)
from screening.incident import Context
from screening.readings import AirCheck, Dosimeter
from screening.verdicts import Action
from screening.worksheet import WorksheetErrors

log = logging.getLogger(__name__)

_WITH_NUMBERS: Final = frozenset({"air_check", "dosimeter"})


def measures_of(incident: Incident, at: datetime) -> Measures:
    """All figures of an incident; an open one up to `at`. Three queries."""
    rows = list(incident.entries.order_by("seq").defer("canonical"))
    found = incident.findings.prefetch_related("events").select_related("entry")
    return measures_from(incident, rows, list(found), at)


def measures_from(
    incident: Incident,
    rows: Sequence[LogEntry],
    found: Iterable[StoredFinding],
    at: datetime,
) -> Measures:
    """As `measures_of`, of rows that were fetched: findings with `entry` and `events`."""
    context = engine.start(rows).context
    return measure(
        [log_row(row, context) for row in rows if row.is_for_engine],
        [finding_row(one) for one in found],
        incident.closed_at or at,
    )


def log_row(row: LogEntry, context: Context) -> LogRow:
    """One record as `review.measures` takes it."""
    body = loads(row.body)
    pressure, dose = _numbers(row, context)
    return LogRow(
        key=row.key,
        kind=row.kind,
        at=row.observed_at,
        recorded_at=row.recorded_at,
        team=body.get("team", ""),
        place=body.get("place", ""),
        fields=frozenset(body),
        over_range=frozenset(name.lower() for name in body.get("over_range", ())),
        target=body.get("entry", ""),
        member=body.get("member", ""),
        pressure_psi=pressure,
        dose_rem=dose,
    )


def _numbers(row: LogEntry, context: Context) -> tuple[Decimal | None, Decimal | None]:
    """Pressure and dose in the engine's units; None where the entry has none."""
    if row.kind not in _WITH_NUMBERS:
        return None, None
    try:
        entry = engine.read_row(row, context)
    except WorksheetErrors:
        log.exception("Entry %s of %s was not measured", row.seq, row.incident_id)
        return None, None
    if isinstance(entry, AirCheck):
        return entry.pressure_psi, None
    return None, entry.dose_rem if isinstance(entry, Dosimeter) else None


def finding_row(found: StoredFinding) -> FindingRow:
    """One kept finding with its life; `entry` and `events` were fetched."""
    return FindingRow(
        entry=found.entry.key,
        team=found.team_key,
        rule=found.rule,
        number=found.number,
        hazard=found.hazard,
        action=Action(found.action),
        said_at=found.created_at,
        place=found.place,
        subject=found.subject,
        superseded=found.superseded,
        turns=tuple(Turn(kind=turn.kind, at=turn.at) for turn in found.events.all()),
    )


# --- What the archive keeps of it -----------------------------------------------------


def figures_text(measures: Measures) -> str:
    """The JSON that is kept; read by `read_figures`."""
    return json.dumps(
        {
            **{name: getattr(measures, name) for name in SERIES},
            "never_looked": measures.never_looked,
            "stops": [_stop(answer) for answer in measures.answers],
        },
        ensure_ascii=False,
        separators=(",", ":"),
    )


def _stop(answer: Answer) -> list[Any]:
    return [
        answer.number,
        answer.rule,
        answer.action.value,
        answer.place,
        answer.heard_after,
        answer.acted_after if answer.inside else None,
        answer.inside,
        answer.outcome.value,
    ]


def read_figures(text: str, year: int) -> Kept:
    """What was kept of an incident that was opened in a year of its agency's clock."""
    raw = json.loads(text)
    return Kept(
        year=year,
        series={name: raw[name] for name in SERIES},
        never_looked=raw["never_looked"],
        stops=[
            Stop(
                number=number,
                rule=rule,
                action=Action(action),
                place=place,
                heard_after=heard,
                acted_after=acted,
                inside=inside,
                outcome=Outcome(outcome),
            )
            for number, rule, action, place, heard, acted, inside, outcome in raw[
                "stops"
            ]
        ],
    )
