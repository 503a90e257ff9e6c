"""The whole log in order of time: what was read, what it meant, who said so."""

from datetime import timedelta
from typing import Any, Final

from reports import layout
from reports.clock import clock, day
from reports.data import ReportData, TimelineRow
from reports.tables import PagedTable, Row
from screening.verdicts import Action

HEAD: Final = (
    "No.", "Time", "Team, place", "What was read or decided", "Verdict", "Because", "By",
)  # fmt: skip
SHARES: Final = (0.05, 0.09, 0.15, 0.24, 0.115, 0.255, 0.1)
# A record that took longer than this to arrive says when it did.
_SOON: Final = timedelta(seconds=60)


def timeline(data: ReportData, width: float) -> list[Any]:
    """The log as a table, a row for each record and remarks under it."""
    parts = layout.heading(
        "Timeline",
        "Every record of the log, by the time of observation. The verdict is that of the"
        " record itself for the team named; what stood before it still stood.",
    )
    if not data.timeline:
        return [*parts, *layout.body("Nothing was logged.")]
    rows: list[Row] = []
    today = ""
    for record in data.timeline:
        date = day(record.at, data.zone)
        if date != today:
            rows.append(Row(cells=(date,), bold=frozenset({0}), heading=True))
            today = date
        rows += _rows(data, record)
    return [*parts, PagedTable(HEAD, rows, layout.shares(width, SHARES))]


def _rows(data: ReportData, record: TimelineRow) -> list[Row]:
    place = f"\n{record.place}" if record.place else ""
    verdict = layout.signed(record.action) if record.action is not None else ""
    rows = [
        Row(
            cells=(
                str(record.seq) if record.seq else "",
                _times(data, record),
                record.team + place,
                record.words,
                verdict,
                "\n".join(record.because),
                record.author,
            ),
            bold=frozenset({4} if (record.action or 0) >= Action.STOP else ()),
            struck=frozenset({3} if record.struck_by else ()),
            wide=frozenset({3}),
        )
    ]
    rows += [
        Row(cells=("", "", f"{label}: {words}"), ruled=False)
        for label, words in _remarks(record)
        if words
    ]
    return rows


def _times(data: ReportData, record: TimelineRow) -> str:
    words = clock(record.at, data.zone)
    recorded = record.recorded_at
    if recorded and (record.late or abs(recorded - record.at) > _SOON):
        words += f"\nlogged\n{clock(recorded, data.zone)}"
    return words


def _remarks(record: TimelineRow) -> list[tuple[str, str]]:
    struck = record.struck_by and f"by {record.struck_by}: {record.struck_reason}"
    late = record.late and "it arrived after later records and was judged from its time"
    superseded = "; ".join(record.superseded)
    unverified = "it names no meter of the register, so its tests are not known"
    return [
        ("Note", record.note),
        ("Put right", struck),
        ("Unverified", unverified if record.unverified else ""),
        ("Late", late or ""),
        ("Said that day, judged again since", superseded),
        ("Heard", record.heard),
    ]


def decisions(data: ReportData, width: float) -> list[Any]:
    """What people decided or reported about themselves, and what came of it."""
    parts = layout.heading("Decisions")
    if not data.decisions:
        return [*parts, *layout.body("No decision was logged.")]
    rows = [
        Row(
            cells=(
                str(decision.seq) if decision.seq else "",
                clock(decision.at, data.zone),
                decision.by,
                decision.words,
                decision.outcome,
            )
        )
        for decision in data.decisions
    ]
    widths = layout.shares(width, (0.05, 0.09, 0.17, 0.39, 0.3))
    return [*parts, PagedTable(("No.", "Time", "By", "What", "Outcome"), rows, widths)]
