"""Rows of the table of methods that a gas meter can meet, each by a worksheet."""

import pytest

from screening.methods import by_id, recognise
from screening.methods.beyond import beyond_our_tools
from screening.planning import displaced_air
from tests.engine.documents import (
    bump,
    clear,
    enter,
    entry,
    judge,
    leave,
    meter,
    ph,
    refused,
    sign,
    team,
    worksheet,
)
from tests.screening.test_beyond_our_tools import instrument, parsed
from tests.screening.test_observed import weights

METER_HAZARDS = (
    "flammable_atmosphere", "oxygen_enriched", "oxygen_deficient", "toxic_gas",
)  # fmt: skip
FOUR_GAS = {"lel": 0, "oxygen": 20.9, "co_ppm": 0, "h2s_ppm": 0, "height": "floor"}


def four_gas(minutes=0, **figures):
    return meter(minutes, **FOUR_GAS | figures)


def beyond(*instruments, suspects=()):
    document = worksheet(enter(0), instruments=instruments, suspects=suspects)
    return {blind.key: blind for blind in beyond_our_tools(parsed(document).context)}


def row_behind(row):
    return recognise(row["because"])[0].row


def test_c16_no_lamp_sees_hydrogen_fluoride():
    assert "15.98 eV" in by_id("C16").never_when
    line = four_gas(voc_ppm=0, lamp_ev=11.7)
    row = judge(worksheet(line, suspects=["hydrogen fluoride"])).row("toxic_gas")

    assert row["status"] == "cannot_tell"
    assert row["because"].startswith("hydrogen fluoride, suspected here, was not meas")
    assert weights(line)["hydrogen fluoride"].weight == "not_seen"


def test_c24_no_sensor_sees_mist_or_dust_however_many_are_carried():
    all_of_them = instrument(
        "gas_meter", "lel", "oxygen", "co", "h2s", "voc", lamp_ev=11.7
    )

    found = beyond(all_of_them)["C24"]

    assert found.because == by_id("C24").never_when
    assert "5 ft" in found.would_see


@pytest.mark.parametrize(
    ("suspect", "ppm", "seen"),
    [
        # Lower limit in % by volume times 100 is the ppm at 1 % LEL.
        pytest.param("propane", 210, True, id="propane, IDLH 2,100"),
        pytest.param("hydrogen cyanide", 560, False, id="hydrogen cyanide, IDLH 50"),
        pytest.param("ethylene oxide", 300, False, id="ethylene oxide, ceiling 5"),
    ],
)
def test_c25_a_quiet_lel_sensor_may_stand_in_air_over_a_limit(suspect, ppm, seen):
    assert "over the IDLH" in by_id("C25").never_when
    lines = [four_gas(), four_gas(1, height="head")]
    said = [said.because for said in weights(four_gas())[suspect].said]

    assert any(f"{ppm} ppm" in because for because in said), said
    assert judge(worksheet(*lines, suspects=[suspect])).status("toxic_gas") == (
        "not_found" if seen else "cannot_tell"
    )
    assert judge(worksheet(meter(0, 0, 20.9))).status("toxic_gas") == "not_checked"


def test_c29_no_lamp_ionises_methane_and_the_lel_sensor_does_the_work():
    assert "No lamp ionises methane" in by_id("C29").never_when
    by_lamp = meter(0, voc_ppm=0, lamp_ev=11.7)

    assert weights(by_lamp)["methane"].weight == "not_seen"
    assert judge(worksheet(by_lamp)).status("flammable_atmosphere") == "not_checked"
    assert "suspect: methane" in beyond(
        instrument("gas_meter", "voc", lamp_ev=11.7), suspects=["methane"]
    )
    assert "suspect: methane" not in beyond(
        instrument("gas_meter", "lel", "voc", lamp_ev=11.7), suspects=["methane"]
    )


