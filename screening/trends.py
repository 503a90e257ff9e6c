"""Whether something rises, how fast, and when it would reach a limit.

Least squares with a 95 % interval by Student's t. Two things keep it honest:

- The figure on a display is rounded. No interval, of the slope or of the time to a limit,
  is narrower than the most that rounding to `resolution` could have turned the line
  (arithmetic).
- One wild reading must not make or hide a trend. At most one reading is left out of the
  line: the one with the largest externally studentised residual, and only where the
  t test of it, with Bonferroni's correction, says that it does not belong (p < 0.05).
  It needs five readings, and the newest is never left out: a jump may be the start of
  something, so it makes the trend `cannot_say` until the next reading. Nothing is dropped
  from the rules: every reading is judged by itself, wild or not.

Source: least squares with Student's t, textbook; the Bonferroni outlier test of Cook and
Weisberg, Residuals and Influence in Regression, as the documentation of R's `outlierTest`
and of statsmodels' `outlier_test` gives it [read].

No time of failure of a container is ever worked out here; ask only for its rate.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from math import atan, cos, inf, isfinite, pi, sin, sqrt
from typing import Final, Literal, TypeAlias

Direction = Literal["rising", "steady", "falling", "cannot_say"]
Figure: TypeAlias = float | int | Decimal

ALPHA: Final = 0.05  # a 95 % interval; common practice
# Two points always lie on a line: they show no spread. Source: arithmetic.
FEWEST: Final = 3
# With four, leaving one out keeps one degree of freedom: no test of it means much. Common
# practice, no source.
FEWEST_TO_DROP: Final = 5
# What floats leave of a flat line, as a share of its values. Source: arithmetic.
ROUND_OFF: Final = 1e-12
# Steady: over the whole window the line cannot have moved more than this many steps of
# the display. Common practice, no source.
STEADY_STEPS: Final = 2


@dataclass(frozen=True, slots=True)
class Line:
    """A least-squares line through `n` points about their middle."""

    n: int
    middle: float  # mean time, s
    mean: float
    slope: float  # per second
    spread: float  # sum of squared distances in time, s²
    variance: float  # of the residuals; inf where two points leave none


@dataclass(frozen=True, slots=True)
class Trend:
    """Slopes per minute, with the 95 % interval; `dropped` is the index of a wild reading."""

    direction: Direction
    slope_per_min: float
    low: float
    high: float
    dropped: int | None = None


def trend(
    times_s: Sequence[Figure], values: Sequence[Figure], resolution: Figure = 0
) -> Trend:
    """The direction of a series, as far as it can be told.

    Times in seconds, in any order; values and `resolution` (one step of the display) in
    one unit. Rising or falling where the whole interval is on one side of zero; steady
    where it holds zero and spans less than two steps over the window; else, or with
    fewer than three readings, `cannot_say`. ValueError for series that do not match.
    """
    xs, ys = _series(times_s, values)
    step = _step(resolution)
    if len(xs) < 2 or min(xs) == max(xs):
        return Trend("cannot_say", 0.0, -inf, inf)
    line, xs, dropped = _robust(xs, ys, step)
    half = _half_width(line, xs, step)
    low, high = line.slope - half, line.slope + half
    span = max(xs) - min(xs)
    direction = _direction(low, high, span, step)
    return Trend(direction, line.slope * 60, low * 60, high * 60, dropped)


def time_to_limit(
    times: Sequence[Figure], values: Sequence[Figure], limit: Figure
) -> tuple[float, float, float] | None:
    """(low, best, high): seconds after the last reading to where the line meets `limit`.

    Plain least squares through every reading given. The interval is where the 95 % band of
    the line holds the limit. `high` is infinite where the band does not rise for certain,
    and `low` is then the soonest that it allows; all are zero once passed. None where the
    line does not rise, or from fewer than two readings; from exactly two only `best` is
    known: (0, best, infinite). Source: Fieller's theorem [read].
    """
    xs, ys = _series(times, values)
    goal = _goal(limit)
    if len(xs) < 2 or min(xs) == max(xs):
        return None
    return _meeting(_fit(xs, ys), xs, ys, goal)


def forecast(
    times: Sequence[Figure],
    values: Sequence[Figure],
    limit: Figure,
    resolution: Figure,
) -> tuple[float, float, float] | None:
    """`time_to_limit` for the figures of a display, which rounds and may show one wild one.

    The wild reading that `trend` leaves out is left out here too, and the interval is never
    narrower than the lines that rounding to `resolution` allows: five readings that lie on
    a line to the last figure still do not tell the minute. Source: as `time_to_limit`;
    arithmetic for the rounding.
    """
    xs, ys = _series(times, values)
    goal, step = _goal(limit), _step(resolution)
    if len(xs) < 2 or min(xs) == max(xs):
        return None
    last = max(xs)
    line, kept, dropped = _robust(xs, ys, step)
    found = _meeting(line, kept, ys, goal)
    if found is None:
        return None
    soonest, likely, latest = found
    early, late = _rounded_meeting(line, kept, goal, step)
    # What is left out is never the newest, so both count from the same reading.
    return min(soonest, max(early - last, 0.0)), likely, max(latest, late - last)


def _meeting(
    line: Line, xs: list[float], ys: list[float], goal: float
) -> tuple[float, float, float] | None:
    last = max(xs)
    if line.slope * (last - min(xs)) <= ROUND_OFF * max(map(abs, ys)):
        return None
    best = line.middle + (goal - line.mean) / line.slope
    low, high = _crossings(line, goal)
    soonest, likely, latest = (max(moment - last, 0.0) for moment in (low, best, high))
    return soonest, likely, latest


def _robust(
    xs: list[float], ys: list[float], step: float
) -> tuple[Line, list[float], int | None]:
    """The line, the times that it goes through, and the index of what was left out."""
    line = _fit(xs, ys)
    dropped = _wild(line, xs, ys, step) if len(xs) >= FEWEST_TO_DROP else None
    if dropped is None:
        return line, xs, None
    xs = xs[:dropped] + xs[dropped + 1 :]
    ys = ys[:dropped] + ys[dropped + 1 :]
    return _fit(xs, ys), xs, dropped


def _rounded_meeting(
    line: Line, xs: list[float], goal: float, step: float
) -> tuple[float, float]:
    """When the highest and the lowest line that rounding allows meet the goal.

    The line at x is Σ h·y with h = 1/n + (x − x̄)(xᵢ − x̄)/S, so rounding each y by half a
    step moves it by step/2 · Σ|h| at most. From the last reading on both edges go one way,
    so that halving finds where they meet the goal.
    """
    last = max(xs)

    def edge(x: float, side: int) -> float:
        away = (x - line.middle) / line.spread
        weights = sum(abs(1 / line.n + away * (t - line.middle)) for t in xs)
        level = line.mean + line.slope * (x - line.middle)
        return level + side * step / 2 * weights - goal

    turn = step / 2 * sum(abs(t - line.middle) for t in xs) / line.spread
    early = _root(lambda x: edge(x, +1), last)
    late = _root(lambda x: edge(x, -1), last) if line.slope > turn else inf
    return early, late


def _root(rises: Callable[[float], float], start: float) -> float:
    """Where a function that rises from `start` on reaches zero; `start` if it has."""
    if rises(start) >= 0:
        return start
    reach = 1.0
    while rises(start + reach) < 0:
        reach *= 2
        if not isfinite(reach):
            return inf
    low, high = start + reach / 2 if reach > 1 else start, start + reach
    for _ in range(100):
        middle = (low + high) / 2
        low, high = (low, middle) if rises(middle) >= 0 else (middle, high)
    return high


def _goal(limit: Figure) -> float:
    goal = float(limit)
    if not isfinite(goal):
        raise ValueError(f"limit must be a finite number, not {limit}")
    return goal


def _step(resolution: Figure) -> float:
    step = float(resolution)
    if not (isfinite(step) and step >= 0):
        raise ValueError(f"resolution must be 0 or more, not {resolution}")
    return step


def _series(
    times: Sequence[Figure], values: Sequence[Figure]
) -> tuple[list[float], list[float]]:
    if len(times) != len(values):
        raise ValueError(
            f"times and values must match: {len(times)} times, {len(values)} values"
        )
    xs, ys = [float(t) for t in times], [float(v) for v in values]
    if not all(map(isfinite, xs)):
        raise ValueError("times must be finite numbers")
    if not all(map(isfinite, ys)):
        raise ValueError("values must be finite numbers")
    return xs, ys


def _fit(xs: list[float], ys: list[float]) -> Line:
    n = len(xs)
    middle, mean = sum(xs) / n, sum(ys) / n
    spread = sum((x - middle) ** 2 for x in xs)
    slope = sum((x - middle) * (y - mean) for x, y in zip(xs, ys, strict=True)) / spread
    if n < FEWEST:
        return Line(n, middle, mean, slope, spread, inf)
    squares = sum(
        (y - mean - slope * (x - middle)) ** 2 for x, y in zip(xs, ys, strict=True)
    )
    return Line(n, middle, mean, slope, spread, squares / (n - 2))


def _half_width(line: Line, xs: list[float], step: float) -> float:
    """Half of the slope's 95 % interval, per second; rounding alone may make it wider."""
    if line.n < FEWEST:
        return inf
    chance = quantile(1 - ALPHA / 2, line.n - 2) * sqrt(line.variance / line.spread)
    rounding = step / 2 * sum(abs(x - line.middle) for x in xs) / line.spread
    return max(chance, rounding)


