"""How the figures of one incident are put into words."""

import pytest

from incidents.views.figures import FigureRow, duration
from review.figures import spread


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0.4, "0 s"),
        (59.6, "1 min"),
        (14, "14 s"),
        (200, "3 min 20 s"),
        (-5, "\N{MINUS SIGN}5 s"),
    ],
)
def test_a_duration_is_said_in_minutes_and_seconds(seconds, words):
    assert duration(seconds) == words


def test_under_ten_cases_each_of_them_is_said_and_nothing_is_summed_up():
    row = FigureRow(label="x", spread=spread([30.0, 10.0, None]))

    assert row.words == "10 s, 30 s"
    assert (row.spread.n, row.spread.missing) == (2, 1)
    assert FigureRow(label="x", spread=spread([None])).words == "no case"


def test_from_ten_cases_on_it_is_the_median_and_quantiles_and_never_a_mean():
    row = FigureRow(label="x", spread=spread([*range(1, 11), 1000]))

    assert row.words == (
        "median 6 s; the middle half from 4 s to 8 s; nine of ten up to 10 s; "
        "longest 16 min 40 s"
    )
