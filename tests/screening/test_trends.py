"""Trends: what they say, what they refuse to say, and what a wild reading does."""

from decimal import Decimal
from itertools import product
from math import inf
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from screening import trends
from screening.trends import trend


def time_to_limit(*series: Any) -> Any:
    """Untyped: None fails the test that unpacks it."""
    return trends.time_to_limit(*series)


def forecast(*series: Any) -> Any:
    """Untyped, as above."""
    return trends.forecast(*series)


MINUTES = [0, 60, 120, 180, 240, 300]


@pytest.mark.parametrize(
    ("values", "direction"),
    [
        pytest.param([1, 3, 4, 6, 7, 9], "rising", id="up"),
        pytest.param([9, 7, 6, 4, 3, 1], "falling", id="down"),
        pytest.param([4, 4, 4, 4, 4, 4], "steady", id="the same figure"),
        pytest.param([4, 4, 5, 4, 4, 4], "steady", id="one step of the display"),
        pytest.param([0, 9, 1, 8, 2, 7], "cannot_say", id="up and down"),
    ],
)
def test_direction(values, direction):
    assert trend(MINUTES, values, resolution=1).direction == direction


@pytest.mark.parametrize("count", [0, 1, 2])
def test_fewer_than_three_readings_show_no_trend(count):
    found = trend(MINUTES[:count], [1, 5, 9][:count])

    assert found.direction == "cannot_say"
    assert (found.low, found.high) == (-inf, inf)


def test_readings_of_one_moment_show_no_trend():
    assert trend([5, 5, 5], [1, 2, 3]).direction == "cannot_say"
    assert time_to_limit([5, 5, 5], [1, 2, 3], 10) is None


def test_order_of_arrival_does_not_matter():
    values = [1, 3, 4, 6, 7, 9]

    assert trend(MINUTES[::-1], values[::-1]).slope_per_min == pytest.approx(
        trend(MINUTES, values).slope_per_min
    )


def test_a_coarse_display_never_narrows_the_interval():
    values = [1, 1, 2, 2, 3, 3]

    fine, coarse = trend(MINUTES, values), trend(MINUTES, values, resolution=1)

    assert fine.slope_per_min == coarse.slope_per_min
    assert coarse.low <= fine.low
    assert coarse.high >= fine.high


@given(
    slope=st.floats(-2, 2),
    start=st.floats(0, 50),
)
def test_the_interval_holds_the_true_slope_whatever_the_display_rounds(slope, start):
    values = [round(start + slope * t / 60) for t in MINUTES]

    found = trend(MINUTES, values, resolution=1)

    assert found.low - 1e-9 <= slope <= found.high + 1e-9


def test_a_perfect_line_on_a_coarse_display_keeps_the_doubt_of_rounding():
    found = trend([0, 60, 120], [1, 2, 3], resolution=1)

    assert found.low == pytest.approx(0.5)
    assert found.high == pytest.approx(1.5)


def test_one_wild_reading_is_left_out_and_named():
    found = trend(MINUTES, [1, 2, 60, 4, 5, 6], resolution=1)

    assert found.dropped == 2
    assert found.direction == "rising"
    assert found.slope_per_min == pytest.approx(1)


def test_one_wild_reading_does_not_make_a_rise():
    assert trend(MINUTES, [2, 2, 2, 40, 2, 2], resolution=1).direction == "steady"


def test_a_jump_in_the_newest_reading_is_never_left_out():
    found = trend(MINUTES, [2, 2, 2, 2, 2, 40], resolution=1)

    assert found.dropped is None
    assert found.direction == "cannot_say"


def test_at_most_one_reading_is_left_out():
    found = trend(
        list(range(0, 600, 60)), [2, 2, 50, 2, 2, 60, 2, 2, 2, 2], resolution=1
    )

    assert found.direction == "cannot_say"


def test_decimals_and_floats_give_the_same_trend():
    exact = trend([Decimal(t) for t in MINUTES], [Decimal(v) for v in range(6)])

    assert exact == trend(MINUTES, [float(v) for v in range(6)])


def test_a_straight_rise_reaches_the_limit_at_one_moment():
    low, best, high = time_to_limit([0, 60, 120], [1, 2, 3], 10)

    assert low == pytest.approx(420)
    assert best == pytest.approx(420)
    assert high == pytest.approx(420)


@pytest.mark.parametrize(
    "values",
    [
        pytest.param([5, 5, 5, 5], id="flat"),
        pytest.param([5.1, 5.2, 5.2, 5.1], id="level but for the last bits"),
        pytest.param([8, 7, 6, 5], id="falling"),
    ],
)
def test_no_rise_means_no_time(values):
    assert time_to_limit([0, 60, 120, 180], values, 10) is None


def test_one_reading_means_no_time():
    assert time_to_limit([0], [5], 10) is None


def test_two_readings_give_a_guess_and_no_bound():
    assert time_to_limit([0, 60], [1, 2], 10) == (0, pytest.approx(480), inf)


def test_a_rise_that_is_not_certain_has_no_latest_time():
    low, best, high = time_to_limit([0, 60, 120, 180], [5, 6, 5, 6], 10)

    assert 0 < low < best
    assert high == inf