def test_c31_oxygen_as_in_fresh_air_says_nothing_of_a_poison():
    assert "20.9 %" in by_id("C31").never_when
    seen = judge(worksheet(meter(0, oxygen=20.9)))

    assert seen.status("oxygen_deficient") == "not_found"
    assert seen.status("toxic_gas") == "not_checked"
    # 0.1 of 20.9 is 0.478 % of the air: "about 5,000 ppm of something else"
    assert 4_700 < displaced_air(20.8) * 10_000 < 5_000
    assert "ppm of something else" in (
        judge(worksheet(meter(0, oxygen=20.4))).said("oxygen_deficient")
    )


def test_c32_the_cloth_keeps_the_oxygen_when_the_air_is_normal_again():
    assert "the cloth is not" in by_id("C32").cannot_when
    log = [enter(0), meter(1, oxygen=24), meter(2, oxygen=20.9)]
    seen = judge(worksheet(*log))

    assert seen.on("oxygen_enriched") == "withdraw"
    assert "air it outside" in seen.said("oxygen_enriched")


@pytest.mark.parametrize(
    ("row_id", "suspect", "hazard"),
    [
        ("C33", "liquid oxygen", "oxygen_enriched"),
        ("C34", "liquid nitrogen", "oxygen_deficient"),
        ("C34", "argon", "oxygen_deficient"),
        ("C34", "carbon dioxide", "oxygen_deficient"),
    ],
)
def test_c33_c34_cold_gas_lies_below_the_probe(row_id, suspect, hazard):
    assert "head height" in by_id(row_id).method
    up, down = (
        meter(0, oxygen=20.9, height="head"),
        meter(1, oxygen=20.9, height="floor"),
    )
    row = judge(worksheet(up, suspects=[suspect])).row(hazard)

    assert row["status"] == "cannot_tell"
    assert f"{suspect} would lie at the floor" in row["because"]
    both = judge(worksheet(up, down, suspects=[suspect]))
    assert both.status(hazard) == "not_found"


def test_c37_the_nose_is_no_instrument_for_hydrogen_sulfide():
    """A sign covers nothing, and no odour cannot be logged at all."""
    assert "smell proves nothing" in by_id("C37").never_when
    smelled = sign(0, "odour", note="rotten eggs")

    assert judge(worksheet(smelled)).status("toxic_gas") == "not_checked"
    cell = worksheet(four_gas(), suspects=["hydrogen sulfide"])
    assert judge(cell).status("toxic_gas") == "not_found"


def test_c38_neither_cells_nor_lamp_show_hydrogen_cyanide():
    assert "no lamp sees it" in by_id("C38").never_when
    log = [
        four_gas(height=height, voc_ppm=0, lamp_ev=11.7) for height in ("floor", "head")
    ]
    tube = meter(1, gases={"HCN": 0}, height="head")
    row = judge(worksheet(*log, suspects=["hydrogen cyanide"])).row("toxic_gas")

    assert row["status"] == "cannot_tell"
    assert "hydrogen cyanide, suspected here, was not measured" in row["because"]
    after = judge(worksheet(*log, tube, suspects=["hydrogen cyanide"]))
    assert after.status("toxic_gas") == "not_found"


NOTES = [
    pytest.param("C40", "just switched on", id="switched on"),
    pytest.param("C40", "pump stalled for a while", id="pump"),
    pytest.param("C40", "water in the hose", id="water"),
    pytest.param("C40", "filter was clogged", id="filter"),
    pytest.param("C42", "zeroed in the corridor doorway", id="zeroed in the doorway"),
    pytest.param("C42", "zero was not in fresh air", id="not in fresh air"),
]


@pytest.mark.parametrize(("row_id", "note"), NOTES)
def test_c40_c42_a_meter_that_was_not_ready_says_nothing_by_being_quiet(row_id, note):
    quiet = judge(worksheet(four_gas(note=note)))

    for hazard in METER_HAZARDS:
        row = quiet.row(hazard)
        assert row["status"] == "cannot_tell"
        assert row_behind(row) is by_id(row_id)
        assert row["next_check"]
    assert judge(worksheet(four_gas(lel=12, note=note))).action() == "withdraw"


@pytest.mark.parametrize(
    "note",
    ["warmed up, zeroed upwind", "pump running", "at the hose reel", "filter new"],
)
def test_c40_c42_other_notes_say_nothing_against_a_meter(note):
    assert judge(worksheet(four_gas(note=note))).status("toxic_gas") == "not_found"


