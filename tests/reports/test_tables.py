from reports.tables import PagedTable, Row

WORDS = "one two three four five six seven eight nine ten eleven twelve"
WIDTHS = (20.0, 60.0, 60.0, 60.0, 60.0)


def height(**changes):
    row = Row(**{"cells": ("5", WORDS, "", "", "Dana"), **changes})
    table = PagedTable((), [row], WIDTHS)
    return table.wrap(sum(WIDTHS), 1000)[1]


def test_a_wide_cell_takes_the_empty_ones_on_its_right():
    assert height(wide=frozenset({1})) < height() / 2


def test_it_stops_before_the_next_cell_that_says_something():
    blocked = ("5", WORDS, "Stop", "", "Dana")

    assert height(cells=blocked, wide=frozenset({1})) == height(cells=blocked)


def test_the_last_cell_is_as_wide_as_what_is_left():
    assert height(cells=("5", WORDS)) == height(
        cells=("5", WORDS, "", "", ""), wide=frozenset({1})
    )
