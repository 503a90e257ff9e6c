"""The plan in words: arrows, lines of the log, and never a blank."""

from decimal import Decimal

import pytest

from command.documents import read_says
from command.geography import features
from command.parts import PARTS
from command.words import arrow, compass, rows, sentence, wind_words
from tests.command.plans import plan, record


@pytest.mark.parametrize(
    ("degrees", "point", "drawn"),
    [(0, "north", "↓"), (22, "north", "↓"), (23, "north-east", "↙"),
     (270, "west", "→"), (359, "north", "↓")],
)  # fmt: skip
def test_an_arrow_shows_where_the_air_goes(degrees, point, drawn):
    assert (compass(Decimal(degrees)), arrow(Decimal(degrees))) == (point, drawn)


def test_from_270_and_towards_90_give_the_same_arrow():
    reports = (
        read_says(PARTS["weather"], said)
        for said in ({"wind_from": 270}, {"wind_towards": 90})
    )

    assert {wind_words(report) for report in reports} == {"→ from west, 270°"}


def test_a_wind_that_nobody_gave_is_not_known():
    assert wind_words(read_says(PARTS["weather"], {})) == "wind not known"


@pytest.mark.parametrize("key", PARTS)
def test_no_answer_is_ever_blank(key):
    part = PARTS[key]

    assert [label for label, words in rows(part.shape()) if not words.strip()] == []


def test_a_record_is_a_line_of_the_log():
    says = {"mode": "defensive", "why": "Dike first"}

    assert sentence(record("mode", says)) == (
        "Operating mode: mode: Defensive; why: Dike first"
    )


def test_an_item_that_is_taken_out_says_why():
    gone = record("check_in", None, item="a", reason="Misspelt")

    assert sentence(gone) == "Check-in, one item: taken out: Misspelt"


def test_an_override_names_team_who_why_and_what():
    says = {"team": "e1", "lacks": ["decon_not_ready"], "why": "Rescue", "by": "Holt"}

    words = sentence(record("override", says), None, {"e1": "Entry 1"})

    assert words == "Entry 1 goes anyway, by Holt: Rescue. Not ready: decon not ready"


def test_zones_in_words_alone_leave_no_shape():
    assert features(plan())["features"] == []
