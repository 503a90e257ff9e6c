"""Figures over many cases: medians and quantiles, shares with their numbers.

Times of an incident are skewed, so there is no mean here, and none of two figures. Under
ten cases nothing is summed up: the cases themselves are the figure. What is missing is
counted and said, never left out and never taken for zero.
"""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import floor
from typing import Final, TypeVar

# Below so many cases the list is shown. Common practice, no source for the number.
FEW: Final = 10

K = TypeVar("K", bound=Hashable)


def quantile(ordered: Sequence[float], share: float) -> float:
    """The value below which a share of the cases lies; `ordered` from low to high.

    Definition 7 of Hyndman and Fan (Sample Quantiles in Statistical Packages, The
    American Statistician 50, 1996; from memory of the paper): with n cases the place is
    h = (n - 1) * share from the lowest, and between two cases the value lies on the line
    between them. Its 0.5 is the usual median. Raises `ValueError` without a case or for
    a share outside 0 to 1.
    """
    if not ordered:
        raise ValueError("a quantile of no case")
    if not 0 <= share <= 1:
        raise ValueError("a share is from 0 to 1")
    place = (len(ordered) - 1) * share
    below = floor(place)
    low = ordered[below]
    high = ordered[min(below + 1, len(ordered) - 1)]
    return low + (high - low) * (place - below)


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """How cases of one sort lie: each of them, from low to high, and how many lack."""

    cases: tuple[float, ...]
    missing: int = 0

    @property
    def n(self) -> int:
        """The cases that have a value."""
        return len(self.cases)

    @property
    def few(self) -> bool:
        return self.n < FEW

    def at(self, share: float) -> float | None:
        """A quantile; None where there are too few cases for one."""
        return None if self.few else quantile(self.cases, share)

    @property
    def median(self) -> float | None:
        return self.at(0.5)


def spread(values: Iterable[float | None]) -> Spread:
    """Of the cases, those without a value counted apart."""
    every = list(values)
    cases = sorted(value for value in every if value is not None)
    return Spread(cases=tuple(cases), missing=len(every) - len(cases))


def spreads(cases: Iterable[tuple[K, float | None]]) -> dict[K, Spread]:
    """One for each key, in the order in which the keys came first."""
    by_key: defaultdict[K, list[float | None]] = defaultdict(list)
    for key, value in cases:
        by_key[key].append(value)
    return {key: spread(values) for key, values in by_key.items()}


def most_first(found: Mapping[K, Spread]) -> list[tuple[K, Spread]]:
    """The groups with the most cases first; what is missing counts as a case."""
    return sorted(found.items(), key=lambda one: -(one[1].n + one[1].missing))


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """So many of so many; a percentage only where there are enough of them."""

    part: int
    whole: int

    @property
    def percent(self) -> int | None:
        """Rounded half up to a whole per cent; None for fewer than ten cases."""
        if self.whole < FEW:
            return None
        return (200 * self.part + self.whole) // (2 * self.whole)

    @property
    def words(self) -> str:
        """ "3 of 7", or "12 of 40, 30 %"; what rounds to none or all says so.

        The figure and its sign are never set on two lines.
        """
        counts = f"{self.part} of {self.whole}"
        if self.percent is None:
            return counts
        if self.percent == 0 and self.part:
            return f"{counts}, under 1\u00a0%"
        if self.percent == 100 and self.part < self.whole:
            return f"{counts}, over 99\u00a0%"
        return f"{counts}, {self.percent}\u00a0%"
