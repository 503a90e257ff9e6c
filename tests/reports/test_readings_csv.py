"""Readings as CSV: read back with Python's own reader, as RFC 4180 has it."""

import csv
import io
from datetime import UTC, datetime
from decimal import Decimal

import pytest

from reports import readings_csv
from reports.readings_csv import Line, cell, lines
from screening import readings

AT = datetime(2026, 3, 4, 19, 2, tzinfo=UTC)
NOTES = {
    "markup": '<b>bold</b> & "quoted", with a comma',
    "two lines": "one\ntwo",
    "emoji": "\U0001f9ea\U0001f692",
    "right to left": "\u05d7\u05d5\u05de\u05e8 \u05de\u05e1\u05d5\u05db\u05df",
    "long": ("0123456789" * 1000),
    "formula": '=HYPERLINK("http://example.invalid")',
}


def line(**fields):
    known = {"id": "o1", "at": AT, "team": "E1", "place": "dock"} | fields
    entry = readings.GasMeter(**known)
    return Line(seq=2, entry=entry, team="Entry 1", recorded_at=AT, author="A. Alder")


def read_back(kind, *rows):
    text = "".join(lines(kind, rows))
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_every_kind_of_reading_has_columns_for_each_of_its_fields():
    kinds = {kind for kind, cls in readings.KINDS.items() if cls.is_reading}

    assert set(readings_csv.KINDS) == kinds


def test_figures_keep_their_text_and_their_unit_stands_in_the_head():
    (row,) = read_back(
        "gas_meter", line(lel_percent=Decimal("7.50"), co_ppm=Decimal(-3))
    )

    assert row["flammable_percent_of_LEL"] == "7.50"
    assert row["carbon_monoxide_ppm"] == "-3"  # a figure, not a formula
    assert row["oxygen_percent_by_volume"] == ""  # not measured is no zero
    assert row["observed_at"] == "2026-03-04T19:02:00+00:00"


@pytest.mark.parametrize("note", [pytest.param(n, id=k) for k, n in NOTES.items()])
def test_a_note_comes_back_as_it_was(note):
    (row,) = read_back("gas_meter", line(note=note))

    assert row["note"].removeprefix("'") == note


@pytest.mark.parametrize(
    ("text", "kept"),
    [
        ("=1+1", "'=1+1"),
        ("+1", "'+1"),
        ("-1", "'-1"),
        ("@SUM(A1)", "'@SUM(A1)"),
        ("\t=1", "'\t=1"),
        ("\r=1", "'\r=1"),
        ("\uff1d1+1", "'\uff1d1+1"),
        ("'quoted", "''quoted"),
        ("a=1", "a=1"),
        ("", ""),
    ],
)
def test_no_text_begins_as_a_formula(text, kept):
    assert cell(text) == kept


@pytest.mark.parametrize(
    ("value", "kept"),
    [
        (Decimal("-0.010"), "-0.010"),
        (Decimal("1E+3"), "1000"),
        (True, "yes"),
        (False, "no"),
        (None, ""),
        (-7, "-7"),
    ],
)
def test_figures_are_written_as_figures(value, kept):
    assert cell(value) == kept


def test_lines_end_in_crlf_and_each_has_as_many_cells_as_the_head():
    """RFC 4180, 2, rules 1 and 4."""
    made = list(lines("gas_meter", [line(), line(note='a "b"\n')]))

    assert all(each.endswith("\r\n") for each in made)
    rows = list(csv.reader(io.StringIO("".join(made), newline=""), strict=True))
    assert {len(row) for row in rows} == {len(readings_csv.heads("gas_meter"))}


def test_the_head_carries_the_caution_and_the_version():
    last = readings_csv.heads("sign")[-1]

    assert last == (
        "Supports decisions; local SOPs and the incident commander govern. "
        "(hazmat-readings-csv 1, sign)"
    )


def test_nothing_is_read_before_it_is_asked_for():
    """A file of any length is made line by line."""
    asked = []

    def rows():
        for number in range(1000):
            asked.append(number)
            yield line()

    made = lines("gas_meter", rows())
    next(made)
    next(made)

    assert len(asked) == 1
