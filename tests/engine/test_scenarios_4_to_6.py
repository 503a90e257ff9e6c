"""Incidents 4 to 6 of `scenarios.md`, line by line; see the file of 1 to 3."""

import pytest

from tests.engine.documents import quantity
from tests.engine.scenario import (
    Line,
    Scenario,
    air,
    at_post,
    clear,
    crew,
    enter,
    fluoride,
    gamma,
    heard,
    ki,
    leave,
    meter,
    par,
    ph,
    seen,
)

QUIET = {"co_ppm": 0, "h2s_ppm": 0}


def listed(id, bumped):
    return {
        "id": id, "kind": "gas_meter", "sensors": ["lel", "oxygen", "co", "h2s"],
        "last_bump_test": bumped, "calibration_due": "2026-06-01",
    }  # fmt: skip


TODAY, YESTERDAY = "2026-03-04T05:30:00-05:00", "2026-03-03T05:30:00-05:00"
FLAMMABLE = "flammable_atmosphere"

THREE_OVENS = Scenario(
    name="Three Ovens bakery: gas hidden by low oxygen",
    setup={
        "teams": crew("turnout_scba", ("stahl", 4400), ("pires", 4400)),
        "mission": "other", "humidity": None,
        "instruments": [listed("A", TODAY), listed("B", YESTERDAY),
                        listed("C", TODAY), listed("D", TODAY)],
    },
    lines=[
        Line(1, "05:44:00", at_post(meter("post", 0, 20.9, instrument="A")), "continue",
             "CO"),
        Line(2, "05:47:00", [enter("hatch"), air("hatch", "stahl", 4400),
                             air("hatch", "pires", 4400)], "continue", "CO"),
        Line(3, "05:48:00", [meter("hatch", 0, 20.9, instrument="B")], "continue", "CO"),
        Line(4, "05:48:20", [meter("hatch", 3, 20.9, instrument="A")], "caution", "INV"),
        Line(5, "05:49:00", [gamma("hatch", 0.01)], "caution", "INV"),
        Line(6, "05:49:30", [meter("stair head", 3, 20.8, instrument="A")], "caution",
             "INV"),
        Line(7, "05:50:30", [meter("stair foot", 5, 20.8, instrument="A")], "caution",
             "INV"),
        Line(8, "05:51:10", [ph(6, "stair foot")], "caution", "INV"),
        Line(9, "05:51:40", [meter("stair foot", 8, 20.7, instrument="A")], "caution",
             "INV"),
        # 10 % of the LEL withdraws (rule 10); the story waits for 25 %.
        Line(10, "05:52:40", [meter("stair foot", 11, 20.6, instrument="A")],
             "withdraw", "STOP"),
        Line(11, "05:53:00", [par("stair head"), air("stair head", "stahl", 3900),
                              air("stair head", "pires", 3850)], "withdraw", "STOP"),
        Line(12, "05:54:00", [meter("stairwell", 18, 20.4, instrument="A")], "withdraw",
             "STOP"),
        Line(13, "05:55:00", [meter("stairwell", 27, 20.0, instrument="A")], "withdraw",
             "WD"),
        Line(14, "05:55:05", [heard("13-1")], "withdraw", "WD"),
        Line(15, "05:57:30", [par("stairwell"), leave("stairwell")], "withdraw", "WD"),
        Line(16, "06:05:00", [meter("coal hatch", 6, 17.8, instrument="A")], "withdraw",
             "WD"),
        Line(17, "06:08:00", [meter("coal hatch", 2, 12.4, instrument="A")], "withdraw",
             "WD"),
        # Refused: nothing quiet has been read where it was found.
        Line(19, "06:10:00", [clear("stair foot", FLAMMABLE)], "withdraw", "STOP"),
        Line(20, "06:30:00", [meter("stair foot", 0, 19.8, instrument="A")], "withdraw",
             "STOP"),
        Line(21, "06:45:00", [meter("stair foot", 0, 20.8, instrument="A"),
                              meter("stairwell", 0, 20.9, instrument="C")], "withdraw",
             "STOP"),
        Line(22, "06:48:00", [{"kind": "bump_test", "instrument": "A",
                               "passed": False}], "withdraw", "STOP"),
        Line(23, "06:55:00", [meter("stair foot", 0, 20.9, instrument="D"),
                              meter("stairwell", 0, 20.9, instrument="D")], "withdraw",
             "STOP"),
        # Both places found it; the coal hatch keeps its low oxygen, a caution elsewhere.
        Line(24, "06:57:00", [clear("stair foot", FLAMMABLE),
                              clear("stairwell", FLAMMABLE)], "caution", "CO"),
    ],
    milder={},
)  # fmt: skip


def drums(*surfaces):
    return [
        seen("yard", f"drum {n}", surface, 21)
        for n, surface in enumerate(surfaces, start=1)
    ]


