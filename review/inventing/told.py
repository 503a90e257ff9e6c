"""What an invented incident consists of."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any, Final

# Opened between these, whatever the seed.
FIRST_DAY: Final = datetime(2022, 2, 1, tzinfo=UTC)
LAST_DAY: Final = datetime(2025, 12, 20, tzinfo=UTC)

COMMANDER: Final = "commander"
TECHNICIAN: Final = "technician"


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """One entry of the log: a reading, a decision, or a note."""

    body: Mapping[str, Any]  # with its `id` and its `at`
    recorded_at: datetime
    by: str  # COMMANDER or TECHNICIAN


@dataclass(frozen=True, slots=True, kw_only=True)
class Invented:
    """One incident, from its opening to its closing."""

    seed: int
    number: int
    kind: str  # what it is about, one of `kinds.KINDS`
    document: Mapping[str, Any]  # incident, teams with names, instruments, suspects
    location: str
    crew: int  # which of several crews has it
    opened_at: datetime
    plan: tuple[tuple[str, str, Mapping[str, Any]], ...]  # part, item, what it says
    log: tuple[Said, ...]  # in the order of recording
    closed_at: datetime
    closing: str
