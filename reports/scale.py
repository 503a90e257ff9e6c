"""Axes: which figures and which times a chart marks."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, tzinfo
from math import ceil, floor, log10
from typing import Final

# Minutes between the marks of a time axis, the first that gives few enough.
_STEPS: Final = (1, 2, 5, 10, 15, 30, 60, 120, 240, 360, 720, 1440, 2880, 10080)
_MOST_MARKS: Final = 8
# No instrument shows less; marks closer than this would all read alike.
_FINEST: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Span:
    """The stretch of time from the left edge of a chart to its right edge."""

    start: datetime
    end: datetime

    def share(self, at: datetime) -> float:
        """Where a moment lies: 0 at the start, 1 at the end."""
        return (at - self.start) / (self.end - self.start)


@dataclass(frozen=True, slots=True)
class Axis:
    """The figures from the bottom of a chart to its top, and those that are marked."""

    low: float
    high: float
    marks: tuple[float, ...]

    def share(self, value: float) -> float:
        """How high a figure lies: 0 at the bottom, 1 at the top."""
        return (value - self.low) / (self.high - self.low)


def values(figures: Sequence[float], limits: Sequence[float]) -> Axis:
    """An axis that holds every figure, each limit they reach and the next one above.

    It starts at zero unless everything lies in the upper part of it, as oxygen does.
    """
    low, high = min(figures, default=0.0), max(figures, default=0.0)
    near = [limit for limit in limits if low <= limit <= high]
    above = [limit for limit in limits if limit > high]
    below = [limit for limit in limits if limit < low]
    shown = [*figures, *near]
    if above and (min(above) <= 12 * max(high, 1.0)):
        shown.append(min(above))
    if below:
        shown.append(max(below))
    low, high = min(shown, default=0.0), max(shown, default=1.0)
    if 0 <= low <= 0.6 * high:
        low = 0.0
    spread = (high - low) / 4
    step = _nice(spread) if spread >= _FINEST else 1.0
    low, least = floor(low / step) * step, low
    if low > least:  # the division rounded: to zero, or to the mark above
        low -= step
    high = ceil((high + 0.15 * step) / step) * step
    count = round((high - low) / step)
    return Axis(low, high, tuple(round(low + step * n, 10) for n in range(count + 1)))


def _nice(step: float) -> float:
    """The next of 1, 2, 2.5, 5 or 10 times a power of ten."""
    power: float = 10.0 ** floor(log10(step))
    return next(
        factor * power
        for factor in (1, 2, 2.5, 5, 10)
        if factor * power >= step * 0.999
    )


def times(span: Span, zone: tzinfo) -> tuple[datetime, ...]:
    """Whole minutes or hours of the zone's clock inside the span, evenly apart."""
    minutes = (span.end - span.start) / timedelta(minutes=1)
    step = next((s for s in _STEPS if minutes / s <= _MOST_MARKS), _STEPS[-1])
    local = span.start.astimezone(zone)
    midnight = local.replace(hour=0, minute=0, second=0, microsecond=0)
    passed = (local - midnight) / timedelta(minutes=step)
    # Steps are counted in UTC, so that a change of the clocks moves no mark.
    first = midnight.astimezone(UTC) + timedelta(minutes=step) * ceil(passed)
    most = int(minutes / step) + 1
    marks = (first + timedelta(minutes=step) * n for n in range(most))
    return tuple(mark for mark in marks if span.start <= mark <= span.end)
