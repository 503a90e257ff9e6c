"""The head of the report: what it is, which incident, when, where, under which SOP."""

from typing import Any

from reports import layout, text
from reports.clock import lasted, moment, zone_words
from reports.data import Fact, ReportData
from reports.tables import PagedTable, Row

FULL_KIND = "After-action report"
INTERIM_KIND = "Interim report"


def kind_of(data: ReportData) -> str:
    """What the report calls itself, on every page."""
    kind = FULL_KIND if data.closed_at else INTERIM_KIND
    if data.drill:
        kind += ", drill"
    if data.demo:
        kind += ", invented data"
    return kind


def front(data: ReportData, width: float) -> list[Any]:
    """The title, what the reader must know before all else, and the facts."""
    styles = layout.styles()
    parts: list[Any] = text.paragraphs(kind_of(data), styles["kind"])
    parts += text.paragraphs(
        data.incident or "Incident without a name", styles["title"]
    )
    where = ", ".join(part for part in (data.location, data.agency) if part)
    if where:
        parts += text.paragraphs(where, styles["kind"])
    parts.append(layout.spacer(6))
    for lead, words in _notices(data):
        parts.append(layout.Notice(lead, words))
        parts.append(layout.spacer(5))
    parts += [layout.spacer(3), _facts(data, width)]
    return parts


def _notices(data: ReportData) -> list[tuple[str, str]]:
    notices = []
    if data.closed_at is None:
        made = moment(data.made_at, data.zone)
        notices.append(
            ("Interim.", f"The incident is not closed. This is how it stood at {made}.")
        )
    if data.drill:
        notices.append(("Drill.", "Nothing in this report happened."))
    if data.demo:
        notices.append(
            ("Demonstration.", "The people, places and readings are invented.")
        )
    for sentence in data.taken_back:
        notices.append(("Bump test failed after use.", sentence))
    for sentence in data.loosened:
        notices.append(("Limit looser than its source.", sentence))
    return notices


def _facts(data: ReportData, width: float) -> PagedTable:
    zone = data.zone
    facts = []
    if data.started_at:
        facts.append(Fact(label="Started", text=moment(data.started_at, zone)))
    if data.closed_at:
        closed = moment(data.closed_at, zone)
        if data.started_at:
            closed += f", after {lasted(data.started_at, data.closed_at)}"
        facts.append(Fact(label="Closed", text=closed))
    facts += data.facts
    profile = f"{data.profile_name}, version {data.profile_version}"
    profile += f", {data.profile_approval}" if data.profile_approval else ""
    facts.append(Fact(label="Profile of limits", text=profile))
    made = moment(data.made_at, zone)
    made += f", by {data.made_by}" if data.made_by else ""
    facts.append(Fact(label="Report made", text=made))
    facts.append(Fact(label="Times", text=_zone_line(data)))
    rows = [Row(cells=(fact.label, fact.text), bold=frozenset({0})) for fact in facts]
    return PagedTable((), rows, (width * 0.2, width * 0.8), layout.BODY)


def _zone_line(data: ReportData) -> str:
    at = data.started_at or data.made_at
    key = getattr(data.zone, "key", "")
    words = zone_words(at, data.zone)
    return f"All in {key}, {words}, 24-hour clock" if key else f"All in {words}"
