"""A calendar held against RFC 5545, from memory of its sections 3.1, 3.3.11 and 3.6.1."""

from datetime import UTC, date, datetime

import pytest

from reports.icalendar import Due, calendar, escaped

AT = datetime(2026, 3, 4, 14, 2, 3, tzinfo=UTC)


def made(*days):
    return "".join(calendar("Example; County", days, AT))


def unfolded(text):
    """3.1: a line end with one blank after it is no line end."""
    return text.replace("\r\n ", "").split("\r\n")


def due(**changes):
    given = {
        "uid": "meter-1@example",
        "day": date(2026, 12, 31),
        "title": "Calibration",
    }
    return Due(**given | changes)


def test_the_file_has_what_every_calendar_and_event_must():
    lines = unfolded(made(due()))

    assert lines[:2] == ["BEGIN:VCALENDAR", "VERSION:2.0"]
    assert lines[2].startswith("PRODID:")
    assert lines[-2:] == ["END:VCALENDAR", ""]
    event = lines[lines.index("BEGIN:VEVENT") : lines.index("END:VEVENT")]
    assert "UID:meter-1@example" in event
    assert "DTSTAMP:20260304T140203Z" in event


def test_a_day_ends_with_the_next_one():
    """3.6.1: DTEND is not part of the event, and a year may end between the two."""
    lines = unfolded(made(due()))

    assert "DTSTART;VALUE=DATE:20261231" in lines
    assert "DTEND;VALUE=DATE:20270101" in lines


@pytest.mark.parametrize(
    "title",
    ["x" * 200, "\U0001f9ea" * 60, "\u05e9\u05dc\u05d5\u05dd " * 40, "é" * 75],
)
def test_no_line_is_longer_than_75_octets_and_none_splits_a_character(title):
    text = made(due(title=title))

    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))
    assert f"SUMMARY:{title}" in unfolded(text)


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("a, b; c", "a\\, b\\; c"),
        ("a\\b", "a\\\\b"),
        ("a\r\nb", "a\\nb"),
        ("END:VEVENT\nBEGIN:VALARM", "END:VEVENT\\nBEGIN:VALARM"),
    ],
)
def test_text_cannot_end_its_line(text, kept):
    assert escaped(text) == kept
    assert f"SUMMARY:{kept}" in unfolded(made(due(title=text)))


def test_the_caution_goes_along():
    description = next(x for x in unfolded(made(due())) if x.startswith("DESCRIPTION"))

    assert "local SOPs and the incident commander govern" in description


def test_nothing_due_is_an_empty_calendar():
    assert "VEVENT" not in made()
