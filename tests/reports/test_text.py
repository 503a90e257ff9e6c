"""Text from people prints as it is: never as markup, never missing, never too wide."""

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import reports
from reports import fonts, text

ROOT = Path(reports.__file__).parent.parent


@pytest.mark.parametrize(
    ("typed", "printed"),
    [
        ("pH 2, tank room", "pH 2, tank room"),
        ("Zoë Łukasz Ωμέγα Дарья", "Zoë Łukasz Ωμέγα Дарья"),
        ("41 → 47 °C, ≥ 10 Δ°F", "41 → 47 °C, ≥ 10 Δ°F"),
        ("drum \U0001f525", "drum [U+1F525]"),
        ("\u6f22", "[U+6F22]"),
        ("a\u202eb", "a[U+202E]b"),
        ("a\u200bb\ufeff", "a[U+200B]b[U+FEFF]"),
        ("a\x00b\x1b", "a\ufffdb\ufffd"),
        ("a\ud800b", "a\ufffdb"),
        ("a\uffffb\ufdd0\U0001fffe", "a\ufffdb\ufffd\ufffd"),
        ("one\r\ntwo\rthree\u2028four", "one\ntwo\nthree\nfour"),
        ("a\tb", "a    b"),
        ("5\N{NO-BREAK SPACE}ppm", "5 ppm"),
        ("e" + "\u0316" * 500, "e" + "\u0316" * 4 + "[496 more marks]"),
    ],
)
def test_what_was_typed_prints_visibly(typed, printed):
    assert text.printable(typed) == printed


def test_markup_is_escaped_and_line_breaks_are_kept():
    assert text.markup("<b>a & b\nc") == "&lt;b&gt;a &amp; b<br/>c"


@given(st.text(max_size=300))
def test_nothing_that_is_printed_lacks_a_glyph(typed):
    printed = text.printable(typed).replace("\n", "")

    assert all(fonts.has_glyph(character) for character in printed)


@given(st.text(max_size=400), st.floats(min_value=20, max_value=300))
def test_no_wrapped_line_is_wider_than_its_column(typed, width):
    for line in text.wrap(typed, width, 7):
        assert len(line) <= 1 or text.width_of(line, 7) <= width + 0.01


@given(st.text(alphabet="ab \u00e9", max_size=400))
def test_wrapping_loses_no_letter(typed):
    wrapped = "".join(text.wrap(typed, 40, 7))

    assert wrapped.replace(" ", "") == text.printable(typed).replace(" ", "")


def test_a_line_that_is_cut_to_fit_says_so():
    cut = text.fitted("a long incident name " * 10, 100, 8)

    assert cut.endswith("…")
    assert text.width_of(cut, 8) <= 100


def test_long_text_is_set_in_pieces_that_together_are_the_text():
    typed = "word " * 4000

    pieces = text._pieces(typed)

    assert "".join(pieces) == typed
    assert max(map(len, pieces)) <= text.PIECE


def test_paragraph_is_called_in_one_place_only():
    calls = [
        path.relative_to(ROOT).as_posix()
        for package in ("reports", "incidents", "screening", "config")
        for path in (ROOT / package).rglob("*.py")
        if re.search(r"\b(?:X?Preformatted|Paragraph)\(", path.read_text("utf-8"))
    ]

    assert calls == ["reports/text.py"]
