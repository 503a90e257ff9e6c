"""Where along a figure what is found changes: the steps that a phone's table is made of.

Whoever asks gives the question; nothing here knows of a reading, a unit or a rule.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from decimal import Context as DecimalContext
from decimal import Decimal
from functools import cache
from typing import Any, Final, TypeAlias

Outcome: TypeAlias = tuple[int, ...]  # numbers of findings
Ask: TypeAlias = Callable[[Decimal], Outcome]

# Bisected this fine; the phone then takes the stricter side of the step.
_FINE: Final = Decimal("1e-9")
_FIGURES: Final = DecimalContext(prec=15)  # as many as a phone's numbers have


def steps(
    ask: Ask,
    limits: Iterable[Decimal],
    *,
    low: Decimal = Decimal(0),
    high: Decimal = Decimal(100_000),
) -> dict[str, Any]:
    """Where the outcome changes. The outcome between two limits is asked as well, and
    bisected where it differs from both."""
    wanted = sorted({low, high, *(value for value in limits if low <= value <= high)})
    asked = cache(ask)
    points = set(wanted)
    for left, right in zip(wanted, wanted[1:], strict=False):
        points |= set(_changes(asked, left, right))
    ordered = sorted(points)
    between = [
        asked(_FIGURES.divide(left + right, Decimal(2)))
        for left, right in zip(ordered, ordered[1:], strict=False)
    ]
    return _packed(ordered, [asked(point) for point in ordered], between)


def _changes(ask: Ask, left: Decimal, right: Decimal) -> Iterator[Decimal]:
    """Points inside an interval around which the outcome steps, as close as `_FINE`."""
    inner_left = _FIGURES.plus(left + (right - left) / 1000)
    inner_right = _FIGURES.plus(right - (right - left) / 1000)
    if ask(inner_left) == ask(inner_right):
        return
    low, high = inner_left, inner_right
    while high - low > max(abs(high), Decimal(1)) * _FINE:
        middle = _FIGURES.divide(low + high, Decimal(2))
        if ask(middle) == ask(inner_left):
            low = middle
        else:
            high = middle
    yield low
    yield high


def _packed(
    points: Sequence[Decimal], at: Sequence[Outcome], between: Sequence[Outcome]
) -> dict[str, Any]:
    """Without the points around which nothing changes. Below the first lies nothing that
    a form takes; it counts as the first itself. So does what lies above the last."""
    gaps = [at[0], *between, at[-1]]
    kept = [
        index
        for index in range(len(points))
        if not gaps[index] == at[index] == gaps[index + 1]
    ]
    return {
        "points": [float(points[index]) for index in kept],
        "at": [list(at[index]) for index in kept],
        "between": [list(gaps[index]) for index in [*kept, len(points)]],
    }
