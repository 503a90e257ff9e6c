"""Quantiles against the standard library and SciPy; shares and few cases by hand."""

import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats.mstats import mquantiles

from review.figures import Share, most_first, quantile, spread, spreads

TIMES = st.floats(min_value=0, max_value=1e6, allow_nan=False)


@given(st.lists(TIMES, min_size=2, max_size=60))
def test_the_quartiles_are_those_of_the_standard_library(values):
    """`statistics.quantiles(method="inclusive")` is the same definition."""
    ordered = sorted(values)
    expected = statistics.quantiles(ordered, n=4, method="inclusive")
    found = [quantile(ordered, share) for share in (0.25, 0.5, 0.75)]
    assert found == pytest.approx(expected, rel=1e-12, abs=1e-9)


@given(st.lists(TIMES, min_size=1, max_size=60), st.floats(0, 1))
def test_a_quantile_is_that_of_definition_7_in_scipy(values, share):
    """SciPy's plotting positions alphap = betap = 1 are definition 7."""
    ordered = sorted(values)
    (expected,) = mquantiles(ordered, prob=[share], alphap=1, betap=1)
    assert quantile(ordered, share) == pytest.approx(
        float(expected), rel=1e-9, abs=1e-6
    )


def test_a_quantile_by_hand():
    # Five cases: the place is 4 * 0.9 = 3.6 from the lowest, so 40 + 0.6 * (100 - 40).
    assert quantile((10, 20, 30, 40, 100), 0.9) == pytest.approx(76)
    assert quantile((7,), 0.9) == 7


@pytest.mark.parametrize(("cases", "share"), [((), 0.5), ((1, 2), 1.01), ((1,), -0.1)])
def test_what_has_no_quantile_is_refused(cases, share):
    with pytest.raises(ValueError, match=r"no case|share"):
        quantile(cases, share)


def test_what_is_missing_is_counted_and_taken_for_nothing():
    found = spread([3.0, None, 1.0, None])
    assert (found.cases, found.missing, found.n) == ((1.0, 3.0), 2, 2)


def test_nine_cases_are_a_list_and_ten_have_a_median():
    assert spread(range(9)).median is None
    assert spread(range(10)).median == 4.5


def test_groups_keep_their_order_until_the_most_are_asked_for():
    found = spreads([("b", 1.0), ("a", 2.0), ("a", None), ("a", 3.0)])
    assert list(found) == ["b", "a"]
    assert [key for key, _ in most_first(found)] == ["a", "b"]


@pytest.mark.parametrize(
    ("part", "whole", "words"),
    [
        (3, 7, "3 of 7"),
        (12, 40, "12 of 40, 30 %"),
        (1, 400, "1 of 400, under 1 %"),
        (399, 400, "399 of 400, over 99 %"),
        (400, 400, "400 of 400, 100 %"),
        (0, 10, "0 of 10, 0 %"),
        (5, 1000, "5 of 1000, 1 %"),
    ],
)
def test_a_share_stands_with_its_numbers(part, whole, words):
    found = Share(part=part, whole=whole).words
    assert found.replace("\u00a0%", " %") == words
    assert " %" not in found
