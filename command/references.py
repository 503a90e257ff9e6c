"""What references say of one flammable range: where they differ all of them stand.

Nothing is resolved silently: the lower LEL is used, as the safer one, and that is said.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from screening.rules.found import figure
from screening.substances import BASES, find

_NUMBER: Final = r"(\d{1,3}(?:\.\d+)?)"
_RANGE: Final = re.compile(
    rf"{_NUMBER}\s*(?:-|–|to)\s*{_NUMBER}\s*(?:vol\S*\s*)?%", re.IGNORECASE
)
# A share of something else than air: of a solution, of water in the air.
_NO_RANGE: Final = re.compile(r"solution|humid|purity|weight|concentrat", re.IGNORECASE)
_BRACKETS: Final = re.compile(r"\(([^()]+)\)")
_NOT_NAMED: Final = "reference not named"


@dataclass(frozen=True, slots=True, kw_only=True)
class FlammableRange:
    """Percent by volume in air, as one reference has it."""

    low: Decimal
    high: Decimal
    said_by: str

    @property
    def shown(self) -> str:
        return f"{figure(self.low)} to {figure(self.high)} % ({self.said_by})"


def written_ranges(facts: str) -> tuple[FlammableRange, ...]:
    """The ranges in a free text, each with the reference that stands beside it: before a
    colon, or in brackets behind it."""
    return tuple(_written(facts))


def _written(facts: str) -> Iterator[FlammableRange]:
    for clause in re.split(r"[;\n]", facts):
        found = _RANGE.search(clause)
        if found is None or _NO_RANGE.search(clause):
            continue
        low, high = Decimal(found[1]), Decimal(found[2])
        if not 0 < low < high <= 100:
            continue
        before, colon, _ = clause[: found.start()].partition(":")
        behind = _BRACKETS.search(clause, found.end())
        named = before.strip() if colon else behind[1].strip() if behind else ""
        yield FlammableRange(low=low, high=high, said_by=named or _NOT_NAMED)


def _listed(name: str) -> Iterator[FlammableRange]:
    """By the lists that the table of substances holds."""
    known = find(name)
    if known is None:
        return
    for basis, lower in known.lel.items():
        upper = known.uel.get(basis)
        if upper is not None:
            yield FlammableRange(
                low=lower.value, high=upper.value, said_by=BASES[basis]
            )


def differing(name: str, facts: str) -> str:
    """All ranges of one substance where the written ones differ from another; else ""."""
    written = written_ranges(facts)
    all_of_them = (*written, *_listed(name))
    if not written or len({(each.low, each.high) for each in all_of_them}) < 2:
        return ""
    lowest = min(each.low for each in all_of_them)
    said = "; ".join(each.shown for each in all_of_them)
    # Arithmetic: 1 % by volume is 10,000 ppm, so 10 % of n % is n times 1,000 ppm.
    return (
        f"The lower LEL of {figure(lowest)} % is used, 10 % of it is "
        f"{lowest * 1000:,.0f} ppm; references on {name} differ: {said}"
    )
