"""What nothing read so far would have shown: the suspects, and what spoils or hides."""

import pytest

from screening.methods import next_step, recognise
from tests.engine.documents import (
    bump,
    clear,
    entry,
    judge,
    ki,
    leave,
    meter,
    ph,
    ventilate,
    worksheet,
)

FOUR_GAS = {"lel": 0, "oxygen": 20.9, "co_ppm": 0, "h2s_ppm": 0, "height": "floor"}
METER = {
    "id": "meter-1", "kind": "gas_meter", "sensors": ["lel", "oxygen", "co", "h2s"],
    "last_bump_test": "2026-03-04T08:00:00-05:00", "calibration_due": "2026-06-01",
}  # fmt: skip


def read(minutes, **figures):
    return meter(minutes, **FOUR_GAS | figures)


def gas(minutes, name, ppm=0, height="floor", **fields):
    """A cell or a detector tube for one gas."""
    return meter(minutes, gases={name: ppm}, height=height, **fields)


def voc(minutes, lamp=10.6, ppm=0, height="floor", **fields):
    return meter(minutes, voc_ppm=ppm, lamp_ev=lamp, height=height, **fields)


def keys_of(row):
    return [said.sentence.key for said in recognise(row["because"])]


def says(row, key, words=""):
    """Cannot tell for this reason first, with a step of its own."""
    assert row["status"] == "cannot_tell", row
    assert keys_of(row)[0] == key, row
    assert words in row["because"]
    assert row["next_check"]
    assert next_step(row["because"]) in ("", row["next_check"])


# --- Poisons that no sensor of the set is for -----------------------------------------

# Suspects, readings, status of toxic gas, first key where it is open.
POISONS = [
    pytest.param(["chlorine"], [read(0)], "suspect_not_measured", id="no cell for it"),
    pytest.param(["chlorine"], [read(0), gas(1, "chlorine")], None, id="a tube for it"),
    pytest.param(["chlorine"], [gas(0, "Cl2")], None, id="by another name"),
    pytest.param(
        ["chlorine", "phosgene"], [read(0), gas(1, "chlorine")], "suspect_not_measured",
        id="one of two",
    ),
    pytest.param(
        ["chlorine", "phosgene"], [read(0), gas(1, "chlorine"), gas(2, "phosgene")],
        None, id="both, one after the other",
    ),
    pytest.param(["carbon monoxide"], [read(0)], None, id="it has the cell"),
    pytest.param(["CO"], [read(0)], None, id="it has the cell, by formula"),
    pytest.param(
        ["sulfuric acid"], [read(0)], None, id="gives no vapour to measure"
    ),
    pytest.param(["something in drums"], [read(0)], "suspect_unknown", id="not known"),
    pytest.param(
        ["something in drums"], [read(0), gas(1, "something in drums")], None,
        id="not known, yet measured",
    ),
    pytest.param(["liquid nitrogen"], [read(0)], None, id="no poison"),
    # Lamps: ammonia 10.18 eV, hydrogen chloride 12.74.
    pytest.param(
        ["toluene"], [read(0, lel=None), voc(1)], None, id="the lamp sees it"
    ),
    pytest.param(
        ["hydrogen chloride"], [read(0), voc(1)], "suspect_not_measured",
        id="the lamp is too weak",
    ),
    pytest.param(
        ["toluene"], [read(0, lel=None), voc(1, lamp=None)], "suspect_not_measured",
        id="the lamp is not recorded",
    ),
    pytest.param(
        ["hydrogen peroxide"], [read(0), voc(1, lamp=11.7)], "suspect_not_measured",
        id="the lamp sees it only weakly",
    ),
    pytest.param(
        ["toluene"], [voc(0)], "voc_alone", id="the lamp sees it, and no cell was read"
    ),
    # 1 % of the lower limit: propane 210 ppm of 2,100, hydrogen sulfide 400 of 100,
    # methanol 600 of a short-term limit of 250.
    pytest.param(["propane"], [read(0)], None, id="LEL shows it in time"),
    pytest.param(
        ["propane"], [read(0, lel=None)], "suspect_not_measured", id="no LEL either"
    ),
    pytest.param(
        ["propane"], [read(0, oxygen=None)], "suspect_not_measured",
        id="LEL without oxygen",
    ),
    pytest.param(
        ["hydrogen sulfide"], [read(0, h2s_ppm=None)], "suspect_not_measured",
        id="LEL shows it too late",
    ),
    pytest.param(
        ["methanol"], [read(0)], "suspect_not_measured", id="LEL shows it over a limit"
    ),
]  # fmt: skip