def _direction(low: float, high: float, span: float, step: float) -> Direction:
    if low > 0:
        return "rising"
    if high < 0:
        return "falling"
    if max(-low, high) * span <= STEADY_STEPS * step:
        return "steady"
    return "cannot_say"


def _wild(line: Line, xs: list[float], ys: list[float], step: float) -> int | None:
    """The index of the one reading, not the newest, that does not belong to the line."""
    n, freedom = line.n, line.n - 3
    squares = line.variance * (n - 2)
    if squares <= n * (ROUND_OFF * max(map(abs, ys))) ** 2:
        return None  # a straight line but for the last bits of a float
    floor = step * step / 12  # variance of rounding alone
    worst, largest = None, 0.0
    for index, (x, y) in enumerate(zip(xs, ys, strict=True)):
        away = x - line.middle
        residual = y - line.mean - line.slope * away
        free = 1 - 1 / n - away * away / line.spread
        if free <= ROUND_OFF:
            continue
        share = residual * residual / free
        if share <= largest:
            continue
        worst, largest = index, share
    if worst is None or xs[worst] == max(xs):
        return None
    without = max((squares - largest) / freedom, floor, 1e-18 * squares)
    studentised = sqrt(largest / without)
    return worst if studentised > quantile(1 - ALPHA / (2 * n), freedom) else None