def test_a_limit_that_is_passed_takes_no_time():
    assert time_to_limit([0, 60, 120], [9, 10, 11], 10) == (0, 0, 0)


@given(
    values=st.lists(st.integers(0, 100), min_size=3, max_size=12),
    limit=st.integers(0, 200),
)
def test_the_three_times_are_always_in_order(values, limit):
    times = [60 * index for index in range(len(values))]

    found = time_to_limit(times, values, limit)

    if found is not None:
        low, best, high = found
        assert 0 <= low <= best + 1e-6
        assert best <= high + 1e-6


def test_a_forecast_never_claims_more_than_the_display_shows():
    # Every true value within half a step of what was shown, at its ends: 32 lines. By
    # hand the outermost meet 10 at 2.5 and at 6.7 minutes.
    times, shown = [0, 60, 120, 180, 240], [2, 3, 4, 5, 6]
    low, best, high = forecast(times, shown, 10, 1)
    met = [
        time_to_limit(times, [v + e for v, e in zip(shown, ends, strict=True)], 10)[1]
        for ends in product((-0.5, 0.5), repeat=5)
    ]

    assert best == pytest.approx(240)
    assert low == pytest.approx(min(met))
    assert high == pytest.approx(max(met))
    assert (low / 60, high / 60) == (
        pytest.approx(2.54, abs=0.01),
        pytest.approx(6.71, abs=0.01),
    )


def test_without_rounding_a_forecast_is_the_time_to_the_limit():
    series = ([0, 60, 120, 180], [5.0, 5.9, 7.1, 8.0], 10)

    assert forecast(*series, 0) == pytest.approx(time_to_limit(*series))


def test_a_forecast_goes_by_the_line_without_the_wild_reading():
    # By hand: 10 a minute, 80 at the last: 200 in 12 minutes. Through the wild 0 as well
    # the plain line cannot say when.
    times = [60 * minute for minute in range(7)]
    values = [20, 30, 40, 0, 60, 70, 80]

    low, best, high = forecast(times, values, 200, 1)

    assert best == pytest.approx(720)
    assert 690 < low < best < high < 750
    assert time_to_limit(times, values, 200)[2] == inf


def test_a_rise_of_one_step_that_rounding_could_have_made_has_no_latest_time():
    low, best, high = forecast([0, 60, 120, 180], [5, 5, 6, 6], 10, 1)

    assert 0 < low < best
    assert high == inf


@pytest.mark.parametrize(
    ("values", "limit", "found"),
    [
        pytest.param([9, 10, 11], 10, (0, 0, 0), id="passed"),
        pytest.param([5, 5, 5], 10, None, id="flat"),
        pytest.param([7, 6, 5], 10, None, id="falling"),
    ],
)
def test_a_forecast_ends_as_the_time_to_the_limit_does(values, limit, found):
    assert forecast([0, 60, 120], values, limit, 0.1) == found


@given(
    values=st.lists(st.integers(0, 100), min_size=3, max_size=12),
    limit=st.integers(0, 200),
    step=st.sampled_from([0, 0.1, 1, 5]),
)
def test_a_coarser_display_never_narrows_a_forecast(values, limit, step):
    times = [60 * index for index in range(len(values))]
    plain = trends.time_to_limit(times, values, limit)
    if trend(times, values, step).dropped is not None or plain is None:
        return

    low, best, high = forecast(times, values, limit, step)

    assert 0 <= low <= plain[0] + 1e-6
    assert best == plain[1]
    assert high >= plain[2] - 1e-6


@pytest.mark.parametrize("scale", [0.001, 0.1, 1000])
@pytest.mark.parametrize(
    "values",
    [
        pytest.param([5, 6, 5, 6], id="not certain"),
        pytest.param([5.0, 5.9, 7.1, 8.0], id="certain"),
        pytest.param([5, 5.1, 40, 5.3, 5.2, 5.6], id="one wild"),
    ],
)
def test_another_unit_changes_no_time(values, scale):
    times = MINUTES[: len(values)]
    scaled = [value * scale for value in values]

    assert time_to_limit(times, scaled, 10 * scale) == pytest.approx(
        time_to_limit(times, values, 10)
    )
    assert forecast(times, scaled, 10 * scale, 0.1 * scale) == pytest.approx(
        forecast(times, values, 10, 0.1)
    )
    assert trend(times, scaled, scale).direction == trend(times, values, 1).direction


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda: trend([0, 1], [1]), "times and values"),
        (lambda: forecast([0, 1, 2], [1, 2, 3], inf, 1), "limit"),
        (lambda: forecast([0, 1, 2], [1, 2, 3], 5, -1), "resolution"),
        (lambda: trend([0, inf, 2], [1, 2, 3]), "times"),
        (lambda: trend([0, 1, 2], [1, float("nan"), 3]), "values"),
        (lambda: trend([0, 1, 2], [1, 2, 3], -1), "resolution"),
        (lambda: time_to_limit([0, 1, 2], [1, 2, 3], inf), "limit"),
    ],
)
def test_what_is_no_series_is_refused(call, word):
    with pytest.raises(ValueError, match=word):
        call()
