"""The chart of an incident's time: what is on it, where it leads, and without colour."""

import re
from dataclasses import replace
from datetime import UTC
from decimal import Decimal
from io import BytesIO
from xml.etree import ElementTree as ET

import pytest
from reportlab.pdfgen.canvas import Canvas

from reports.drawing import TARGET, Label, Link, Stroke, draw_shape, svg
from reports.timeline_chart import PAGE, PHONE, Lanes, timeline_chart
from reports.timeline_lanes import Pin, placed
from review.timeline import Asked, Edition, Timeline
from screening.profile import Profile
from screening.verdicts import Action
from tests.review.test_timeline import a_timeline, at, lel, mark

SVG = "{http://www.w3.org/2000/svg}"


def address(one):
    return f"/entries/{one.seq}/"


def drawn(timeline, **changes):
    return timeline_chart(timeline, UTC, address, **changes)


def links(drawing):
    return {one.href: one for one in drawing.shapes if isinstance(one, Link)}


def words(drawing):
    plain = [one for one in drawing.shapes if isinstance(one, Label)]
    inner = [
        shape
        for one in drawing.shapes
        if isinstance(one, Link)
        for shape in one.shapes
        if isinstance(shape, Label)
    ]
    return [label.words for label in (*plain, *inner)]


def strokes(shapes, kind):
    return [one for one in shapes if isinstance(one, Stroke) and one.kind == kind]


def xs(stroke):
    return [x for x, _ in stroke.points]


@pytest.mark.parametrize("width", [PAGE, PHONE])
def test_every_record_is_a_link_to_its_entry_and_the_page_holds_it(width):
    timeline = a_timeline()

    drawing = drawn(timeline, width=width)
    root = ET.fromstring(svg(drawing, "one"))

    hrefs = [node.get("href") for node in root.iter(f"{SVG}a")]
    assert sorted(hrefs) == sorted(address(one) for one in timeline.marks)
    assert {node.get("tabindex") for node in root.iter(f"{SVG}a")} == {"-1"}
    assert root.get("role") == "group"
    for one in links(drawing).values():
        for shape in one.shapes:
            if isinstance(shape, Stroke):
                assert all(0 <= y <= drawing.height for _, y in shape.points)


def test_the_two_halves_together_have_what_the_whole_has():
    timeline = a_timeline()

    shown, channels = (
        set(links(drawn(timeline, lanes=lanes)))
        for lanes in (Lanes.SHOWN, Lanes.CHANNELS)
    )

    assert channels == {"/entries/200/", "/entries/380/"}
    assert shown | channels == set(links(drawn(timeline)))


def test_the_verdicts_stand_in_words_and_by_their_frames():
    drawing = drawn(a_timeline())

    assert words(drawing).count("Continue") == 1
    assert words(drawing).count("Stop") == 1
    assert "Entry team 1: Continue from 19:00:00, Stop from 19:40:00" in (
        drawing.description
    )


def test_a_late_record_has_both_its_times_joined_by_a_thin_line():
    drawing = drawn(a_timeline())
    late = links(drawing)["/entries/380/"]
    in_time = links(drawing)["/entries/200/"]

    line, end = strokes(late.shapes, "late")
    share = (PAGE - 118 - 34) / 120
    x = {minute: 34 + minute * share for minute in (38, 48)}
    assert xs(line) == pytest.approx([x[38], x[48]])
    assert xs(end) == pytest.approx([x[48], x[48]])
    assert line.width < 0.5
    assert "Recorded 19:48:00" in late.title
    assert strokes(in_time.shapes, "late") == []


def test_what_was_put_right_is_crossed_out_and_no_line_leads_through_it():
    struck = lel(25, 90, struck="misheard (R)")
    drawing = drawn(a_timeline(marks=(lel(20, 4), struck, lel(30, 5))))

    found = links(drawing)
    assert len(strokes(found["/entries/250/"].shapes, "struck")) == 2
    assert strokes(found["/entries/200/"].shapes, "struck") == []
    assert "Put right: misheard (R)" in found["/entries/250/"].title
    (run,) = strokes(drawing.shapes, "run")
    assert len(run.points) == 2


def test_a_word_that_was_put_right_is_struck_through():
    paper = mark(5, short="2", struck="misheard (R)")
    drawing = drawn(a_timeline(marks=(paper,)))

    assert len(strokes(links(drawing)["/entries/50/"].shapes, "struck")) == 3
    assert "2" in words(drawing)


