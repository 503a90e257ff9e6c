"""What each method can say of each hazard, as data; every reason that is shown is in it.

The rules for "cannot tell" take their sentences from here by key (`reason`), so that
sheet, report and command say the same. `row_of` finds the row behind a sentence that is
shown, for its source and its next step. Nothing here decides.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from screening.methods import anything, cells, imager, meter, papers, radiation
from screening.methods.row import COMMON_PRACTICE, KINDS, Method, Sentence
from screening.verdicts import Hazard

__all__ = [
    "COMMON_PRACTICE",
    "KINDS",
    "METHODS",
    "SENTENCES",
    "Method",
    "Said",
    "Sentence",
    "by_id",
    "next_step",
    "reason",
    "recognise",
    "row_of",
    "rows_on",
]


def _in_order(row: Method) -> tuple[str, int]:
    return row.id[0], int(row.id[1:])


METHODS: Final[tuple[Method, ...]] = tuple(
    sorted(
        (
            *papers.ROWS, *meter.ROWS, *cells.ROWS, *imager.ROWS, *radiation.ROWS,
            *anything.ROWS,
        ),
        key=_in_order,
    )
)  # fmt: skip
_BY_ID: Final[Mapping[str, Method]] = {row.id: row for row in METHODS}
_ROW_OF: Final[Mapping[str, Method]] = {
    sentence.key: row for row in METHODS for sentence in row.says
}
SENTENCES: Final[Mapping[str, Sentence]] = {
    sentence.key: sentence for row in METHODS for sentence in row.says
}
# "just now: ", "3 min ago: ", "12 min ago, counts for 10 min: "
_WHEN: Final = re.compile(r"(?:just now|\d[^:;]* ago)(?:, [^:;]*)?: ")
# The longest first: a short sentence may be how a longer one begins.
_BY_LENGTH: Final = sorted(SENTENCES.values(), key=lambda s: len(s.text), reverse=True)


@dataclass(frozen=True, slots=True)
class Said:
    """One sentence of the table found in a reason, with what was put into it."""

    sentence: Sentence
    row: Method
    facts: Mapping[str, str]

    @property
    def next_step(self) -> str:
        """What to do about it, in this case; "" where the usual check will do."""
        return self.sentence.next_step.format_map(self.facts)


def by_id(row_id: str) -> Method:
    """The row of an id. Raises KeyError."""
    return _BY_ID[row_id]


def rows_on(hazard: Hazard) -> tuple[Method, ...]:
    """Every row that bears on one row of the coverage."""
    return tuple(row for row in METHODS if hazard in row.hazards)


def reason(key: str, **facts: str) -> str:
    """The sentence of a key with its figures and names. Raises KeyError for either."""
    return SENTENCES[key].text.format_map(facts)


@lru_cache(maxsize=1024)
def recognise(because: str) -> tuple[Said, ...]:
    """The sentences that a reason is made of; () where a part of it is not in the table.

    The age that the coverage puts in front is passed over.
    """
    found: list[Said] = []
    when = _WHEN.match(because)
    start = when.end() if when else 0
    while start < len(because):
        for sentence in _BY_LENGTH:
            match = sentence.pattern.match(because, start)
            if match is not None and (found or not sentence.aside):
                found.append(Said(sentence, _ROW_OF[sentence.key], match.groupdict()))
                start = match.end() + len("; ")
                break
        else:
            return ()
    return tuple(found)


def row_of(because: str) -> Method | None:
    """The row behind a reason's first sentence; None where it is not in the table."""
    said = recognise(because)
    return said[0].row if said else None


def next_step(because: str) -> str:
    """What to do about a reason; "" where the usual check for the hazard will do."""
    return next((s.next_step for s in recognise(because) if s.next_step), "")
