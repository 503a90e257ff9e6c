from decimal import Decimal

import pytest

from incidents.text import clean_text, strict_decimal


@pytest.mark.parametrize(
    ("typed", "number"),
    [
        ("7", "7"),
        ("7.5", "7.5"),
        ("7,5", "7.5"),
        (" 7 ", "7"),
        ("7\u00a0", "7"),
        ("7.50", "7.50"),
        (".5", "0.5"),
        ("7.", "7"),
        ("-3", "-3"),
        ("\u22123", "-3"),
        ("+3", "3"),
        ("007", "7"),
    ],
)
def test_a_number_is_read_as_it_was_typed(typed, number):
    read = strict_decimal(typed)

    assert read == Decimal(number)
    assert read.as_tuple().exponent == Decimal(number).as_tuple().exponent


def test_minus_zero_is_zero():
    assert str(strict_decimal("-0.0")) == "0.0"


@pytest.mark.parametrize(
    "typed",
    [
        "", "-", ".", ",", "1_000", "1e3", "1E3", "1.000,5", "1,000.5", "1 000", "nan", "NaN",
        "inf", "-Infinity", "0x10", "½", "²", "٧", "٧.٥", "７", "7.٥", "5 %", "--3", "3-",
        "7;5", "9" * 5000,
    ],
)  # fmt: skip
def test_what_could_be_misread_is_no_number(typed):
    with pytest.raises(ValueError, match="number"):
        strict_decimal(typed)


def test_text_is_kept_as_it_was_written():
    written = "Drum 3 – leaking, 5 µm film.\nSecond line\twith a tab 🛢"

    assert clean_text(written, max_length=200) == written


def test_outer_white_space_and_foreign_line_ends_go():
    assert clean_text("  a\r\nb\rc \n", max_length=20) == "a\nb\nc"


def test_one_line_folds_line_ends():
    assert clean_text("a\n b\tc", max_length=20, one_line=True) == "a b c"


def test_letters_typed_in_parts_are_stored_in_one_form():
    assert clean_text("Mu\u0308ller", max_length=20) == "M\u00fcller"


@pytest.mark.parametrize(
    "character",
    ["\x00", "\x07", "\x1b", "\x7f", "\x85", "\ud800", "\u202e", "\u2066",
     "\u200f", "\u061c", "\u2028", "\ufdd0", "\uffff", "\U0001fffe"],
)  # fmt: skip
def test_a_character_that_cannot_be_kept_is_named(character):
    with pytest.raises(ValueError, match=f"U\\+{ord(character):04X}"):
        clean_text(f"a{character}b", max_length=20)


def test_text_over_its_length_is_refused_and_never_cut():
    assert clean_text("x" * 20, max_length=20) == "x" * 20

    with pytest.raises(ValueError, match="21 characters; at most 20"):
        clean_text("x" * 21, max_length=20)
