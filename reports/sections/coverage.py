"""What was looked for and what was not: a quiet instrument proves little."""

from typing import Any

from reports import layout
from reports.clock import moment
from reports.data import CoverageLine, PlaceCoverage, ReportData
from reports.tables import PagedTable, Row
from screening.verdicts import Status


def coverage(data: ReportData, width: float) -> list[Any]:
    """Each place with what is known of each hazard there, the unknown first."""
    end = moment(data.closed_at or data.made_at, data.zone)
    parts = layout.heading(
        "What was looked for",
        f"For each place as of {end}: found, not found, out of date, looked for but"
        " cannot tell, or not looked at.",
    )
    if not data.coverage:
        return [*parts, *layout.body("Nothing was looked for."), *_beyond(data)]
    for place in data.coverage:
        words = "nothing was looked for" if place.untouched else _never(place)
        if words:
            lead = f"Never looked for, {_name(place)}:"
            lead = f"{_name(place)}:" if place.untouched else lead
            parts += [*layout.body(words, lead), layout.spacer(2)]
    sources = _sources(data)
    rows = _rows(data, sources)
    if not rows:
        return [*parts, *_beyond(data)]
    # What to look at next is of no use once the incident is closed.
    next_check = () if data.closed_at else ("Next check",)
    parts.append(layout.spacer(3))
    widths = layout.shares(width, (0.19, 0.13, 0.38, 0.30))
    head = ("Hazard", "Status", "Because", *next_check)
    parts.append(PagedTable(head, rows, widths))
    return [*parts, *_listed(data, sources), *_beyond(data)]


def _sources(data: ReportData) -> dict[str, int]:
    """Every source of a reason with its number, in the order of the table."""
    lines = [
        line for place in data.coverage if not place.untouched for line in place.lines
    ]
    cited = dict.fromkeys(line.source for line in lines if line.source)
    return {source: number for number, source in enumerate(cited, start=1)}


def _listed(data: ReportData, sources: dict[str, int]) -> list[Any]:
    """The sources by number, each with the rows of methods and rules that rest on it."""
    if not sources:
        return []
    lines = [
        line for place in data.coverage if not place.untouched for line in place.lines
    ]
    words = []
    for source, number in sources.items():
        origins = sorted({line.origin for line in lines if line.source == source})
        words.append(f"[{number}] {source} ({', '.join(origins)})")
    return [
        layout.spacer(3),
        *layout.small(f"Sources of the reasons: {'; '.join(words)}."),
    ]


def _beyond(data: ReportData) -> list[Any]:
    """What could not have been found with what the teams carried."""
    if not data.beyond:
        return []
    parts: list[Any] = [layout.spacer(3)]
    parts += layout.body(
        "a quiet instrument says nothing of these.",
        "Nothing that was carried would have shown the following;",
    )
    for sentence in data.beyond:
        what, mark, rest = sentence.partition(": ")
        parts += layout.body(rest, what + mark.rstrip()) if mark else layout.body(what)
    return parts


def _rows(data: ReportData, sources: dict[str, int]) -> list[Row]:
    rows = []
    for place in data.coverage:
        if place.untouched:
            continue
        rows.append(Row(cells=(_name(place),), bold=frozenset({0}), heading=True))
        for line in place.lines:
            unknown = line.status is not Status.NOT_FOUND
            rows.append(
                Row(
                    cells=(
                        line.hazard,
                        line.status.label,
                        line.because + _mark(line, sources),
                        *(() if data.closed_at else (line.next_check,)),
                    ),
                    bold=frozenset({1} if unknown else ()),
                )
            )
    return rows


def _mark(line: CoverageLine, sources: dict[str, int]) -> str:
    return f" [{sources[line.source]}]" if line.source else ""


def _never(place: PlaceCoverage) -> str:
    hazards = [
        line.hazard.lower() for line in place.lines if line.status is Status.NOT_CHECKED
    ]
    return ", ".join(hazards)


def _name(place: PlaceCoverage) -> str:
    where = place.place or "no place given"
    return f"{place.team}, {where}" if place.team else where
