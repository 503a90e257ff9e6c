"""Incidents 1 to 3 of `scenarios.md`, line by line.

The specification governs. Lines without an entry (a message, a refused "all clear", a
silent clock) are left out; the numbers are the story's.
"""

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

BRIGHTWATER = Scenario(
    name="Brightwater Etchworks: acid vapour that is fluoride",
    setup={
        "teams": crew("level_b", ("carrow", 4400), ("tadros", 4350)),
        "mission": "other", "humidity": 58,
        "background_dose_rate": quantity(0.008, "mR/h"),
    },
    lines=[
        Line(1, "09:02:00", at_post(meter("post", 0, 20.9, **QUIET)), "continue", "CO"),
        Line(2, "09:04:00", [enter("rear door"), air("rear door", "carrow", 4400),
                             air("rear door", "tadros", 4350)], "continue", "CO"),
        Line(3, "09:06:10", [meter("rear door", 0, 20.9, **QUIET)], "continue", "CO"),
        Line(4, "09:06:30", [gamma("rear door", 0.009)], "continue", "CO"),
        Line(5, "09:06:50", [ph(6, "rear door", moistened=False)], "continue", "CO"),
        Line(6, "09:08:00", [meter("aisle", 0, 20.8)], "continue", "CO"),
        # pH 4 is at acid_stop_ph (rule 1): the specification is the stricter, and safer.
        Line(7, "09:08:40", [ph(4, "aisle")], "stop", "INV"),
        Line(8, "09:09:00", [fluoride("no_change", "aisle", moistened=False)], "stop",
             "INV"),
        Line(9, "09:10:10", [ph(2, "bath")], "stop", "STOP"),
        Line(10, "09:10:20", [ki("no_change", "bath")], "stop", "STOP"),
        Line(11, "09:10:50", [par("bath"), air("bath", "carrow", 3900),
                              air("bath", "tadros", 3700)], "stop", "STOP"),
        Line(12, "09:11:30", [fluoride("changed", "bath")], "withdraw", "WD"),
        Line(13, "09:11:40", [heard("12-1")], "withdraw", "WD"),
        Line(14, "09:12:30", [meter("aisle", 0, 20.9, **QUIET)], "stop", "WD"),
        Line(15, "09:13:10", [clear("bath", "fluoride_vapour")], "stop", "WD"),
        Line(16, "09:14:00", [par("aisle", unanswered=["tadros"])], "stop", "WD"),
        Line(18, "09:15:40", [par("aisle"), leave("aisle")], "stop", "WD"),
        Line(19, "09:17:00", [{**ph(3, "decon", "liquid"), "team": "decon"}], "stop",
             "WD"),
        Line(20, "09:21:00", [{**ph(6, "decon", "liquid"), "team": "decon"}], "stop",
             "WD"),
        # Refused (nothing read at the bath since); the story's commander may lower to STOP.
        Line(21, "09:24:00", [clear("bath", "fluoride_vapour")], "stop", "STOP"),
        Line(22, "09:40:00", [{"kind": "strike", "entry": "07-1", "by": "commander",
                               "reason": "taken in the store"}], "caution", "STOP"),
    ],
    milder={
        **dict.fromkeys(
            (14, 15, 16, 18, 19, 20),
            "Rule 31 is a finding of its place: in the aisle the bath's withdraw is a "
            "caution, and the aisle's own acid a stop. The story keeps WD until all are "
            "out, which is the safer; going back to the bath brings the withdraw again.",
        ),
        22: "Without the struck reading only the bath stands, elsewhere a caution.",
    },
)  # fmt: skip


