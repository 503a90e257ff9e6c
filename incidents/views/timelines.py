"""An incident's records as marks of its timeline, in the words of pages."""

from collections import OrderedDict
from datetime import datetime
from typing import Final
from uuid import UUID

from incidents.models import Incident
from incidents.selectors import LogRow, full_log, look_back
from incidents.views.words import Line, Names, lines_of, names_of
from review.channels import figures_of
from review.measures import Measures
from review.timeline import Mark, Timeline, asked_of, short_of
from screening.readings import Entry
from screening.worksheet import WorksheetErrors, parse_entry

KEPT: Final = 16
_SHORT: Final = {
    "heard": "heard",
    "order": "leave",
    "mayday": "Mayday",
    "mayday_over": "Mayday over",
    "undone": "taken back",
    "correction": "corrected",
    "sign_off": "signed off",
    "device": "phone",
}
# Marks by the head of the log: what it says before its head does not change.
_marks: OrderedDict[tuple[UUID, str, str], tuple[Mark, ...]] = OrderedDict()


def timeline_of(incident: Incident, measures: Measures, now: datetime) -> Timeline:
    """The whole incident. Some ten queries, however many records."""
    rows = look_back.rows_of(incident)
    span = look_back.span_of(incident, rows, now)
    return Timeline(
        start=span.start,
        end=span.end,
        teams=look_back.team_lines(incident, rows, span),
        marks=_marks_of(incident),
        editions=look_back.editions(rows),
        asked=asked_of(measures.answers, {row.key: row.seq for row in rows}),
    )


def _marks_of(incident: Incident) -> tuple[Mark, ...]:
    key = (incident.pk, incident.head_hash, incident.setup)
    if key not in _marks:
        rows, names = full_log(incident), names_of(incident)
        imported = look_back.is_imported(incident)
        marks = (
            _mark(row, line, names, imported=imported)
            for row, line in zip(rows, lines_of(rows, names), strict=True)
        )
        _marks[key] = tuple(sorted(marks, key=lambda mark: (mark.at, mark.seq)))
        while len(_marks) > KEPT:
            _marks.popitem(last=False)
    return _marks[key]


def _mark(row: LogRow, line: Line, names: Names, *, imported: bool) -> Mark:
    entry = _entry(row, names)
    said = (each.as_said(row.entry) for each in row.findings if not each.superseded)
    return Mark(
        seq=line.seq,
        at=line.at,
        # Of a file that was imported nobody knows when its entries were recorded.
        recorded_at=line.at if imported else line.recorded_at,
        kind=line.kind,
        words=line.words,
        short=_short(row, entry),
        team=str(row.body.get("team", "")),
        place=line.place,
        author=line.author,
        action=line.action,
        struck=line.struck,
        figures=tuple(figures_of(entry, said)) if entry else (),
    )


def _entry(row: LogRow, names: Names) -> Entry | None:
    if not row.entry.is_for_engine:
        return None
    try:
        return parse_entry(dict(row.body), names.context)
    except WorksheetErrors:
        return None


def _short(row: LogRow, entry: Entry | None) -> str:
    if entry is not None:
        return short_of(entry)
    return _SHORT.get(row.entry.kind, row.entry.kind.replace("_", " "))
