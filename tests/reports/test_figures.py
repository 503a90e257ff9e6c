"""One chart for page and paper: legible in black and white, no peak lost."""

import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from reports import figures, scale
from reports.data import MeterSeries, Point, Run
from reports.drawing import Label, Stroke, svg
from review.channels import Limit
from screening.verdicts import Action
from tests.reports.samples import ZONE, at, lel_series, oxygen_series, sample

SVG = "{http://www.w3.org/2000/svg}"


def chart(series=None):
    series = series or lel_series()
    span = figures.span_of([series], (), at(60))
    return figures.meter_chart(series, span, ZONE)


def words_of(drawing):
    return [shape.words for shape in drawing.shapes if isinstance(shape, Label)]


def test_each_limit_is_a_dashed_line_with_its_name():
    drawing = chart()

    limits = [s for s in drawing.shapes if isinstance(s, Stroke) and s.kind == "limit"]
    assert len(limits) == 2
    assert all(line.dash for line in limits)
    assert {"1 %: caution", "10 %: withdraw"} <= set(words_of(drawing))


def test_a_limit_far_above_the_figures_is_named_instead_of_flattening_them():
    quiet = replace(
        oxygen_series(),
        title="CO",
        unit="ppm",
        runs=(Run(label="a", points=(Point(at=at(1), value=Decimal(0)),)),),
        limits=(figures_limit(200, "ceiling"), figures_limit(1200, "IDLH")),
    )

    words = words_of(chart(quiet))

    assert "Above this chart: 200 ppm: ceiling; 1200 ppm: IDLH" in words


def figures_limit(value, label):
    return Limit(value=Decimal(value), label=label)


def test_over_range_stands_at_the_top_in_words_and_is_no_number():
    drawing = chart()

    assert "over range" in words_of(drawing)
    assert "1 over range" in drawing.description


def test_points_differ_by_shape_for_each_verdict():
    shapes = [figures.marker(action, 0, 0)[0] for action in Action]

    outlines = {
        (type(shape), getattr(shape, "points", ()), getattr(shape, "filled", False))
        for shape in shapes
    }
    assert len(outlines) == len(Action)


def test_the_svg_needs_no_style_and_says_what_it_shows():
    series = replace(lel_series(), title='<script>"LEL"</script>')
    element = ET.fromstring(svg(chart(series), 'x"><i'))

    assert element.get("role") == "img"
    ids = {child.get("id") for child in element}
    assert set(element.get("aria-labelledby").split(" ")) & ids
    assert element.find(f"{SVG}title").text == '<script>"LEL"</script>, %'
    assert "highest 12 % at 14:21" in element.find(f"{SVG}desc").text
    for part in element.iter():
        assert "style" not in part.attrib
        assert not [name for name in part.attrib if name.startswith("on")]
        assert part.tag.removeprefix(SVG) in {
            "svg", "title", "desc", "text", "circle", "polyline", "polygon",
        }  # fmt: skip


def test_verdicts_over_time_are_words_in_frames():
    data = sample()
    span = figures.span_of(data.series, data.verdicts, data.closed_at)

    drawing = figures.verdict_chart(data.verdicts, span, ZONE)

    assert {"Caution", "Withdraw", "Stop", "Continue"} <= set(words_of(drawing))
    assert "Withdraw from 14:14" in drawing.description


def test_a_short_verdict_still_has_its_frame():
    data = sample()
    team = replace(
        data.verdicts[0],
        changes=(
            (at(0), Action.CONTINUE),
            (at(30), Action.STOP),
            (at(30, 2), Action(1)),
        ),
    )
    span = figures.span_of((), (team,), at(60))

    drawing = figures.verdict_chart((team,), span, ZONE)

    frames = [s for s in drawing.shapes if isinstance(s, Stroke) and s.width == 1.4]
    assert len(frames) == 1


def test_thinning_keeps_ends_extremes_over_range_and_the_strictest():
    points = [Point(at=at(0, n), value=Decimal(5)) for n in range(3000)]
    points[1234] = replace(points[1234], value=Decimal(99))
    points[2001] = replace(points[2001], value=Decimal(-1))
    points[2222] = replace(points[2222], value=None, action=Action.WITHDRAW)
    points[777] = replace(points[777], action=Action.STOP)

    kept = figures.thinned(points)

    assert len(kept) < 400
    for index in (0, 777, 1234, 2001, 2222, 2999):
        assert points[index] in kept
    assert list(kept) == sorted(kept, key=lambda point: point.at)


@given(
    st.lists(st.floats(min_value=-50, max_value=1e5), min_size=1, max_size=20),
    st.lists(st.floats(min_value=0.001, max_value=1e5), max_size=4),
)
@example([-5e-324, 1e5], [])  # divided by the step it is zero
@example([-5e-324, 2e-323], [])  # no power of ten is that small
@example([-1e-13, 0.3], [])
def test_an_axis_holds_every_figure_and_its_marks_are_even(values, limits):
    axis = scale.values(values, limits)

    assert axis.low <= min(values)
    assert axis.high >= max(values)
    assert 2 <= len(axis.marks) <= 12
    assert axis.low < axis.high


@pytest.mark.parametrize("minutes", [1, 7, 59, 300, 5000])
def test_time_marks_are_few_and_inside_the_span(minutes):
    span = scale.Span(at(3, 20), at(3, 20) + timedelta(minutes=minutes))

    marks = scale.times(span, ZONE)

    assert len(marks) <= 9
    assert all(span.start <= mark <= span.end for mark in marks)


def test_a_chart_of_one_moment_is_still_a_chart():
    one = MeterSeries(
        title="LEL",
        unit="%",
        runs=(Run(label="a", points=(Point(at=at(60), value=None),)),),
    )

    assert "over range" in words_of(chart(one))
