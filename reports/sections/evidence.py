"""What the readings say of the table of substances, and what is known of the suspects."""

from typing import Any

from reports import layout
from reports.data import ReportData
from reports.tables import PagedTable, Row
from screening.evidence import EVIDENCE_CAUTION
from screening.fits import Clause, Group
from screening.suspects import SUSPECT_CAUTION, Suspect


def evidence(data: ReportData, width: float) -> list[Any]:
    """Suspects first, then every substance of the table once, by what speaks against it."""
    if not data.fits and not data.suspects:
        return []
    parts = layout.heading("What the readings fit")
    parts.append(layout.Notice("No reading names a substance.", EVIDENCE_CAUTION))
    if data.suspects:
        parts += layout.part_heading("Named suspects")
        parts += layout.body(SUSPECT_CAUTION)
    for suspect in data.suspects:
        parts += _suspect(suspect, width)
    total = sum(group.count for group in data.fits)
    if not _anything_read(data):
        return [
            *parts,
            *layout.part_heading("The table of substances"),
            *layout.body(
                "No paper and no meter was read: none of the"
                f" {total} substances could have been seen."
            ),
        ]
    for group in data.fits:
        parts += layout.part_heading(f"{group.label}: {group.count} of {total}")
        parts += _lines(group) or layout.body("None of the table.")
    return parts


def _anything_read(data: ReportData) -> bool:
    return any(
        clause.text != "nothing was read"
        for group in data.fits
        for line in group.lines
        for clause in line.clauses
    )


def _lines(group: Group) -> list[Any]:
    parts: list[Any] = []
    for line in group.lines:
        words = " ".join(_sentence(clause) for clause in line.clauses)
        lead = f"{line.reading}:" if line.reading else ""
        parts += [*layout.body(words, lead), layout.spacer(2)]
    return parts


def _sentence(clause: Clause) -> str:
    names = ", ".join(clause.names)
    return f"{names[:1].upper()}{names[1:]}: {clause.text}."


def _suspect(suspect: Suspect, width: float) -> list[Any]:
    name = suspect.name[:1].upper() + suspect.name[1:]
    if not suspect.facts:
        words = "not in the table of substances: ask for its data."
        return [layout.spacer(4), *layout.body(words, f"{name}:")]
    said = ". ".join(suspect.said) or "no reading of paper or meter"
    table = PagedTable((), _facts(suspect), layout.shares(width, (0.13, 0.55, 0.32)))
    lead = f"{name}: {suspect.weight.lower()}."
    return [
        layout.spacer(4),
        *layout.body(f"{said}.", lead),
        layout.spacer(2),
        table,
    ]


def _facts(suspect: Suspect) -> list[Row]:
    """One row for all that has the same topic and the same source."""
    texts: dict[tuple[str, str], list[str]] = {}
    for fact in suspect.facts:
        texts.setdefault((fact.topic, fact.source), []).append(fact.text)
    return [
        Row(cells=(topic, " ".join(facts), source), bold=frozenset({0}))
        for (topic, source), facts in texts.items()
    ]
