"""The dose ledger against the guidance of EPA-400/R-17/001, Table 3-1: 5, 10, 25 rem."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from command.dose import GUIDANCE, DoseReading, ledger
from screening.profile import Profile

START = datetime(2026, 3, 4, 19, 0, tzinfo=UTC)
PROFILE = Profile.default()


def read(minute, rem, *, member="a", instrument="d1", team="entry-1"):
    return DoseReading(
        at=START + timedelta(minutes=minute),
        team=team,
        instrument=instrument,
        member=member,
        rem=Decimal(rem),
        shown=f"{rem} rem",
    )


def of(*rows, estimated=None, mission="rescue"):
    given = None if estimated is None else Decimal(estimated)
    return ledger(rows, given, PROFILE, mission)


@pytest.mark.parametrize(
    ("rows", "total"),
    [
        pytest.param([read(1, "0.2")], "0.2", id="one reading"),
        pytest.param([read(1, "0.2"), read(9, "0.5")], "0.5", id="it adds up by itself"),
        pytest.param(
            [read(1, "0.5"), read(9, "0.1")], "0.6", id="set to zero in between"
        ),
        pytest.param(
            [read(1, "0.5"), read(9, "0.1"), read(12, "0.3"), read(20, "0.2")], "1.0",
            id="twice",
        ),
        pytest.param(
            [read(1, "0.5"), read(2, "0.7", instrument="d2")], "0.7",
            id="two dosimeters: the higher",
        ),
        pytest.param(
            [read(1, "0.5"), read(2, "0.3", member="")], "0.5",
            id="the own and the team's: the higher",
        ),
        pytest.param(
            [read(1, "0.5"), read(99, "0.7", team="entry-2")], "1.2", id="in two teams"
        ),
    ],
)  # fmt: skip
def test_the_sum_of_what_was_read(rows, total):
    assert of(*rows).total == Decimal(total)


def test_the_order_of_arrival_does_not_matter():
    rows = [read(9, "0.1"), read(1, "0.5")]

    assert of(*rows).total == of(*reversed(rows)).total == Decimal("0.6")


def test_no_reading_is_unknown_and_not_nothing():
    assert of().total is None
    assert "unknown" in of().words
    assert of().passed == ()


def test_an_estimate_counts_where_it_is_higher():
    assert of(read(1, "0.5"), estimated="0.8").total == Decimal("0.8")
    assert of(read(1, "0.5"), estimated="0.1").total == Decimal("0.5")
    assert of(estimated="0.1").total == Decimal("0.1")


@pytest.mark.parametrize(
    ("rem", "mission", "action"),
    [
        ("3.99", "other", ""),
        ("4", "other", "look into it"),
        ("4.99", "other", "look into it"),
        ("5", "other", "withdraw"),
        ("5", "reconnaissance", "withdraw"),
        ("7.99", "product_control", ""),
        ("8", "product_control", "look into it"),
        ("10", "product_control", "withdraw"),
        ("19.9", "rescue", ""),
        ("20", "rescue", "look into it"),
        ("25", "rescue", "withdraw"),
    ],
)
def test_eighty_in_a_hundred_is_looked_into_and_the_limit_withdraws(
    rem, mission, action
):
    """The limits: EPA-400/R-17/001, Table 3-1. Eighty in a hundred has no source."""
    assert of(read(1, rem), mission=mission).action == action


def test_the_guidance_is_five_ten_and_twenty_five_rem():
    assert [each.rem for each in GUIDANCE] == [5, 10, 25]
    assert all("EPA" in each.source for each in GUIDANCE)
    assert [each.rem for each in of(read(1, "10")).passed] == [5, 10]


@pytest.mark.parametrize(("rem", "needed"), [("25", False), ("25.1", True)])
def test_above_twenty_five_rem_only_volunteers(rem, needed):
    assert of(read(1, rem)).needs_volunteer is needed
