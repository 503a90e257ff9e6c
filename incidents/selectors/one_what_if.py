"""One incident both ways, with the names that its people have."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from incidents import engine
from incidents.documents import loads
from incidents.models import Incident, LogEntry
from review.what_if import Change, Outcome, compare, under
from screening.incident import Worksheet
from screening.worksheet import parse_worksheet


@dataclass(frozen=True, slots=True, kw_only=True)
class IncidentWhatIf:
    """What came of it, and the rows that it speaks of."""

    outcome: Outcome
    log: tuple[str, ...]  # keys of the entries, in the engine's order
    rows: Mapping[str, LogEntry]  # by key
    bodies: Mapping[str, Mapping[str, Any]]


def incident_what_if(incident: Incident, change: Change) -> IncidentWhatIf:
    """Judge the log as it stands both ways. One query; nothing is stored.

    Raises `WorksheetErrors` where it cannot be read under the change.
    """
    every = list(incident.entries.order_by("seq").defer("canonical"))
    rows = {row.key: row for row in every if row.is_for_engine}
    bodies = {key: loads(row.body) for key, row in rows.items()}
    setup, log = engine.setup_of(every), list(bodies.values())
    own = parse_worksheet({**setup, "log": log})
    other = under(own, setup, log, change)
    names = engine.names_of(every)
    return IncidentWhatIf(
        outcome=compare(_named(own, names), _named(other, names)),
        log=tuple(entry.id for entry in own.log),
        rows=rows,
        bodies=bodies,
    )


def _named(worksheet: Worksheet, names: Mapping[str, str]) -> Worksheet:
    return replace(worksheet, context=replace(worksheet.context, names=names))
