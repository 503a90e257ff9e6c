from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal

import pytest

from incidents.documents import dumps, loads, utc_text


@pytest.mark.parametrize(
    "text",
    [
        '{"b":7.50,"a":[true,null,"ü"],"c":{"d":-0.001}}',
        '{"large":123456789012345678901234567890.5}',
        "[]",
    ],
)
def test_a_document_comes_back_to_the_letter(text):
    assert dumps(loads(text)) == text


def test_a_number_is_never_written_with_an_exponent():
    assert dumps([Decimal("1E+3"), Decimal("1E-7")]) == "[1000,0.0000001]"


@pytest.mark.parametrize(
    "value", [1.5, Decimal("NaN"), Decimal("Infinity"), {1: 2}, {"a": {3}}, b"x"]
)
def test_what_would_lose_its_meaning_is_refused(value):
    with pytest.raises(TypeError):
        dumps(value)


def test_a_moment_has_one_text_in_every_zone():
    moment = datetime(2026, 3, 4, 14, 2, tzinfo=timezone(timedelta(hours=-5)))

    assert utc_text(moment) == "2026-03-04T19:02:00.000000Z"
    assert utc_text(moment.astimezone(UTC)) == utc_text(moment)
