"""By height: a heavy or cold gas is not ruled out by a reading at head height."""

import itertools

import pytest

from screening.methods import next_step, recognise
from tests.engine.documents import (
    bump,
    clear,
    enter,
    judge,
    leave,
    meter,
    strike,
    team,
    ventilate,
    worksheet,
)

FOUR = ("flammable_atmosphere", "oxygen_enriched", "oxygen_deficient", "toxic_gas")


def read(minutes, height, *, gases=None, **fields):
    """A quiet set of all four sensors, and of further cells."""
    return meter(
        minutes, 0, 20.9, co_ppm=0, h2s_ppm=0, height=height, gases=gases, **fields
    )


def keys_of(row):
    return [said.sentence.key for said in recognise(row["because"])]


# Suspects, heights read, hazard, status, first key of the reason where it is open.
CASES = [
    pytest.param([], [None], "flammable_atmosphere", "not_found", None, id="not noted"),
    pytest.param([], ["floor"], "flammable_atmosphere", "not_found", None, id="floor"),
    pytest.param(
        [], ["head"], "flammable_atmosphere", "cannot_tell", "floor_not_read", id="head"
    ),
    pytest.param(
        [], ["waist"], "toxic_gas", "cannot_tell", "floor_not_read", id="waist"
    ),
    pytest.param(
        [], ["head"], "oxygen_deficient", "cannot_tell", "floor_not_read",
        id="head, oxygen: a cloud may lie below the probe",
    ),
    pytest.param(
        [], ["waist", "head"], "oxygen_enriched", "cannot_tell", "floor_not_read",
        id="waist and head",
    ),
    pytest.param([], ["head", "floor"], "toxic_gas", "not_found", None, id="head, floor"),
    pytest.param([], ["floor", "head"], "toxic_gas", "not_found", None, id="floor, head"),
    pytest.param(
        [], ["head", None], "toxic_gas", "not_found", None, id="head, then not noted"
    ),
    pytest.param(
        ["propane"], ["head"], "flammable_atmosphere", "cannot_tell", "floor_not_read",
        id="propane, head",
    ),
    pytest.param(
        ["propane"], [None], "flammable_atmosphere", "cannot_tell", "floor_not_noted",
        id="propane, not noted",
    ),
    pytest.param(
        ["propane"], ["head", None], "flammable_atmosphere", "cannot_tell",
        "floor_not_read", id="propane, head and not noted",
    ),
    pytest.param(
        ["propane"], ["floor"], "flammable_atmosphere", "not_found", None,
        id="propane, floor",
    ),
    pytest.param(
        ["propane"], ["floor"], "oxygen_deficient", "not_found", None,
        id="propane, floor, oxygen",
    ),
    pytest.param(
        ["propane"], [None], "oxygen_deficient", "cannot_tell", "floor_not_noted",
        id="propane displaces air",
    ),
    pytest.param(
        ["carbon dioxide"], [None], "oxygen_deficient", "cannot_tell", "floor_not_noted",
        id="carbon dioxide displaces air",
    ),
    pytest.param(
        ["liquid nitrogen"], [None], "oxygen_deficient", "cannot_tell",
        "floor_not_noted", id="cold nitrogen displaces air",
    ),
    pytest.param(
        ["liquid nitrogen"], [None], "oxygen_enriched", "not_found", None,
        id="cold nitrogen enriches nothing",
    ),
    pytest.param(
        ["liquid oxygen"], [None], "oxygen_enriched", "cannot_tell", "floor_not_noted",
        id="cold oxygen lies low",
    ),
    pytest.param(
        ["sulfuric acid"], [None], "oxygen_deficient", "not_found", None,
        id="what gives no vapour displaces nothing",
    ),
    pytest.param(
        ["carbon dioxide"], [None], "flammable_atmosphere", "not_found", None,
        id="carbon dioxide does not burn",
    ),
    pytest.param(
        ["lng"], ["floor"], "flammable_atmosphere", "cannot_tell", "head_not_read",
        id="liquefied natural gas, floor: it rises once it is warm",
    ),
    pytest.param(
        ["lng"], ["floor", "head"], "flammable_atmosphere", "not_found", None,
        id="liquefied natural gas, both",
    ),
    pytest.param(
        ["methane"], ["floor"], "flammable_atmosphere", "cannot_tell", "head_not_read",
        id="methane, floor",
    ),
    pytest.param(
        ["methane"], ["waist", "floor"], "flammable_atmosphere", "cannot_tell",
        "head_not_read", id="methane, waist and floor",
    ),
    pytest.param(
        ["methane"], ["head"], "flammable_atmosphere", "cannot_tell", "floor_not_read",
        id="methane, head: something else may lie low",
    ),
    pytest.param(
        ["methane"], ["head", "floor"], "flammable_atmosphere", "not_found", None,
        id="methane, both",
    ),
    pytest.param(
        ["methane"], [None], "flammable_atmosphere", "not_found", None,
        id="methane, not noted: held upright, as the contract's examples are",
    ),
    pytest.param(
        ["propane", "methane"], ["floor"], "flammable_atmosphere", "cannot_tell",
        "head_not_read", id="one that sinks, one that rises, floor",
    ),
    pytest.param(
        ["propane", "methane"], ["floor", "head"], "flammable_atmosphere", "not_found",
        None, id="one that sinks, one that rises, both",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("suspects", "heights", "hazard", "status", "key"), CASES)
def test_what_the_heights_read_come_to(suspects, heights, hazard, status, key):
    log = [read(n / 10, height) for n, height in enumerate(heights)]
    row = judge(worksheet(*log, suspects=suspects)).row(hazard)

    assert row["status"] == status
    if key:
        assert keys_of(row)[0] == key
        assert row["next_check"] == next_step(row["because"]) != ""
    else:
        assert row["next_check"] == ""


def test_the_reason_names_the_height_and_what_would_lie_there():
    log = [read(0, "waist"), read(0.1, "head")]
    heavy = judge(worksheet(*log, suspects=["propane", "methane"]))
    unknown = judge(worksheet(*log))

    assert heavy.row("flammable_atmosphere")["because"] == (
        "read only at the waist and at head height, and propane would lie at the floor"
    )
    assert (
        "a heavy or cold gas would lie at the floor"
        in (unknown.row("oxygen_deficient")["because"])
    )
    assert unknown.row("oxygen_deficient")["next_check"].startswith(
        "Hold the probe at the floor"
    )


def test_a_cell_must_be_held_where_its_gas_would_lie():
    """Chlorine at the floor, ammonia high up: each cell for itself."""
    suspects = ["chlorine", "ammonia"]
    both = {"chlorine": 0, "ammonia": 0}
    at_head = judge(worksheet(read(0, "head", gases=both), suspects=suspects))
    apart = judge(
        worksheet(
            read(0, "floor", gases={"chlorine": 0}),
            read(1, "head", gases={"ammonia": 0}),
            suspects=suspects,
        )
    )
    swapped = judge(
        worksheet(
            read(0, "floor", gases={"ammonia": 0}),
            read(1, "head", gases={"chlorine": 0}),
            suspects=suspects,
        )
    )

    assert at_head.status("toxic_gas") == "cannot_tell"
    assert apart.status("toxic_gas") == "not_found"
    assert swapped.status("toxic_gas") == "cannot_tell"
    because = swapped.row("toxic_gas")["because"]
    assert "read only at head height, and chlorine would lie at the floor" in because
    assert "read only at the floor, and ammonia would gather under the ceil" in because


# --- Each height has its age ----------------------------------------------------------


@pytest.mark.parametrize("hazard", FOUR)
def test_the_older_of_two_heights_goes_out_of_date_first(hazard):
    document = worksheet(read(0, "floor"), read(4, "head"))

    assert judge(document, 4.5).status(hazard) == "not_found"
    assert judge(document, 5).status(hazard) == "not_found"
    late = judge(document, 5.1).row(hazard)
    assert late["status"] == "out_of_date"
    assert late["because"].startswith("5 min ago, counts for 5 min: ")
    assert late["next_check"]


def test_the_age_in_front_is_that_of_the_reading_it_rests_on():
    document = worksheet(read(0, "floor"), read(3, "head"), suspects=["methane"])

    row = judge(document, 4).row("flammable_atmosphere")

    assert row["because"] == (
        "4 min ago: LEL 0 % with oxygen 20.9 %; head height was read 60 s ago"
    )


@pytest.mark.parametrize("hazard", FOUR)
def test_a_ventilation_asks_for_each_height_again(hazard):
    log = [read(0, "floor"), ventilate(1), read(2, "head")]

    assert judge(worksheet(*log)).status(hazard) == "out_of_date"
    assert judge(worksheet(*log, read(3, "floor"))).status(hazard) == "not_found"


def test_a_floor_read_elsewhere_says_nothing_here():
    log = [read(0, "floor", place="hall"), read(1, "head")]

    assert judge(worksheet(*log)).status("toxic_gas") == "cannot_tell"


def test_a_floor_read_by_another_team_counts():
    teams = [team(), team("entry-2")]
    log = [enter(0), read(1, "head"), read(2, "floor", team="entry-2")]

    assert judge(worksheet(*log, teams=teams)).status("toxic_gas") == "not_found"


@pytest.mark.parametrize("hazard", FOUR)
def test_the_heights_are_worked_out_anew_from_a_strike_a_late_entry_a_failed_bump_test(
    hazard,
):
    head, floor = read(2, "head", instrument="meter-1"), read(1, "floor")
    by_one = {**floor, "instrument": "meter-1"}
    struck = judge(worksheet(floor, head, strike(3, "e01")))
    late = worksheet(head)
    late["log"].append({**floor, "id": "late"})
    failed = judge(worksheet(by_one, head, bump(3, "meter-1", False)))

    assert judge(worksheet(floor, head)).status(hazard) == "not_found"
    assert struck.status(hazard) == "cannot_tell"
    assert judge(late).status(hazard) == "not_found"
    assert failed.status(hazard) == "cannot_tell"
    assert "meter-1 failed a bump test" in failed.row(hazard)["because"]


def test_an_instrument_in_doubt_covers_no_height():
    stale = {
        "id": "meter-1", "kind": "gas_meter", "sensors": ["lel", "oxygen"],
        "last_bump_test": "2026-03-03T08:00:00-05:00",
    }  # fmt: skip
    log = [read(0, "head"), read(1, "floor", instrument="meter-1")]
    row = judge(worksheet(*log, instruments=[stale])).row("oxygen_deficient")

    assert row["status"] == "cannot_tell"
    assert keys_of(row) == ["bump_not_today"]


def test_a_doubt_sets_the_heights_back():
    """Rule 12: whatever was read before the air changed."""
    log = [read(0, "floor"), meter(1, 0, 19, height="head")]
    again = judge(worksheet(*log, read(2, "head")))
    after = judge(worksheet(*log, read(2, "head"), read(3, "floor")))

    assert judge(worksheet(*log)).status("flammable_atmosphere") == "cannot_tell"
    assert again.status("flammable_atmosphere") == "cannot_tell"
    assert after.status("flammable_atmosphere") == "not_found"


# --- Cautions end, and clears hold, where it was found --------------------------------

FOUND = [
    pytest.param({"lel": 5}, "flammable_atmosphere", id="LEL"),
    pytest.param({"oxygen": 20.4}, "oxygen_deficient", id="oxygen drop"),
    pytest.param({"oxygen": 21.5}, "oxygen_enriched", id="oxygen rise"),
    pytest.param({"gases": {"ammonia": 30}}, "toxic_gas", id="ammonia"),
]
HEIGHTS = ("floor", "waist", "head")


@pytest.mark.parametrize(("figures", "hazard"), FOUND)
@pytest.mark.parametrize(
    ("found", "again"), [*itertools.product(HEIGHTS, (*HEIGHTS, None))]
)
def test_a_caution_ends_where_it_was_found_and_never_without_the_floor(
    figures, hazard, found, again
):
    quiet = read(1, again, gases={"ammonia": 0})
    seen = judge(worksheet(meter(0, **{"oxygen": 20.9} | figures, height=found), quiet))

    ends = found == again == "floor"
    assert seen.on(hazard) == (None if ends else "caution")


@pytest.mark.parametrize(("figures", "hazard"), FOUND)
def test_a_caution_found_high_up_ends_once_both_heights_were_read(figures, hazard):
    log = [
        meter(0, **{"oxygen": 20.9} | figures, height="head"),
        read(1, "head", gases={"ammonia": 0}),
        read(2, "floor", gases={"ammonia": 0}),
    ]

    assert judge(worksheet(*log)).on(hazard) is None
    assert judge(worksheet(*reversed_in_time(log))).on(hazard) is None


def reversed_in_time(log):
    """The find first, the quiet heights in the other order."""
    first, second, third = log
    return [first, {**third, "at": second["at"]}, {**second, "at": third["at"]}]


def test_a_weaker_find_high_up_does_not_stand_for_the_floor():
    log = [meter(0, 9, 20.9, height="floor"), meter(1, 2, 20.9, height="head")]
    seen = judge(worksheet(*log))
    after = judge(worksheet(*log, read(2, "head")))

    assert {f["because"][:7] for f in seen.findings("flammable_atmosphere")} == {
        "LEL 9 %", "LEL 2 %",
    }  # fmt: skip
    assert after.status("flammable_atmosphere") == "found"


CLEARED = [
    pytest.param([], "floor", ["floor"], True, id="found and read at the floor"),
    pytest.param([], "floor", ["head"], False, id="found at the floor, read high up"),
    pytest.param([], "floor", [None], False, id="found at the floor, not noted where"),
    pytest.param([], "head", ["head", "floor"], True, id="found high up, both read"),
    pytest.param([], "head", ["floor"], False, id="found high up, read at the floor"),
    pytest.param([], None, [None], True, id="no height noted at all"),
    pytest.param([], None, ["head"], False, id="read high up only"),
    pytest.param(["propane"], None, [None], False, id="propane, not noted"),
    pytest.param(["propane"], None, ["floor"], True, id="propane, floor"),
    pytest.param(["methane"], None, ["floor"], False, id="methane, floor"),
    pytest.param(["methane"], None, ["floor", "head"], True, id="methane, both"),
]


@pytest.mark.parametrize(("suspects", "found", "again", "holds"), CLEARED)
def test_a_clear_waits_for_the_heights_and_names_the_step(
    suspects, found, again, holds
):
    log = [enter(0), meter(1, 12, 20.9, height=found), leave(2)]
    log += [read(3 + n / 10, height) for n, height in enumerate(again)]
    decision = {**clear(5, "flammable_atmosphere"), "id": "decision"}
    seen = judge(worksheet(*log, decision, suspects=suspects))
    said = seen.entry("decision")["findings"]

    assert seen.on("flammable_atmosphere") == (None if holds else "withdraw")
    assert bool(said) is not holds
    if not holds:
        assert said[0]["advice"], said
        assert "read the gas meter again" in said[0]["advice"][0].lower()