def drum_3(surface):
    return seen("yard", "drum 3", surface, 21)


def sign(what):
    return {"kind": "sign", "what": what, "place": "yard"}


TARRANT = Scenario(
    name="Tarrant resin depot: warm closed drums and a hot vent",
    setup={"teams": crew("turnout_scba"), "mission": "other", "humidity": None},
    lines=[
        # No entry: two observers at 100 m, so the team is out from the start.
        Line(0, "11:00:00", [leave("post")], "continue", "CO"),
        Line(1, "11:02:00", [meter("post", 0, 20.9, co_ppm=2)], "continue", "CO"),
        Line(2, "11:02:30", [gamma("post", 0.01), ph(6, "post"),
                             ki("no_change", "post")], "continue", "CO"),
        Line(3, "11:03:00", drums(22, 22, 24, 22), "continue", "CO"),
        # 24 to 27 degC is 5.4 degF: a rise (rule 18), so withdraw at once. The story
        # waits for three rises; the specification is the safer.
        Line(4, "11:08:30", drums(22, 22, 27, 22), "withdraw", "INV"),
        Line(6, "11:14:00", drums(22, 22, 29, 22), "withdraw", "STOP"),
        Line(8, "11:15:00", [meter("post", 0, 20.9), ki("no_change", "post")],
             "withdraw", "STOP"),
        Line(9, "11:19:30", [drum_3(33)], "withdraw", "WD"),
        Line(10, "11:19:40", [heard("09-1")], "withdraw", "WD"),
        Line(11, "11:25:00", [drum_3(36), seen("yard", None, 48, 24,
                                               target="relief_valve_discharge")],
             "withdraw", "WD"),
        Line(12, "11:27:00", [par("300 m")], "withdraw", "WD"),
        Line(13, "11:30:00", [drum_3(36)], "withdraw", "WD"),
        Line(14, "11:35:30", [drum_3(38)], "withdraw", "WD"),
        Line(15, "11:41:00", [drum_3(40)], "withdraw", "WD"),
        Line(16, "11:42:00", [sign("rising_pitch")], "withdraw", "WD"),
        Line(18, "11:46:00", [sign("relief_device_operating"), sign("visible_cloud")],
             "withdraw", "WD"),
        Line(19, "12:10:00", [drum_3(31)], "withdraw", "WD"),
        Line(20, "12:30:00", drums(24, 24, 25, 24), "withdraw", "WD"),
        Line(21, "13:30:00", [*drums(24, 24, 25, 24), *drums(24, 24, 25, 24)],
             "withdraw", "WD"),
        # The drum is cleared (steady over an hour, all out); the hot vent is not.
        Line(22, "13:33:00", [clear("yard", "container_heating")], "withdraw", "STOP"),
    ],
    milder={},
)  # fmt: skip


PELL_GREEN = Scenario(
    name="Pell Green school: nothing wrong, incomplete screening",
    setup={
        "teams": crew("turnout_scba", ("dolan", 4400), ("ash", 4400)),
        "mission": "reconnaissance", "humidity": None,
        "background_dose_rate": quantity(0.009, "mR/h"),
        "instruments": [listed("A", YESTERDAY), listed("C", YESTERDAY)],
    },
    lines=[
        Line(1, "08:22:00", at_post(meter("doorway", 0, 20.9, instrument="A")),
             "continue", "CO"),
        Line(2, "08:24:00", [enter("corridor"), air("corridor", "dolan", 4400),
                             air("corridor", "ash", 4400)], "continue", "CO"),
        Line(3, "08:25:00", [meter("corridor", 0, 20.9, instrument="A", **QUIET)],
             "continue", "CO"),
        Line(4, "08:25:30", [ph(7, "corridor", moistened=False)], "continue", "CO"),
        Line(5, "08:26:00", [ki("no_change", "corridor", moistened=False)], "continue",
             "CO"),
        Line(7, "08:27:00", [seen("corridor", None, 20, 20, target="other",
                                  shiny=True)], "continue", "CO"),
        Line(10, "08:33:00", [{"kind": "bump_test", "instrument": "C", "passed": True}],
             "caution", "INV"),
        Line(11, "08:35:00", [meter("corridor", 0, 20.9, instrument="C", height=h,
                                    **QUIET) for h in ("floor", "waist", "head")],
             "caution", "INV"),
        Line(12, "08:35:40", [gamma("corridor", 0.009)], "caution", "INV"),
        # pH 5 is under acid_caution_ph, 5.5.
        Line(13, "08:36:20", [ph(5, "corridor")], "caution", "INV"),
        # pH 4 is at acid_stop_ph.
        Line(14, "08:37:00", [ph(4, "prep room")], "stop", "INV"),
        Line(15, "08:37:40", [ki("no_change", "prep room")], "stop", "INV"),
        Line(16, "08:38:20", [ph(3, "prep room", "liquid")], "stop", "INV"),
        Line(17, "08:39:00", [fluoride("no_change", "prep room", "liquid")], "stop",
             "INV"),
        Line(18, "08:39:40", [ki("no_change", "prep room", "liquid",
                                 edge_checked=True)], "stop", "INV"),
        Line(19, "08:41:00", [seen("prep room", "cupboard", 20, 20)], "stop", "CO"),
        Line(21, "08:47:00", [meter("corridor", 0, 20.9, instrument="C"),
                              gamma("corridor", 0.009)], "caution", "CO"),
        Line(22, "08:48:00", [leave("corridor"), par("corridor")], "caution", "CO"),
    ],
    milder={},
)  # fmt: skip