HOLLIN_VALE = Scenario(
    name="Hollin Vale cold store: base vapour that becomes a fire hazard",
    setup={
        "teams": crew("level_a", ("ferreira", 4500), ("novak", 4500)),
        "mission": "product_control", "humidity": None, "suspects": ["ammonia"],
        "background_dose_rate": quantity(0.011, "mR/h"),
    },
    lines=[
        Line(1, "14:01:00", at_post(meter("post", 0, 20.9)), "continue", "CO"),
        # pH 9 is at base_stop_ph: a stop there in most ensembles, so a caution for others.
        Line(2, "14:03:00", at_post(ph(9, "car park")), "caution", "INV"),
        Line(3, "14:05:00", at_post(ph(7, "car park")), "caution", "CO"),
        Line(4, "14:12:00", [enter("room door"), air("room door", "ferreira", 4500),
                             air("room door", "novak", 4500)], "caution", "CO"),
        Line(5, "14:14:00", [meter("room door", 0, 20.8, gases={"ammonia": 210})],
             "caution", "INV"),
        Line(6, "14:14:30", [ph(11, "room door")], "caution", "INV"),
        Line(7, "14:15:00", [gamma("room door", 0.012)], "caution", "INV"),
        Line(8, "14:15:30", [{"kind": "gas_meter", "place": "room door",
                              "voc_ppm": 190, "lamp_ev": 10.6}], "caution", "INV"),
        Line(9, "14:17:00", [meter("2 m inside", 2, 20.8, over_range=["ammonia"],
                                   height="head")], "caution", "INV"),
        Line(10, "14:18:30", [meter("4 m inside", 4, 20.7)], "caution", "INV"),
        Line(11, "14:19:30", [meter("4 m inside", 7, 20.6)], "caution", "INV"),
        Line(12, "14:20:30", [meter("4 m inside", 9, 20.5)], "caution", "STOP"),
        Line(14, "14:21:00", [heard("12-1")], "caution", "STOP"),
        Line(15, "14:21:40", [meter("ceiling", 12, 20.5)], "withdraw", "STOP"),
        Line(16, "14:22:20", [meter("ceiling", 26, 20.1)], "withdraw", "WD"),
        Line(17, "14:22:25", [heard("16-1")], "withdraw", "WD"),
        Line(18, "14:23:40", [par("ceiling"), air("ceiling", "ferreira", 3300),
                              air("ceiling", "novak", 3150)], "withdraw", "WD"),
        Line(19, "14:25:00", [meter("room door", 0, 20.9)], "withdraw", "WD"),
        Line(20, "14:27:00", [leave("room door"),
                              {**ph(8, "decon", "liquid"), "team": "decon"},
                              {**leave("decon"), "team": "decon"}], "withdraw", "WD"),
        # Refused: nothing quiet has been read at the ceiling.
        Line(21, "14:34:00", [clear("ceiling", "flammable_atmosphere")], "withdraw",
             "STOP"),
        Line(22, "15:10:00", [meter("ceiling", 0, 20.9), ph(7, "ceiling")], "withdraw",
             "STOP"),
        # The fire hazard is cleared; the door's base vapour and ammonia were never.
        Line(23, "15:14:00", [clear("ceiling", "flammable_atmosphere")], "caution",
             "CO"),
    ],
    milder=dict.fromkeys(
        (12, 14),
        "Under 10 % of the LEL is a caution however steady the rise; rule 11 gives the "
        "rate and the time to the limit. The story stops at the third step of a rise, "
        "which is the safer; an SOP gets near it with a lower lel_withdraw_percent.",
    ),
)  # fmt: skip