def test_limits_are_dashed_and_named_and_end_with_their_edition():
    limits = Profile.default()
    tighter = replace(
        limits, limits=limits.limits | {"lel_withdraw_percent": Decimal(5)}
    )
    timeline = a_timeline(
        editions=(
            Edition(since=at(0), name="1", profile=limits),
            Edition(since=at(60), name="2", profile=tighter),
        )
    )

    drawing = drawn(timeline)
    found = strokes(drawing.shapes, "limit")

    assert all(one.dash for one in found)
    assert "5 %: withdraw" in words(drawing)
    ends = {max(xs(one)) for one in found}
    assert len(ends) == 2


def test_over_range_is_drawn_at_the_top_and_said():
    figure = replace(lel(20, 1).figures[0], value=None)
    drawing = drawn(a_timeline(marks=(mark(20, "gas_meter", figures=(figure,)),)))

    assert "over range" in words(drawing)


def test_a_reading_s_sign_says_its_verdict_by_its_shape():
    found = {}
    for action in Action:
        one = mark(5, action=action, short="2")
        link = links(drawn(a_timeline(marks=(one,))))["/entries/50/"]
        found[action] = [
            (
                type(shape).__name__,
                len(getattr(shape, "points", ())),
                getattr(shape, "filled", False),
            )
            for shape in link.shapes
        ]

    assert len({tuple(signs) for signs in found.values()}) == len(Action)


def test_the_seconds_from_a_stop_to_being_heard_are_a_line_with_its_length():
    asked = (
        Asked(seq=50, team="entry-1", action=Action.STOP, at=at(40), heard_at=at(41.5)),
        Asked(seq=50, team="backup-1", action=Action.STOP, at=at(80)),
        Asked(seq=50, team="entry-1", action=Action.WITHDRAW, at=at(80)),
    )
    drawing = drawn(a_timeline(marks=(), asked=asked))
    first, second = (one for one in drawing.shapes if isinstance(one, Link))

    assert {"1:30", "not heard"} <= set(words(drawing))
    assert first.href == "/entries/50/"
    assert first.title == "Stop, Entry team 1: 1:30"
    assert second.title == "Withdraw, Backup, Entry team 1: not heard"
    assert len(strokes(first.shapes, "late")) == 2
    assert strokes(second.shapes, "late") == []


def test_notes_are_boxes_with_letters_that_lead_to_them():
    pins = [
        Pin(at=at(5), letter="S", words="Strength: good", href="#note-1"),
        Pin(at=at(5), letter="I", words="Improvement: wet it", href="#note-2"),
    ]
    found = links(drawn(a_timeline(), notes=pins))

    boxes = [strokes(found[href].shapes, "pin")[0] for href in ("#note-1", "#note-2")]
    assert max(xs(boxes[0])) <= min(xs(boxes[1]))
    assert found["#note-2"].title == "Improvement: wet it"


def test_words_never_lie_on_each_other_and_those_without_room_are_left_out():
    marks = {n: (100.0 + n, "no change") for n in range(8)}

    rows = placed(marks, 500)

    assert sorted(rows.values()) == [0, 1, 2]
    assert placed({1: (2.0, "no change")}, 500) == {}


def test_nothing_is_told_by_colour_or_style_and_people_s_words_are_escaped():
    evil = '<script>"&'
    one = mark(5, words=evil, short=evil, place=evil)
    text = svg(drawn(a_timeline(marks=(one,))), "one")

    assert "<script>" not in text
    assert "style=" not in text
    colours = set(re.findall(r'(?:stroke|fill)="([^"]*)"', text))
    assert colours <= {"none", "currentColor"}


def test_an_incident_without_any_record_still_has_its_time():
    empty = Timeline(start=at(0), end=at(0))
    drawing = drawn(empty)

    assert drawing.height > 0
    assert drawing.description == "0 records, 0 late, 0 put right"


def test_a_day_long_incident_with_a_thousand_figures_loses_no_peak():
    marks = [lel(minute, 80 if minute == 777 else 1) for minute in range(0, 1440, 1)]
    timeline = a_timeline(end=at(1440), marks=tuple(marks), teams=())

    drawing = drawn(timeline)

    assert "/entries/7770/" in links(drawing)
    assert len(links(drawing)) < 500


def test_paper_has_the_signs_and_not_the_room_for_a_pointer():
    one = links(drawn(a_timeline()))["/entries/50/"]
    there = [shape for shape in one.shapes if getattr(shape, "kind", "") != TARGET]

    with_link, without = Canvas(BytesIO()), Canvas(BytesIO())
    draw_shape(with_link, one)
    for shape in there:
        draw_shape(without, shape)

    assert len(there) == len(one.shapes) - 1
    assert with_link._code == without._code
