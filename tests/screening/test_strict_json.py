"""Whatever bytes come in: a document with exact numbers, or errors in words."""

from decimal import Decimal

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from screening.worksheet import WorksheetErrors, dump_json, load_json
from screening.worksheet.problems import MOST_ERRORS


def errors_of(data):
    with pytest.raises(WorksheetErrors) as caught:
        load_json(data)
    return caught.value.errors


def outcome(data):
    """The document, or the errors: nothing else may come out."""
    try:
        return load_json(data), None
    except WorksheetErrors as refused:
        return None, refused


def test_numbers_are_read_to_the_letter():
    document = load_json(b'{"a": 0.1, "b": 20.90, "c": 3, "d": 1e3, "e": [-0, -0.0]}')

    assert document == {"a": Decimal("0.1"), "b": Decimal("20.90"), "c": 3, "d": 1000,
                        "e": [0, 0]}  # fmt: skip
    assert str(document["b"]) == "20.90"
    assert [str(zero) for zero in document["e"]] == ["0", "0.0"]


@pytest.mark.parametrize(
    "literal",
    [
        pytest.param("NaN", id="C1: NaN"),
        pytest.param("Infinity", id="C2: Infinity"),
        pytest.param("-Infinity", id="C2: -Infinity"),
        pytest.param("1e400", id="C3: 1e400"),
        pytest.param("1e308", id="C4: 1e308"),
        pytest.param("1e16", id="just over the largest"),
        pytest.param("0e99", id="a zero with a great exponent"),
        pytest.param("1e-400", id="too small"),
        pytest.param("1e999999999999999999999999", id="an exponent beyond Decimal"),
        pytest.param("0.1234567890123456789012", id="22 decimals"),
        pytest.param("12.1234567890123456789", id="21 figures"),
        pytest.param("9" * 5_000, id="C11, C31: 5,000 digits"),
        pytest.param("-" + "9" * 5_000, id="5,000 digits below zero"),
        pytest.param("0." + "0" * 5_000 + "1", id="5,000 decimals"),
    ],
)
def test_a_number_that_no_instrument_shows_is_refused_where_it_stands(literal):
    data = f'{{"log": [{{"x": 1}}, {{"a/b": {literal}}}]}}'.encode()

    (error,) = errors_of(data)

    assert error.pointer == "/log/1/a~1b"
    assert error.value.startswith(literal[:20])
    assert len(error.value) <= 60


def test_the_largest_numbers_are_taken():
    document = load_json('{"a": 9999999999999999, "b": 0.12345678901234567891}')

    assert document["a"] == 9999999999999999
    assert document["b"] == Decimal("0.12345678901234567891")


def test_each_key_given_twice_is_refused_where_it_stands():
    found = errors_of(b'{"a": 1, "a": 2, "log": [{"ph": 1, "x": 0, "ph": 7, "ph": 7}]}')

    assert [error.pointer for error in found] == ["/a", "/log/0/ph"]


@pytest.mark.parametrize(
    ("text", "line"),
    [
        pytest.param('{\n"a": 1,\n', 3, id="in an object"),
        pytest.param('{\n"a": "b', 2, id="in a text"),
        pytest.param('{"a": [1,\n2', 2, id="in a list"),
        pytest.param('{\n"a":\n tr', 3, id="in a word"),
    ],
)
def test_a_file_that_ends_early_says_at_which_line(text, line):
    (error,) = errors_of(text.encode())

    assert error.pointer == ""
    assert f"line {line}" in error.value


@pytest.mark.parametrize(
    "data",
    [
        pytest.param(b"", id="empty"),
        pytest.param(b"   ", id="blank"),
        pytest.param(b"[]", id="a list"),
        pytest.param(b"7", id="a number"),
        pytest.param(b"NaN", id="NaN alone"),
        pytest.param(b"null", id="null"),
        pytest.param(b'{"a": 1} {"b": 2}', id="two documents"),
        pytest.param(b"{'a': 1}", id="single quotes"),
        pytest.param(b'{"a": 1,}', id="comma too many"),
        pytest.param(b'{"a": 1_000}', id="C9: 1_000"),
        pytest.param(b'{"a": 0x10}', id="C8: 0x10"),
        pytest.param('{"a": ٧}'.encode(), id="C7: Arabic-Indic digit"),
        pytest.param(b'{"a": +1}', id="plus sign"),
        pytest.param(b'{"a": "\n"}', id="line end in a text"),
    ],
)
def test_what_is_no_json_object_is_refused_as_a_whole(data):
    (error,) = errors_of(data)

    assert error.pointer == ""
    assert error.expected