def test_c44_a_meter_outside_its_range_is_bump_tested_there():
    air = {"air_temperature": {"value": -20, "unit": "degC"}}
    bare = judge(worksheet(four_gas(), weather=air)).row("oxygen_deficient")
    tested = [bump(0, "m", True), four_gas(1, instrument="m")]

    assert (bare["status"], row_behind(bare)) == ("cannot_tell", by_id("C44"))
    assert "Bump-test the meter here" in bare["next_check"]
    assert judge(worksheet(*tested, weather=air)).status("oxygen_deficient") == (
        "not_found"
    )


def test_c45_one_height_is_not_the_others():
    row = judge(worksheet(four_gas(height="head"))).row("flammable_atmosphere")

    assert (row["status"], row_behind(row)) == ("cannot_tell", by_id("C45"))


def test_c62_no_cell_of_a_four_gas_meter_is_for_nerve_agents():
    found = beyond(instrument("gas_meter", "lel", "oxygen", "co", "h2s"))

    assert found["C62"].because == by_id("C62").never_when
    sarin = judge(worksheet(four_gas(), suspects=["sarin"])).row("toxic_gas")
    assert sarin["status"] == "cannot_tell"
    assert "sarin, suspected here, is not in the table" in sarin["because"]


def test_c63_the_gases_of_a_refrigerant_in_fire_pass_a_four_gas_meter():
    assert "unseen" in by_id("C63").never_when
    fire = ["phosgene", "hydrogen fluoride", "hydrogen chloride"]
    quiet = judge(worksheet(four_gas()))
    named = judge(worksheet(four_gas(), suspects=fire)).row("toxic_gas")

    assert quiet.status("acid_vapour") == "not_checked"
    assert quiet.status("fluoride_vapour") == "not_checked"
    assert named["status"] == "cannot_tell"
    for name in fire:
        assert name in named["because"]


def test_c67_an_alarm_that_did_not_sound_is_no_figure():
    """A meter's entry takes figures, and what was over range; no silence."""
    assert "not the alarm" in by_id("C67").next_step
    silent = entry("gas_meter", 0, alarm=False)

    assert "/log/0/alarm" in refused(worksheet(silent))


def test_c68_the_same_meter_twice_counts_as_one():
    """However often it is read, a blind spot stays one, and so does a fault."""
    assert "count as one" in by_id("C68").cannot_when
    stale = {
        "id": "m", "kind": "gas_meter", "last_bump_test": "2026-03-03T08:00:00-05:00",
    }  # fmt: skip
    often = [four_gas(n / 10, instrument="m") for n in range(12)]
    blind = [four_gas(n / 10) for n in range(12)]

    fault = judge(worksheet(*often, instruments=[stale]))
    spot = judge(worksheet(*blind, suspects=["chlorine"]))

    assert fault.status("oxygen_deficient") == "cannot_tell"
    assert spot.status("toxic_gas") == "cannot_tell"


def test_c68_a_second_meter_does_not_outvote_the_first():
    """The stricter stands while the finding one is in date, however many are quiet."""
    log = [meter(0, 5, 20.9, instrument="a")]
    log += [meter(1 + n, 0, 20.9, instrument=name) for n, name in enumerate("bcd")]
    seen = judge(worksheet(*log, teams=[team()]))

    assert seen.on("flammable_atmosphere") == "caution"
    assert "contradicting_instruments" in {
        finding["rule"] for finding in seen.entry("e04")["findings"]
    }


def test_w6_what_was_found_is_read_again_with_what_found_it():
    log = [meter(0, gases={"ammonia": 400}), leave(1), meter(2, co_ppm=0), ph(3, 7)]
    decision = {**clear(4, "toxic_gas"), "id": "decision"}
    seen = judge(worksheet(*log, decision))
    (said,) = seen.entry("decision")["findings"]

    assert seen.on("toxic_gas") == "stop"
    assert "ammonia was found here and not read again" in said["because"]
    assert by_id("W6").subject == "A gas found before"
    assert said["advice"] == ["Read ammonia again with what found it."]
