"""What the verdicts rest on: rules and sources, the profile's limits, the cautions."""

from typing import Any

from reports import layout
from reports.data import ReportData
from reports.tables import PagedTable, Row
from screening.verdicts import CAUTION


def rules(data: ReportData, width: float) -> list[Any]:
    """The rules that raised a finding."""
    parts = layout.heading("Rules that spoke, and their sources")
    if not data.rules:
        return [*parts, *layout.body("No rule had anything to say.")]
    rows = [
        Row(cells=(str(rule.number) if rule.number else "", rule.title, rule.source))
        for rule in data.rules
    ]
    widths = layout.shares(width, (0.06, 0.5, 0.44))
    return [*parts, PagedTable(("Rule", "What it says", "Source"), rows, widths)]


def limits(data: ReportData, width: float) -> list[Any]:
    """Every limit of the profile beside its default and its source."""
    parts = layout.heading(
        "Limits of the profile",
        f"{data.profile_name}, version {data.profile_version}"
        + (f", {data.profile_approval}" if data.profile_approval else "")
        + ". A value that differs from the default is bold.",
    )
    for sentence in data.loosened:
        parts += [*layout.body(sentence, "Looser than its source:"), layout.spacer(2)]
    rows = [
        Row(
            cells=(
                limit.label,
                limit.value + (" (looser)" if limit.loosened else ""),
                limit.default,
                limit.source,
            ),
            bold=frozenset({1} if limit.changed else ()),
        )
        for limit in data.limits
    ]
    if not rows:
        return [*parts, *layout.body("No limits were given.")]
    widths = layout.shares(width, (0.36, 0.14, 0.12, 0.38))
    return [*parts, PagedTable(("Limit", "Value", "Default", "Source"), rows, widths)]


def cautions(data: ReportData) -> list[Any]:
    """What must be kept in mind with all of it; the standing caution first."""
    parts = layout.heading("Cautions")
    for sentence in (CAUTION, *(c for c in data.cautions if c != CAUTION)):
        parts += [*layout.body(f"– {sentence}"), layout.spacer(1)]
    return parts