@pytest.mark.parametrize(
    ("data", "found"),
    [
        pytest.param('{"a": 1}'.encode("utf-16"), "UTF-16", id="C39: UTF-16"),
        pytest.param(b"\x1f\x8b\x08\x00", "gzip", id="C39: gzip"),
        pytest.param(b'{"a":\n"\xff"}', "line 2", id="C39: Latin-1"),
        pytest.param(b'{"a": "\xed\xa0\x80"}', "line 1", id="C23: encoded surrogate"),
    ],
)
def test_other_encodings_are_named(data, found):
    (error,) = errors_of(data)

    assert found in error.value
    assert error.expected == "JSON in UTF-8"


def test_a_byte_order_mark_does_no_harm():
    assert load_json(b'\xef\xbb\xbf{"a": 1}') == {"a": 1}
    assert load_json('\ufeff{"a": 1}') == {"a": 1}


def test_the_document_may_be_32_deep_and_no_deeper():
    assert load_json('{"a":' + "[" * 31 + "]" * 31 + "}")

    (error,) = errors_of('{"a":' + "[" * 32 + "]" * 32 + "}")
    assert error.pointer == "/a" + "/0" * 31
    assert "32 deep" in error.expected


@pytest.mark.parametrize("depth", [1_000, 100_000])
def test_endless_nesting_is_an_error_like_any_other(depth):
    (error,) = errors_of(b'{"a":' * depth)
    (other,) = errors_of(b'{"a":' + b"[" * depth + b"]" * depth + b"}")

    assert "32 deep" in other.expected
    assert error.expected


def test_more_than_20_megabytes_are_not_even_read():
    (error,) = errors_of(b" " * 20_000_001)

    assert error.value == "20000001 bytes"


def test_errors_without_end_are_cut_off():
    found = errors_of('{"a": [' + "NaN," * (MOST_ERRORS + 5) + "1]}")

    assert len(found) == MOST_ERRORS + 1
    assert "still more errors" in found[-1].value


@given(st.binary(max_size=200))
@example(b'{"a": 1e99999999999999999999}')
@example(b'{"\\ud800": NaN}')
def test_no_bytes_raise_anything_but_worksheet_errors(data):
    document, refused = outcome(data)

    assert isinstance(document, dict) or refused.errors
    str(refused).encode()  # printable whatever was in it


JSON_TEXT = st.text(
    alphabet='{}[]":,0123456789.eE+-NaInfity\\u d8ltrs\n\ufeff', max_size=60
)


@given(st.one_of(JSON_TEXT, JSON_TEXT.map(lambda inner: f'{{"a": {inner}}}')))
def test_no_text_like_json_raises_anything_but_worksheet_errors(text):
    document, refused = outcome(text)

    assert isinstance(document, dict) or (
        len(str(refused).split("\n")) == len(refused.errors)
    )


NUMBERS = st.decimals(min_value=-(10**9), max_value=10**9, places=6)
VALUES = st.recursive(
    st.none() | st.booleans() | NUMBERS | st.text(),
    lambda inner: (
        st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4)
    ),
    max_leaves=12,
)


@given(st.dictionaries(st.text(), VALUES, max_size=5))
def test_a_document_survives_being_written_and_read_again(document):
    text = dump_json(document)

    assert load_json(text) == document
    assert dump_json(load_json(text)) == dump_json(
        load_json(dump_json(load_json(text)))
    )


def test_a_number_is_written_with_the_figures_that_were_read():
    text = '{"oxygen_percent": 20.90, "ppm": 1E+3}'

    assert dump_json(load_json(text)) == text


@pytest.mark.parametrize(
    "value", [0.1, Decimal("NaN"), {1: 2}, {"a": object()}, [b"bytes"]]
)
def test_what_json_has_no_word_for_is_not_written(value):
    with pytest.raises(TypeError):
        dump_json(value)
