"""Row 14 of the job: two references that differ both stand, and the lower limit is used.

15 to 28 and 16 to 25 % by volume are figures for ammonia that are both in circulation; the
table of substances has 15 to 28 % (NFPA 497) and 15 to 33.6 % (IEC 60079-20-1).
"""

from decimal import Decimal

import pytest

from command.references import FlammableRange, differing, written_ranges
from tests.command.test_site_safety_plan import block, paper

TWO = "Guide A: 15 to 28 %; guide B: 16 to 25 %"


def of(low, high, said_by):
    return FlammableRange(low=Decimal(low), high=Decimal(high), said_by=said_by)


@pytest.mark.parametrize(
    ("facts", "found"),
    [
        (TWO, [of(15, 28, "Guide A"), of(16, 25, "guide B")]),
        ("LEL and UEL 15–28 % (Guide A, 2024)", [of(15, 28, "Guide A, 2024")]),
        ("Guide C: 2.1 - 9.5 % by volume", [of("2.1", "9.5", "Guide C")]),
        ("Flammable 4 to 75 vol.-%", [of(4, 75, "reference not named")]),
        ("25–30 % solution in water; boils at -33 °C", []),
        ("Guide A: 28 to 15 %", []),
        ("Guide A: 15 to 280 %", []),
        ("15 to 28 ppm", []),
        ("", []),
    ],
)
def test_ranges_are_found_in_what_people_wrote(facts, found):
    assert written_ranges(facts) == tuple(found)


def test_two_references_that_differ_both_stand_and_the_lower_limit_is_used():
    said = differing("blue gas", TWO)

    assert "15 to 28 % (Guide A)" in said
    assert "16 to 25 % (guide B)" in said
    assert "lower LEL of 15 % is used" in said
    assert "10 % of it is 15,000 ppm" in said


def test_the_lists_of_the_table_are_references_too():
    said = differing("propane", "Guide A: 2.3 to 9.5 %")

    assert "2.3 to 9.5 % (Guide A)" in said
    assert "2.1 to 9.5 % (NFPA 497" in said
    assert "lower LEL of 1.7 % is used" in said


def test_references_that_agree_and_a_single_one_say_nothing():
    assert differing("blue gas", "Guide A: 15 to 28 %; guide B: 15.0 to 28.0 %") == ""
    assert differing("blue gas", "Guide A: 15 to 28 %") == ""
    assert differing("blue gas", "") == ""


def test_the_form_says_it_beside_the_figures():
    changed = {"name": "ammonia", "certainty": "label", "facts": TWO}
    lines = block(paper({("substances", "s1"): changed}), 19).lines

    (said,) = (line for line in lines if "differ" in line)
    assert "ammonia" in said
    assert "lower LEL of 15 % is used" in said
