"""Spreads on an axis of time: what is drawn where, and that nothing is lost."""

from itertools import pairwise

import pytest

from reports.distributions import Cases, duration, spread_chart
from reports.drawing import Label, Ring, Stroke, svg

TEN = Cases(name="2024", n=34, quantiles=(5, 20, 60, 180, 900), missing=2)
FEW = Cases(name="2025", n=3, single=(8, 30, 4000))


def shapes_of(drawing, kind):
    return [s for s in drawing.shapes if isinstance(s, Stroke) and s.kind == kind]


def test_a_box_lies_over_the_middle_half_and_the_median_in_it():
    drawing = spread_chart("Heard", [TEN])
    (box,) = shapes_of(drawing, "box")
    (median,) = shapes_of(drawing, "median")
    left, right = min(x for x, _ in box.points), max(x for x, _ in box.points)
    assert left < median.points[0][0] < right


def test_equal_factors_of_time_are_equally_far_apart():
    drawing = spread_chart("Heard", [Cases(name="a", n=3, single=(1, 10, 100))])
    places = [shape.x for shape in drawing.shapes if isinstance(shape, Ring)]
    first, second = (b - a for a, b in pairwise(places))
    assert first == pytest.approx(second)


def test_each_of_few_cases_is_drawn_and_said():
    drawing = spread_chart("Heard", [TEN, FEW])
    assert sum(isinstance(shape, Ring) for shape in drawing.shapes) == 3
    assert "8 s, 30 s, 1 h 7 min" in drawing.description
    assert "34 cases, 2 without one, median 1 min" in drawing.description


def test_what_is_off_the_axis_is_drawn_at_its_edge_and_said_as_it_is():
    drawing = spread_chart("Heard", [Cases(name="a", n=2, single=(0, 500_000))])
    places = [shape.x for shape in drawing.shapes if isinstance(shape, Ring)]
    (axis,) = shapes_of(drawing, "axis")
    assert places == [axis.points[0][0], axis.points[1][0]]
    assert "0 s, 138 h 53 min" in drawing.description


def test_every_label_stays_on_the_drawing():
    drawing = spread_chart("Heard", [TEN, FEW, Cases(name="A" * 80, n=0, missing=400)])
    labels = [shape for shape in drawing.shapes if isinstance(shape, Label)]
    assert all(
        0 <= one.x <= drawing.width and 0 <= one.y <= drawing.height for one in labels
    )
    assert "<script" not in svg(spread_chart("<script>", [FEW]), "x")


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0, "0 s"),
        (59.4, "59 s"),
        (59.5, "1 min"),
        (250, "4 min 10 s"),
        (3600, "1 h"),
        (7530, "2 h 6 min"),
    ],
)
def test_a_duration_in_words(seconds, words):
    assert duration(seconds) == words