@pytest.mark.parametrize(("suspects", "log", "key"), POISONS)
def test_a_suspect_is_open_until_something_that_sees_it_was_read(suspects, log, key):
    row = judge(worksheet(*log, suspects=suspects)).row("toxic_gas")

    if key is None:
        assert row["status"] == "not_found", row
    else:
        says(row, key)


def test_a_suspect_named_twice_counts_once():
    log = [read(0), gas(1, "ammonia", height="head")]
    seen = judge(worksheet(*log, suspects=["ammonia", "NH3", "anhydrous ammonia"]))

    assert seen.status("toxic_gas") == "not_found"


def test_the_names_stand_together_in_one_sentence():
    row = judge(worksheet(read(0), suspects=["chlorine", "phosgene"])).row("toxic_gas")

    assert row["because"] == "chlorine or phosgene, suspected here, was not measured"
    assert row["next_check"].startswith("Measure chlorine or phosgene with a cell")


def test_moist_air_takes_the_lamp_away():
    log = [read(0, lel=None), voc(1)]
    dry = judge(worksheet(*log, suspects=["toluene"], humidity=90))
    moist = judge(worksheet(*log, suspects=["toluene"], humidity=91))

    assert dry.status("toxic_gas") == "not_found"
    says(moist.row("toxic_gas"), "suspect_not_measured", "toluene")


def test_a_figure_of_the_lamp_that_is_not_quiet_covers_nothing():
    log = [read(0, lel=None), voc(1, ppm=5)]
    seen = judge(worksheet(*log, suspects=["toluene"]))

    assert seen.on("toxic_gas") == "caution"
    assert seen.status("toxic_gas") == "found"


def test_each_gas_has_its_age():
    document = worksheet(gas(0, "chlorine"), read(3), suspects=["chlorine"])

    assert judge(document, 4).status("toxic_gas") == "not_found"
    assert (
        "chlorine was read 4 min ago"
        in (judge(document, 4).row("toxic_gas")["because"])
    )
    late = judge(document, 6).row("toxic_gas")
    assert late["status"] == "out_of_date"
    assert late["because"].startswith("6 min ago, counts for 5 min: chlorine measured")


def test_a_caution_on_one_gas_ends_by_its_own_cell_and_the_suspect_stays_open():
    log = [gas(0, "ammonia", 30, height=None), gas(1, "ammonia", height=None)]
    seen = judge(worksheet(*log, suspects=["chlorine"]))

    assert seen.on("toxic_gas") is None
    says(seen.row("toxic_gas"), "suspect_not_measured", "chlorine")


def test_a_caution_on_one_gas_is_not_ended_by_another_cell():
    log = [gas(0, "ammonia", 30, height=None), meter(1, co_ppm=0)]

    assert judge(worksheet(*log)).on("toxic_gas") == "caution"


@pytest.mark.parametrize(
    ("log", "suspects", "holds", "step"),
    [
        pytest.param(
            [meter(1, co_ppm=0), gas(2, "ammonia", height=None)], [], True, "",
            id="both read again, one after the other",
        ),
        pytest.param(
            [meter(1, co_ppm=0)], [], False, "Read ammonia again", id="one read again"
        ),
        pytest.param(
            [meter(1, co_ppm=0), gas(2, "ammonia", height=None)], ["chlorine"], False,
            "Measure chlorine", id="a suspect was never measured",
        ),
        pytest.param(
            [meter(1, co_ppm=0), gas(2, "ammonia", height=None), gas(3, "chlorine")],
            ["chlorine"], True, "", id="the suspect was measured",
        ),
        pytest.param(
            [meter(1, co_ppm=0), gas(2, "ammonia", height=None)], ["stuff"], True, "",
            id="nobody can say what would show the suspect",
        ),
        pytest.param(
            [meter(1, co_ppm=0), gas(2, "ammonia", 400, height=None)], [], False, "",
            id="still at the limit",
        ),
    ],
)  # fmt: skip
def test_a_clear_of_toxic_gas_waits_for_each_gas_and_names_the_step(
    log, suspects, holds, step
):
    found = meter(0, co_ppm=1300, gases={"ammonia": 400})
    decision = {**clear(4, "toxic_gas"), "id": "decision"}
    seen = judge(worksheet(found, *log, leave(3), decision, suspects=suspects))
    said = seen.entry("decision")["findings"]

    assert seen.on("toxic_gas") == (None if holds else "stop")
    assert bool(said) is not holds
    assert not step or any(step in line for line in said[0]["advice"])


