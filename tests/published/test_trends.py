"""The regression interval against scipy, and the published examples of a trend."""

import math
import random
from typing import Any

import pytest

from screening import planning
from screening.trends import quantile, trend

stats = pytest.importorskip("scipy.stats")


def time_to_limit(*series: Any) -> Any:
    """Untyped: None fails the test that unpacks it."""
    return planning.time_to_limit(*series)


SERIES: dict[str, tuple[list[float], list[float]]] = {
    "a rising LEL": ([0, 60, 120, 180, 240], [1, 3, 4, 6, 7]),
    "uneven times": ([0, 30, 100, 260, 300, 420], [2, 2.4, 3.9, 5.8, 7.1, 8.0]),
    "a falling oxygen": ([0, 60, 120, 180], [20.9, 20.6, 20.4, 20.0]),
    "flat with noise": ([0, 60, 120, 180, 240], [5.0, 5.2, 4.9, 5.1, 5.0]),
    "twelve points": (
        list(range(0, 720, 60)),
        [1, 1.8, 3.1, 4.2, 4.9, 6.3, 7.0, 7.8, 9.2, 10.1, 10.8, 12.2],
    ),
}


@pytest.mark.parametrize("freedom", [1, 2, 3, 5, 10, 30])
@pytest.mark.parametrize("probability", [0.9, 0.975, 0.995, 0.9975])
def test_the_quantile_of_students_t_is_scipys(probability, freedom):
    # scipy.stats.t.ppf
    assert quantile(probability, freedom) == pytest.approx(
        stats.t.ppf(probability, freedom), rel=1e-10
    )


@pytest.mark.parametrize("name", SERIES)
def test_slope_and_interval_are_scipys(name):
    # scipy.stats.linregress, slope ± t × its standard error
    times, values = SERIES[name]
    fit = stats.linregress(times, values)
    half = stats.t.ppf(0.975, len(times) - 2) * fit.stderr

    found = trend(times, values)

    assert found.dropped is None
    assert found.slope_per_min == pytest.approx(fit.slope * 60)
    assert found.low == pytest.approx((fit.slope - half) * 60)
    assert found.high == pytest.approx((fit.slope + half) * 60)


@pytest.mark.parametrize("seed", range(40))
def test_slope_and_interval_are_scipys_for_any_series(seed):
    # scipy.stats.linregress on made series of three to twelve readings, at uneven times
    chance = random.Random(seed)
    times = sorted(chance.sample(range(0, 601), chance.randint(3, 12)))
    values = [chance.uniform(-5, 5) + chance.uniform(-0.1, 0.1) * t for t in times]
    fit = stats.linregress(times, values)
    half = stats.t.ppf(0.975, len(times) - 2) * fit.stderr

    found = trend(times, values)

    if found.dropped is None:
        assert found.slope_per_min == pytest.approx(fit.slope * 60)
        assert found.low == pytest.approx((fit.slope - half) * 60)
        assert found.high == pytest.approx((fit.slope + half) * 60)
    else:
        assert found.dropped == outlier(times, values)


def outlier(times, values):
    """The Bonferroni outlier test by leaving each reading out in turn; scipy does the rest.

    A reading's distance from the line through the others, over the error of predicting it
    there, is Student's t with three degrees of freedom fewer than there are readings.
    """
    n = len(times)
    worst, least = None, 1.0
    for left_out in range(n):
        xs = [t for i, t in enumerate(times) if i != left_out]
        ys = [v for i, v in enumerate(values) if i != left_out]
        fit = stats.linregress(xs, ys)
        rest = [y - fit.intercept - fit.slope * x for x, y in zip(xs, ys, strict=True)]
        middle = sum(xs) / (n - 1)
        spread = sum((x - middle) ** 2 for x in xs)
        error = math.sqrt(
            sum(r * r for r in rest)
            / (n - 3)
            * (1 + 1 / (n - 1) + (times[left_out] - middle) ** 2 / spread)
        )
        away = values[left_out] - fit.intercept - fit.slope * times[left_out]
        p_value = n * 2 * stats.t.sf(abs(away) / error, n - 3)
        if p_value < least:
            worst, least = left_out, p_value
    return worst if least < 0.05 and times[worst] != max(times) else None