KETTLEBY = Scenario(
    name="Kettleby Dairy: an oxidiser, as a liquid only",
    setup={
        "teams": crew("level_b", ("yusuf", 4300), ("rey", 4300)),
        "mission": "product_control", "humidity": None,
        "background_dose_rate": quantity(0.010, "mR/h"),
    },
    lines=[
        Line(1, "20:34:00", [enter("bay"), air("bay", "yusuf", 4300),
                             air("bay", "rey", 4300)], "continue", "CO"),
        Line(2, "20:36:00", [meter("bay", 0, 20.9, **QUIET)], "continue", "CO"),
        Line(3, "20:36:20", [gamma("bay", 0.010)], "continue", "CO"),
        Line(4, "20:37:00", [ph(6, "drum")], "continue", "CO"),
        Line(5, "20:37:30", [ki("no_change", "drum")], "continue", "CO"),
        Line(7, "20:39:00", [ph(4, "drum", "liquid")], "caution", "INV"),
        Line(8, "20:39:40", [fluoride("no_change", "drum", "liquid")], "caution", "CO"),
        Line(9, "20:40:30", [ki("blue_black", "drum", "liquid")], "caution", "STOP"),
        Line(11, "20:41:30", [par("drum"), air("drum", "yusuf", 3700),
                              air("drum", "rey", 3650)], "caution", "STOP"),
        Line(12, "20:42:00", [seen("drum", "drum wall", 19, 17, shiny=True)], "caution",
             "STOP"),
        # 6 degC is 10.8 degF, over thermal_margin (rule 17).
        Line(13, "20:42:40", [seen("drum", "drum, tape patch", 23, 17)], "stop", "STOP"),
        Line(14, "20:43:20", [seen("drum", None, 31, 17, target="other")], "stop",
             "STOP"),
        Line(15, "20:48:30", [seen("drum", None, 34, 17, target="other")], "stop",
             "STOP"),
        Line(16, "20:53:40", [seen("drum", None, 38, 17, target="other")], "stop",
             "STOP"),
        Line(17, "20:54:00", [meter("drum", 0, 21.1)], "stop", "STOP"),
        Line(18, "20:54:40", [meter("drum", 0, 21.6, height="floor")], "stop", "STOP"),
        Line(19, "20:55:10", [{"kind": "sign", "place": "drum",
                               "what": "visible_cloud"}], "stop", "WD"),
        Line(20, "20:55:20", [heard("19-1")], "stop", "WD"),
        Line(21, "20:57:30", [par("drum"), leave("drum")], "stop", "WD"),
        Line(22, "21:05:00", [seen("drum", None, 22, 17, target="other")], "stop", "WD"),
        # Refused: the drum has not been shown to be steady.
        Line(23, "21:09:00", [clear("drum", "container_heating")], "stop", "STOP"),
    ],
    milder={
        **dict.fromkeys(
            (9, 11, 12),
            "Rule 7: an oxidising liquid is a caution, keep from fuel. The story holds "
            "all work until the plan is amended, which is the safer.",
        ),
        **dict.fromkeys(
            (19, 20, 21, 22),
            "Smoke from a pallet is none of the signs of rule 35, and a pallet no closed "
            "container. The story withdraws, which is the safer.",
        ),
    },
)  # fmt: skip

SCENARIOS = (BRIGHTWATER, HOLLIN_VALE, KETTLEBY)
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


def test_brightwater_dry_paper_in_damp_air_tells_and_asks_for_a_wet_strip():
    """The story gives it no weight (safer); at 58 % humidity section 6 lets it tell."""
    row = BRIGHTWATER.after(5).row("acid_vapour", "entry")

    assert row["status"] == "not_found"
    assert "wet" in row["because"].lower()


def test_brightwater_at_the_bath():
    after = BRIGHTWATER.after(12)

    assert after.on("fluoride_vapour", "entry") == "withdraw"
    assert after.on("acid_vapour", "entry") == "stop"
    assert after.status("fluoride_vapour", "entry") == "found"
    assert after.status("acid_vapour", "entry") == "found"
    assert after.status("oxidiser_vapour", "entry") == "not_found"
    assert after.status("flammable_atmosphere", "entry") == "not_checked"


def test_brightwater_at_the_end():
    after = BRIGHTWATER.after(22)

    assert after.status("flammable_atmosphere", "entry") == "out_of_date"
    assert after.status("oxygen_deficient", "entry") == "out_of_date"
    assert after.status("fluoride_vapour", "entry") == "cannot_tell"
    assert after.status("acid_vapour", "entry") == "not_checked"


def test_hollin_vale_clears_the_fire_hazard_only():
    after = HOLLIN_VALE.after(23)

    assert after.on("flammable_atmosphere", "entry") is None
    assert after.on("base_vapour", "entry") == "caution"
    assert after.on("toxic_gas", "entry") == "caution"


def test_hollin_vale_everyone_in_the_car_park_in_work_uniform_stops():
    assert HOLLIN_VALE.after(2).standing("02-1", "post") == "stop"


def test_kettleby_the_air_says_nothing_of_the_liquid():
    after = KETTLEBY.after(9)

    assert after.status("oxidiser_vapour", "entry") == "not_found"
    assert after.on("oxidiser_liquid", "entry") == "caution"