@pytest.mark.parametrize(
    ("log", "key"),
    [
        pytest.param([meter(0, h2s_ppm=0)], "cell_hidden", id="the hidden cell alone"),
        pytest.param([read(0)], "suspect_not_measured", id="the hider not measured"),
        pytest.param(
            [read(0, gases={"nitrogen dioxide": 0})], None, id="in the same set"
        ),
        pytest.param(
            [read(0), gas(1, "nitrogen dioxide")], None, id="the hider's own cell"
        ),
    ],
)
def test_a_gas_that_hides_another_from_its_cell(log, key):
    """Nitrogen dioxide pulls the H2S cell down (row C39)."""
    row = judge(worksheet(*log, suspects=["nitrogen dioxide"])).row("toxic_gas")

    if key is None:
        assert row["status"] == "not_found", row
    else:
        says(row, key, "nitrogen dioxide")


def test_a_hidden_cell_ends_no_caution_of_its_gas():
    log = [meter(0, h2s_ppm=4, co_ppm=4), meter(1, h2s_ppm=0, co_ppm=0)]
    hidden = judge(worksheet(*log, suspects=["nitrogen dioxide"], ensemble="level_c"))
    plain = judge(worksheet(*log, ensemble="level_c"))

    said = [found["because"] for found in hidden.findings("toxic_gas")]
    assert [words[:16] for words in said] == ["Hydrogen sulfide"]
    assert plain.findings("toxic_gas") == []


# --- What an LEL sensor may be blind to -----------------------------------------------


def with_factor(**fields):
    return {**METER, **fields}


@pytest.mark.parametrize(
    ("suspect", "log", "instrument", "key"),
    [
        pytest.param(
            "hydrogen", [read(0), read(1, height="head")], METER,
            "lel_infrared_hydrogen", id="hydrogen",
        ),
        pytest.param(
            "hydrogen", [read(0), read(1, height="head")],
            with_factor(lel_basis="Hydrogen"), None, id="calibrated with hydrogen",
        ),
        pytest.param(
            "hydrogen", [read(0), read(1, height="head")],
            with_factor(correction_factors={"H2": 1.2}), None,
            id="a factor for hydrogen",
        ),
        pytest.param(
            "hydrogen", [read(0), read(1, height="head"), gas(2, "hydrogen", height="head")],
            METER, None, id="a cell for hydrogen",
        ),
        pytest.param(
            "acetylene", [read(0), read(1, height="head")], METER,
            "lel_infrared_acetylene", id="acetylene",
        ),
        pytest.param(
            "acetylene", [read(0), read(1, height="head")],
            with_factor(correction_factors={"acetylene": 1.8}), None,
            id="a factor for acetylene",
        ),
        pytest.param("diesel", [read(0)], METER, "lel_heavy_oil", id="diesel"),
        pytest.param("diesel", [read(0), voc(1)], METER, None, id="diesel, a lamp too"),
        pytest.param(
            "diesel", [read(0), voc(1, lamp=9.8)], METER, "lel_heavy_oil",
            id="diesel, a weak lamp",
        ),
    ],
)  # fmt: skip
def test_what_the_lel_sensor_may_not_see(suspect, log, instrument, key):
    lines = [{**line, "instrument": "meter-1"} for line in log]
    seen = judge(worksheet(*lines, suspects=[suspect], instruments=[instrument]))
    row = seen.row("flammable_atmosphere")

    if key is None:
        assert row["status"] == "not_found", row
    else:
        says(row, key)


@pytest.mark.parametrize(
    ("instruments", "log", "key"),
    [
        pytest.param([METER], [read(1, instrument="meter-1")], None, id="bumped today"),
        pytest.param([METER], [read(1)], "lel_maybe_spoiled", id="which meter?"),
        pytest.param(
            [{"id": "meter-1", "kind": "gas_meter"}], [read(1, instrument="meter-1")],
            "lel_maybe_spoiled", id="no bump test known",
        ),
        pytest.param(
            None, [bump(0, "the old one", True), read(1, instrument="the old one")],
            None, id="bumped on scene, not listed",
        ),
        pytest.param(
            [METER],
            [read(1, instrument="meter-1"), bump(2, "meter-1", False)],
            "bump_failed_after", id="failed after use",
        ),
    ],
)  # fmt: skip
def test_a_suspect_that_spoils_the_sensor_asks_for_a_bump_test(instruments, log, key):
    seen = judge(worksheet(*log, suspects=["chlorine"], instruments=instruments))
    row = seen.row("flammable_atmosphere")

    if key is None:
        assert row["status"] == "not_found"
        assert "chlorine can spoil the sensor: bump-test it after" in row["because"]
    else:
        says(row, key)
    assert seen.status("oxygen_deficient") in ("cannot_tell", "not_found")


