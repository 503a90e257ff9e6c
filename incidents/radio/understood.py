"""What goes into the reading of a line, and what comes out."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What the incident has names for. Mappings are id to name."""

    teams: Mapping[str, str]
    now: datetime
    zone: ZoneInfo
    members: Mapping[str, Mapping[str, str]] = field(default_factory=dict)  # by team
    places: tuple[str, ...] = ()
    last_places: Mapping[str, str] = field(default_factory=dict)  # by team
    containers: tuple[str, ...] = ()
    instruments: Mapping[str, Mapping[str, str]] = field(
        default_factory=dict
    )  # by kind
    gases: tuple[str, ...] = ()  # that some cell may name: "ammonia"
    bands: tuple[str, ...] = ()  # colours of the pH paper's chart
    kinds: frozenset[str] | None = None  # that this person may log; None for all


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong, and where: `start` and `end` count characters of the line.

    Both are the line's length where something is missing at its end.
    """

    start: int
    end: int
    expected: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Understood:
    """An entry as it was understood; `body` lacks `id`, and `at` where now is meant.

    `assumed` names what was not said and taken from before, by the field.
    """

    body: Mapping[str, Any]
    problems: tuple[Problem, ...] = ()
    spans: Mapping[str, tuple[int, int]] = field(default_factory=dict)
    assumed: frozenset[str] = frozenset()

    @property
    def whole(self) -> bool:
        return bool(self.body) and not self.problems