SCENARIOS = (THREE_OVENS, TARRANT, PELL_GREEN)
LINES = [
    pytest.param(scenario, line, id=f"{scenario.name.split()[0]} {line.number}")
    for scenario in SCENARIOS
    for line in scenario.lines
]


@pytest.mark.parametrize(("scenario", "line"), LINES)
def test_what_stands_after_each_line(scenario, line):
    assert scenario.after(line.number).standing(line.id, "entry") == line.expected


@pytest.mark.parametrize("scenario", SCENARIOS, ids=lambda s: s.name.split()[0])
def test_the_whole_log_tells_the_same_story_as_line_by_line(scenario):
    whole = scenario.after(99)

    for line in scenario.lines:
        assert whole.standing(line.id, "entry") == line.expected


@pytest.mark.parametrize("scenario", SCENARIOS, ids=lambda s: s.name.split()[0])
def test_where_the_specification_is_milder_it_says_why(scenario):
    assert set(scenario.milder) == scenario.found_milder()


def test_three_ovens_a_meter_not_bumped_today_cannot_tell():
    after = THREE_OVENS.after(3)

    assert after.status(FLAMMABLE, "entry") == "cannot_tell"
    assert after.status("oxygen_deficient", "entry") == "cannot_tell"


def test_three_ovens_a_meter_not_bumped_today_ends_no_caution():
    quiet = Line(5, "05:48:40", [meter("hatch", 0, 20.9, instrument="B")], "", "CO")
    story = Scenario(
        name="B again", lines=[*THREE_OVENS.lines[:4], quiet], milder={},
        setup=THREE_OVENS.setup,
    )  # fmt: skip

    assert story.after(5).on(FLAMMABLE, "entry") == "caution"


def test_three_ovens_a_falling_figure_in_falling_oxygen_is_doubted():
    after = THREE_OVENS.after(17)

    assert after.on("oxygen_deficient", "entry") == "caution"
    assert after.status(FLAMMABLE, "entry") == "found"


def test_three_ovens_one_place_cleared_leaves_the_other():
    after = THREE_OVENS.after(24)

    assert after.standing("24-1", "entry") == "withdraw"
    assert after.on(FLAMMABLE, "entry") is None
    assert after.on("oxygen_deficient", "entry") == "caution"


def test_tarrant_quiet_air_at_the_post_says_nothing_of_the_drums():
    after = TARRANT.after(8)

    assert after.status(FLAMMABLE, "entry") == "not_found"
    assert after.on("container_heating", "entry") == "withdraw"


def test_tarrant_the_steady_drum_is_cleared_and_the_vent_is_not():
    after = TARRANT.after(22)

    assert after.on("container_heating", "entry") is None
    assert after.on("hot_relief_discharge", "entry") == "withdraw"


def test_tarrant_a_drum_that_has_not_stood_still_is_not_cleared():
    early = [line for line in TARRANT.lines if line.number < 20]
    decision = Line(22, "13:33:00", TARRANT.lines[-1].entries, "withdraw", "STOP")
    story = Scenario(
        name="without the last looks", lines=[*early, decision], milder={},
        setup=TARRANT.setup,
    )  # fmt: skip

    assert story.after(22).on("container_heating", "entry") == "withdraw"


def test_pell_green_five_minutes_in_the_gaps_are_named():
    before, after = PELL_GREEN.at_clock("08:28:59"), PELL_GREEN.at_clock("08:29:00")

    assert before.action("entry") == "continue"
    assert after.action("entry") == "caution"
    said = after.said("monitoring", "entry")
    for gap in ("gamma", "acid", "oxygen", "flammable"):
        assert gap in said


def test_pell_green_half_past_eight_nothing_found_and_nothing_ruled_out():
    rows = PELL_GREEN.at_clock("08:30:00").team("entry")["coverage"]

    assert {row["status"] for row in rows} <= {"cannot_tell", "not_checked"}


def test_pell_green_quiet_readings_are_never_called_clear():
    after = PELL_GREEN.after(22)

    assert after.status("fluoride_vapour", "entry") == "not_checked"
    assert after.status("oxidiser_vapour", "entry") == "cannot_tell"
    assert not any("all clear" in s.lower() for s in after.sentences())