# --- Spoiled, and so noted ------------------------------------------------------------

NOTED = read(0, note="bead poisoned by silicone spray", instrument="meter-1")


@pytest.mark.parametrize(
    ("log", "key"),
    [
        pytest.param([NOTED], "spoiled_noted", id="the reading itself"),
        pytest.param(
            [NOTED, read(1, instrument="meter-1")], "spoiled_before",
            id="the same meter, without the note",
        ),
        pytest.param([NOTED, read(1)], "spoiled_before", id="a meter without a name"),
        pytest.param([NOTED, read(1, instrument="meter-2")], None, id="another meter"),
        pytest.param(
            [NOTED, read(1, team="entry-2", instrument="meter-1")], "spoiled_before",
            id="handed to another team",
        ),
        pytest.param(
            [NOTED, bump(1, "meter-1", True), read(2, instrument="meter-1")], None,
            id="passed a bump test since",
        ),
        pytest.param(
            [NOTED, bump(1, "meter-1", False), read(2, instrument="meter-1")],
            "spoiled_before", id="failed one since",
        ),
        pytest.param(
            [NOTED, leave(1), read(2, instrument="meter-1")], "spoiled_before",
            id="going out heals nothing",
        ),
        pytest.param(
            [read(0, note="sensor fouled"), read(1)], "spoiled_before",
            id="no name at all",
        ),
        pytest.param(
            [read(0, note="sensor fouled"), bump(1, "meter-1", True),
             read(2, instrument="meter-1")],
            None, id="no name, then a meter that passed",
        ),
    ],
)  # fmt: skip
def test_a_sensor_that_is_noted_as_spoiled_says_nothing_until_a_bump_test(log, key):
    from tests.engine.documents import team

    teams = [team(), team("entry-2")]
    meters = [METER, {**METER, "id": "meter-2"}]
    row = judge(worksheet(*log, teams=teams, instruments=meters)).row(
        "flammable_atmosphere"
    )

    if key is None:
        assert row["status"] == "not_found", row
    else:
        says(row, key)


def test_a_spoiled_bead_says_nothing_of_the_other_cells_and_finds_as_ever():
    quiet = judge(worksheet(NOTED, instruments=[METER]))
    finding = judge(worksheet({**NOTED, "lel_percent": 12}, instruments=[METER]))

    assert quiet.status("oxygen_deficient") == "not_found"
    assert quiet.status("toxic_gas") == "not_found"
    assert finding.action() == "withdraw"


def test_a_clear_needs_a_sensor_that_is_not_spoiled_and_names_the_step():
    log = [meter(0, 12, 20.9), leave(1), read(2, note="LEL sensor poisoned")]
    decision = {**clear(3, "flammable_atmosphere"), "id": "decision"}
    seen = judge(worksheet(*log, decision))

    assert seen.on("flammable_atmosphere") == "withdraw"
    (said,) = seen.entry("decision")["findings"]
    assert "the latest reading that can tell gives withdraw" in said["because"]
    assert said["advice"][0].startswith("Bump-test the meter")


# --- Papers that a suspect keeps from showing -----------------------------------------


def touched(minutes, paper=ph, *args, **fields):
    return paper(minutes, *args, sample="liquid", moistened=None, **fields)