def planted(seed):
    """A made series with one reading moved, little or much."""
    chance = random.Random(1000 + seed)
    times = list(range(0, 60 * chance.randint(5, 10), 60))
    values = [chance.gauss(2 + t / 60, 0.2) for t in times]
    values[chance.randrange(len(times))] += chance.uniform(-4, 4)
    return times, values


@pytest.mark.parametrize("seed", range(40))
def test_the_reading_that_is_left_out_is_the_one_that_the_outlier_test_names(seed):
    # Cook and Weisberg's test as R's and statsmodels' documentation give it
    times, values = planted(seed)

    assert trend(times, values).dropped == outlier(times, values)


def test_the_made_series_are_of_both_kinds():
    # so that the check above cannot pass by never leaving one out
    named = sum(outlier(*planted(seed)) is not None for seed in range(40))

    assert 5 < named < 35


@pytest.mark.parametrize(("away", "dropped"), [(3.1, None), (3.3, 2)])
def test_readings_without_scatter_still_have_that_of_rounding(away, dropped):
    # mathematics: rounding to a step scatters by step²/12. In the middle of five a reading
    # has 0.8 of its freedom left: away² × 0.8 × 12 against Student's t (scipy) squared.
    limit = float(stats.t.ppf(1 - 0.05 / 10, 2)) / math.sqrt(0.8 * 12)
    values = [1, 2, 3 + away, 4, 5]

    assert (away > limit) is (dropped is not None)
    assert trend([0, 60, 120, 180, 240], values, 1).dropped == dropped


@pytest.mark.parametrize("name", ["a rising LEL", "uneven times", "twelve points"])
def test_the_band_holds_the_limit_exactly_at_both_ends_of_the_interval(name):
    # Fieller's theorem by scipy: the band a + b x ± t s √(1/n + (x − x̄)²/S)
    times, values = SERIES[name]
    limit = 15
    low, best, high = time_to_limit(times, values, limit)
    n, last = len(times), max(times)
    fit = stats.linregress(times, values)
    middle = sum(times) / n
    spread = sum((t - middle) ** 2 for t in times)
    squares = sum(
        (v - fit.intercept - fit.slope * t) ** 2
        for t, v in zip(times, values, strict=True)
    )
    reach = stats.t.ppf(0.975, n - 2) * math.sqrt(squares / (n - 2))

    def edge(x, side):
        line = fit.intercept + fit.slope * x
        return line + side * reach * math.sqrt(1 / n + (x - middle) ** 2 / spread)

    assert best + last == pytest.approx((limit - fit.intercept) / fit.slope)
    assert edge(low + last, +1) == pytest.approx(limit)
    assert edge(high + last, -1) == pytest.approx(limit)


def test_the_interval_holds_the_truth_about_nineteen_times_in_twenty():
    # definition of a 95 % interval; a fixed seed, 400 made series
    chance = random.Random(7)
    times = list(range(0, 480, 60))
    truth = 600 - times[-1]
    held = 0
    for _ in range(400):
        values = [2 + t / 60 + chance.gauss(0, 0.3) for t in times]
        low, _, high = time_to_limit(times, values, 12)
        held += low <= truth <= high

    assert 0.92 <= held / 400 <= 0.98


def test_theil_and_sen_agree_where_one_reading_is_wild():
    # scipy.stats.theilslopes, which one point in eight cannot move far
    times = list(range(0, 480, 60))
    values = [1.0, 2.1, 2.9, 40.0, 5.1, 5.9, 7.0, 8.1]
    reference = stats.theilslopes(values, times)

    found = trend(times, values, resolution=0.1)

    assert found.dropped == 3
    assert found.direction == "rising"
    assert found.slope_per_min == pytest.approx(reference.slope * 60, abs=0.1)
