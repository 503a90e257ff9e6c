"""Whether something rises, how fast, and when it would reach a limit.

Least squares with a 95 % interval by Student's t. Two things keep it honest:

- The figure on a display is rounded. The interval of the slope is never narrower than
  the most that rounding to `resolution` could have turned the line (arithmetic).
- One wild reading must not make or hide a trend. At most one reading is left out of the
  line: the one with the largest externally studentised residual, and only where the
  t test of it, with Bonferroni's correction, says that it does not belong (p < 0.05).
  Source: the outlier test of the regression literature (Cook and Weisberg 1982,
  [memory]), as statsmodels documents its `outlier_test` [read]. It needs five readings,
  and the newest is never left out: a jump may be the start of something, so it makes the
  trend `cannot_say` until the next reading. Nothing is dropped from the rules: every
  reading is judged by itself, wild or not.

No time of failure of a container is ever worked out here; ask only for its rate.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from math import atan, cos, inf, isfinite, pi, sin, sqrt
from typing import Final, Literal, TypeAlias

Direction = Literal["rising", "steady", "falling", "cannot_say"]
Figure: TypeAlias = float | int | Decimal

ALPHA: Final = 0.05
FEWEST: Final = 3  # two points always lie on a line: they show no spread
FEWEST_TO_DROP: Final = 5
ROUND_OFF: Final = 1e-12  # what floats leave of a flat line, as a share of its values
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
    step = float(resolution)
    if not (isfinite(step) and step >= 0):
        raise ValueError(f"resolution must be 0 or more, not {resolution}")
    if len(xs) < 2 or min(xs) == max(xs):
        return Trend("cannot_say", 0.0, -inf, inf)
    line = _fit(xs, ys)
    dropped = _wild(line, xs, ys, step) if len(xs) >= FEWEST_TO_DROP else None
    if dropped is not None:
        xs = xs[:dropped] + xs[dropped + 1 :]
        ys = ys[:dropped] + ys[dropped + 1 :]
        line = _fit(xs, ys)
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
    the line holds the limit (Fieller's theorem [read]). `high` is infinite where the band
    does not rise for certain, and `low` is then the soonest that it allows; all
    are zero once passed. None where the line does not rise, or from fewer than two
    readings; from exactly two only `best` is known: (0, best, infinite).
    """
    xs, ys = _series(times, values)
    goal = float(limit)
    if not isfinite(goal):
        raise ValueError(f"limit must be a finite number, not {limit}")
    if len(xs) < 2 or min(xs) == max(xs):
        return None
    line = _fit(xs, ys)
    last = max(xs)
    if line.slope * (last - min(xs)) <= ROUND_OFF * max(map(abs, ys)):
        return None
    best = line.middle + (goal - line.mean) / line.slope
    low, high = _crossings(line, goal)
    soonest, likely, latest = (max(moment - last, 0.0) for moment in (low, best, high))
    return soonest, likely, latest


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