PAPERS = [
    pytest.param(
        ["sulfuric acid"], [ph(0, 7)], "acid_vapour", "ph_no_vapour",
        id="an acid without vapour",
    ),
    pytest.param(
        ["sulfuric acid"], [ph(0, 7)], "base_vapour", None, id="which is no base"
    ),
    pytest.param(
        ["lye"], [ph(0, 7)], "base_vapour", "ph_no_vapour", id="a base without vapour"
    ),
    pytest.param(["lye"], [ph(0, 7)], "acid_vapour", None, id="which is no acid"),
    pytest.param(
        ["sulfuric acid"], [ph(0, 7), touched(1, ph, 7)], "acid_vapour", None,
        id="the liquid touched as well",
    ),
    pytest.param(
        ["sulfuric acid"], [touched(0, ph, 1), ph(1, 7)], "acid_vapour", None,
        id="the liquid found to be acid: the air is not",
    ),
    pytest.param(
        ["sulfuric acid"], [touched(0, ph, 7)], "acid_vapour", "liquid_not_air",
        id="the liquid alone",
    ),
    pytest.param(
        ["hydrogen peroxide"], [ki(0)], "oxidiser_vapour", "ki_little_vapour",
        id="peroxide",
    ),
    pytest.param(
        ["hydrogen peroxide"], [ki(0), touched(1, ki, edge_checked=True)],
        "oxidiser_vapour", None, id="peroxide, a drop touched",
    ),
    pytest.param(
        ["hydrogen peroxide"], [ki(0), touched(1, ki)], "oxidiser_vapour",
        "liquid_not_air", id="peroxide, a drop touched, edge not looked at",
    ),
    pytest.param(["chlorine"], [ki(0)], "oxidiser_vapour", None, id="chlorine shows"),
    pytest.param(
        ["sulfur dioxide"], [ki(0)], "oxidiser_vapour", "ki_reduced", id="a reducer"
    ),
    pytest.param(
        ["hydrogen sulfide"], [ki(0), read(1)], "oxidiser_vapour", None,
        id="a reducer that is measured and not there",
    ),
    pytest.param(
        ["hydrogen sulfide"], [read(0), ki(1)], "oxidiser_vapour", None,
        id="measured before",
    ),
    pytest.param(
        ["ammonia", "hydrogen chloride"], [ph(0, 7)], "acid_vapour", "ph_cancelled",
        id="acid and base in one air",
    ),
    pytest.param(
        ["ammonia", "hydrogen chloride"], [ph(0, 7), voc(1)], "acid_vapour", None,
        id="the lamp sees no ammonia, so nothing is cancelled",
    ),
    pytest.param(
        ["ammonia", "hydrogen chloride"], [ph(0, 7), gas(1, "hydrogen chloride")],
        "base_vapour", None, id="a tube shows no acid, so nothing is cancelled",
    ),
    pytest.param(
        ["ammonia", "sulfuric acid"], [ph(0, 7)], "base_vapour", None,
        id="an acid without vapour cancels nothing",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("suspects", "log", "hazard", "key"), PAPERS)
def test_a_strip_that_the_suspect_would_not_turn(suspects, log, hazard, key):
    row = judge(worksheet(*log, suspects=suspects)).row(hazard)

    if key is None:
        assert row["status"] == "not_found", row
    else:
        says(row, key)


def test_a_liquid_does_not_change_as_the_air_does():
    log = [touched(0, ph, 7), ventilate(1), ph(30, 7)]

    assert judge(worksheet(*log, suspects=["lye"])).status("base_vapour") == "not_found"


def test_what_is_measured_against_a_strip_has_its_age():
    document = worksheet(read(0), ki(4), suspects=["hydrogen sulfide"])

    assert judge(document, 5).status("oxidiser_vapour") == "not_found"
    assert judge(document, 6).status("oxidiser_vapour") == "out_of_date"


@pytest.mark.parametrize(
    ("suspects", "found", "quiet", "hazard", "holds"),
    [
        pytest.param(
            ["sulfuric acid"], ph(0, 2), [ph(1, 7)], "acid_vapour", True,
            id="the strip found it, so it sees it",
        ),
        pytest.param(
            ["hydrogen peroxide"], ki(0, "blue_black"), [ki(1)], "oxidiser_vapour",
            True, id="likewise KI-starch",
        ),
        pytest.param(
            ["sulfur dioxide"], ki(0, "blue_black"), [ki(1)], "oxidiser_vapour", False,
            id="a reducer may hide it now",
        ),
        pytest.param(
            ["sulfur dioxide"], ki(0, "blue_black"), [ki(1), gas(2, "sulfur dioxide")],
            "oxidiser_vapour", True, id="the reducer is measured",
        ),
        pytest.param(
            ["ammonia", "hydrogen chloride"], ph(0, 2), [ph(1, 7)], "acid_vapour",
            False, id="a base may cancel it now",
        ),
        pytest.param(
            ["ammonia", "hydrogen chloride"], ph(0, 2), [ph(1, 7), voc(2)],
            "acid_vapour", True, id="the base is measured",
        ),
    ],
)  # fmt: skip
def test_a_clear_of_what_a_strip_found(suspects, found, quiet, hazard, holds):
    decision = {**clear(4, hazard), "id": "decision"}
    seen = judge(worksheet(found, *quiet, decision, suspects=suspects))

    assert seen.on(hazard) == (None if holds else "stop")
    if not holds:
        assert seen.entry("decision")["findings"][0]["advice"]


def test_rule_33_names_what_cannot_be_told():
    log = [
        entry("enter", 0), read(5, height="head"), ph(5, 7),
        entry("dosimeter", 5, alarm=False),
    ]  # fmt: skip
    high = judge(worksheet(*log), 6)
    low = judge(worksheet(*log, read(5.5)), 6)

    assert high.on("monitoring") == "caution"
    assert "flammable atmosphere" in high.said("monitoring")
    assert "oxygen" in high.said("monitoring")
    assert low.on("monitoring") is None