def _crossings(line: Line, goal: float) -> tuple[float, float]:
    """The first and last moment at which the band of the line holds `goal`.

    With x from the middle, b the slope and d = goal − mean: (b x − d)² = T (1/n + x²/S),
    T = t² × residual variance. An infinite variance leaves every moment open.
    """
    if line.n < FEWEST:
        return -inf, inf
    t = quantile(1 - ALPHA / 2, line.n - 2)
    wide = t * t * line.variance
    above = goal - line.mean
    a = line.slope**2 - wide / line.spread
    half_b = line.slope * above
    c = above * above - wide / line.n
    root = half_b * half_b - a * c
    if a > 0:
        reach = sqrt(max(root, 0.0))
        return line.middle + (half_b - reach) / a, line.middle + (half_b + reach) / a
    if root < 0 or above <= 0:  # the band holds the goal at every moment from here on
        return -inf, inf
    if a == 0:
        return line.middle + c / (2 * half_b), inf
    # The upper edge of the band meets the goal at the later of the two roots.
    return line.middle + (half_b - sqrt(root)) / a, inf


@lru_cache(maxsize=256)
def quantile(probability: float, freedom: int) -> float:
    """The quantile of Student's t, by halving, for a probability of 0.5 or more.

    Source: Abramowitz and Stegun 26.7.3 and 26.7.4, [memory]; scipy agrees in the tests.
    """
    if freedom < 1 or not 0.5 <= probability < 1:
        raise ValueError(
            "freedom must be 1 or more and probability from 0.5 to below 1"
        )
    low, high = 0.0, 1.0
    while _cumulative(high, freedom) < probability:
        high *= 2
    for _ in range(100):
        middle = (low + high) / 2
        if _cumulative(middle, freedom) < probability:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _cumulative(t: float, freedom: int) -> float:
    """Probability that Student's t is at or below `t` (zero or more): the finite series."""
    theta = atan(t / sqrt(freedom))
    cosine = cos(theta)
    if freedom % 2:
        total = theta
        term = sin(theta) * cosine
        for k in range(1, freedom - 1, 2):
            total += term
            term *= cosine * cosine * (k + 1) / (k + 2)
        return 0.5 + total / pi
    total, term = 0.0, sin(theta)
    for k in range(0, freedom, 2):
        total += term
        term *= cosine * cosine * (k + 1) / (k + 2)
    return 0.5 + total / 2
