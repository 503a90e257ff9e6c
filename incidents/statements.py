"""What a finding states, by which one that was kept is told to be one that is said now."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TypeAlias

from incidents.models import StoredFinding
from screening.verdicts import Finding

Found: TypeAlias = Mapping[str, tuple[Finding, ...]]  # by the entry's key


@dataclass(frozen=True, slots=True)
class Said:
    """What makes two findings the same statement."""

    entry: str
    team: str
    rule: str
    number: int
    hazard: str
    place: str
    action: int
    because: str
    advice: tuple[str, ...]
    source: str
    # Kept for the alarms; rows of before it was kept are the same statement.
    subject: str = field(default="", compare=False)


def said(entry_key: str, finding: Finding) -> Said:
    return Said(
        entry_key,
        finding.team,
        finding.rule,
        finding.number,
        finding.hazard.value,
        finding.place,
        finding.action.value,
        finding.because,
        tuple(finding.advice),
        finding.source,
        finding.subject,
    )


def said_before(row: StoredFinding) -> Said:
    return Said(
        row.entry.key,
        row.team_key,
        row.rule,
        row.number,
        row.hazard,
        row.place,
        row.action,
        row.because,
        tuple(row.advice),
        row.source,
        row.subject,
    )


def all_said(found: Found) -> Counter[Said]:
    """Each statement of these findings, with how often it is made."""
    return Counter(said(key, each) for key, of in found.items() for each in of)


def take(wanted: Counter[Said], finding: Said) -> bool:
    """Take one such statement out of those that are looked for; False where none is left."""
    if wanted[finding] > 0:
        wanted[finding] -= 1
        return True
    return False
