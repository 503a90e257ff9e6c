"""What a reading can tell and how far it goes: always in sentences of the table."""

import json
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from screening.assess import assess
from screening.looks import LookFacts, looks_of
from screening.methods import recognise, row_of
from screening.methods.notes import noted_against
from screening.state import initial_state, step
from screening.verdicts import Hazard, Status
from screening.worksheet import load_json, parse_worksheet
from tests.engine.documents import (
    dose,
    entry,
    fluoride,
    imager,
    ki,
    meter,
    ph,
    rate,
    worksheet,
)
from tests.engine.strategies import worksheets


def parsed(document):
    return parse_worksheet(load_json(json.dumps(document).encode()))


def said_of(line, hazard, **setup):
    """The reasons of one reading on one hazard."""
    sheet = parsed(worksheet(line, **setup))
    facts = LookFacts(context=sheet.context)
    return {
        look.hazard: (look.tells, look.because)
        for look in looks_of(sheet.log[0], facts)
    }[Hazard(hazard)]


def keys_of(because):
    return [said.sentence.key for said in recognise(because)]


wide = settings(
    max_examples=150, deadline=None, suppress_health_check=list(HealthCheck)
)
SUSPECTS = [
    "ammonia", "hydrogen chloride", "sulfuric acid", "hydrogen peroxide", "chlorine",
    "nitrogen dioxide", "hydrogen", "acetylene", "diesel", "carbon dioxide", "propane",
    "hydrogen sulfide", "something in drums",
]  # fmt: skip


@wide
@given(
    worksheets(max_size=8),
    st.lists(st.sampled_from(SUSPECTS), unique=True),
    st.sampled_from([None, "floor", "waist", "head"]),
    st.sampled_from([-20, 0, 20, 45]),
    st.sampled_from([None, 5, 95]),
)
def test_every_reason_of_a_reading_is_in_the_table(
    document, suspects, height, degrees, humidity
):
    weather = {"air_temperature": {"value": degrees, "unit": "degC"}}
    if humidity is not None:
        weather["relative_humidity_percent"] = humidity
    document["incident"]["weather"] = weather
    document["suspects"] = suspects
    for line in document["log"]:
        if line["kind"] == "gas_meter" and height:
            line["height"] = height
    sheet = parsed(document)

    for latched in (False, True):
        facts = LookFacts(
            context=sheet.context,
            latched=latched,
            standing=frozenset(
                {(Hazard.TOXIC_GAS, "ammonia"), (Hazard.GAMMA_RADIATION, "rate")}
            ),
        )
        for line in sheet.log:
            for look in looks_of(line, facts):
                said = recognise(look.because)
                assert said, look.because
                assert said[0].sentence.tells is look.tells, look.because


@wide
@given(worksheets(max_size=10))
def test_every_reason_for_not_knowing_is_in_the_table(document):
    sheet = parsed(document)
    state = initial_state(sheet.context)
    for line in sheet.log:
        state, _ = step(state, line, sheet.context)
    view = assess(state, sheet.context, sheet.log[-1].at + timedelta(minutes=1))

    for team in view.teams:
        for row in team.coverage:
            if row.status in (Status.CANNOT_TELL, Status.NOT_CHECKED):
                found = row_of(row.because)
                assert found is not None, row.because
                assert row.next_check


# Reading, set-up, hazard, keys of its reason, and whether it can tell.
METER = meter(0, 0, 20.9, height="floor")
SAID = [
    pytest.param(ph(0, 7), {}, "acid_vapour", ["ph_wet"], True, id="wet pH"),
    # What a suspect leaves open is a matter of all readings: tests/engine/test_reach.py.
    pytest.param(
        ph(0, 7), {"suspects": ["sulfuric acid", "ammonia", "hydrogen chloride"]},
        "base_vapour", ["ph_wet"], True, id="wet pH, whoever is suspected",
    ),
    pytest.param(
        ph(0, 7, moistened=False), {"humidity": 45}, "acid_vapour", ["ph_dry_damp_air"],
        True, id="dry pH in damp air",
    ),
    pytest.param(
        ph(0, 7, moistened=False), {"humidity": 12}, "acid_vapour", ["ph_dry_air"], False,
        id="dry pH in dry air",
    ),
    pytest.param(
        ph(0, 7, moistened=False), {"humidity": None}, "acid_vapour",
        ["ph_dry_unknown"], False,
        id="dry pH, humidity not known",
    ),
    pytest.param(
        ph(0, bleached=True), {}, "base_vapour", ["ph_white"], False, id="white pH"
    ),
    pytest.param(
        ph(0, 7, faded=True), {}, "acid_vapour", ["ph_faded"], False, id="faded pH"
    ),
    pytest.param(
        ph(0, 7, sample="liquid"), {}, "corrosive_liquid", ["ph_liquid"], True,
        id="pH on a liquid",
    ),
    pytest.param(
        ph(0, bleached=True, sample="liquid"), {}, "corrosive_liquid",
        ["ph_liquid_blind"], False, id="white pH on a liquid",
    ),
    pytest.param(
        ki(0), {"suspects": ["hydrogen peroxide", "sulfur dioxide"]}, "oxidiser_vapour",
        ["ki_wet"], True, id="wet KI, whoever is suspected",
    ),
    pytest.param(
        ki(0, moistened=False), {}, "oxidiser_vapour", ["ki_dry"], False, id="dry KI"
    ),
    pytest.param(
        ki(0, sample="liquid"), {}, "oxidiser_vapour",
        ["liquid_not_air", "ki_edge_hint"], False, id="KI on a liquid, of vapour",
    ),
    pytest.param(
        ki(0, sample="liquid"), {}, "oxidiser_liquid", ["ki_edge_open"], False,
        id="KI edge not looked at",
    ),
    pytest.param(
        ki(0, sample="liquid", edge_checked=True), {}, "oxidiser_liquid", ["ki_liquid"],
        True, id="KI edge looked at",
    ),
    pytest.param(
        fluoride(0), {}, "fluoride_vapour", ["fluoride_wet"], True, id="wet fluoride"
    ),
    pytest.param(
        fluoride(0, moistened=False), {}, "fluoride_vapour", ["fluoride_dry"], False,
        id="dry fluoride",
    ),
    pytest.param(
        fluoride(0, sample="liquid"), {}, "fluoride_liquid", ["fluoride_liquid"], True,
        id="fluoride on a liquid",
    ),
    pytest.param(
        METER, {}, "flammable_atmosphere", ["lel_tells"], True, id="LEL at the floor"
    ),
    pytest.param(
        {**METER, "height": "head"}, {"suspects": ["propane"]}, "flammable_atmosphere",
        ["lel_tells"], True, id="LEL at head height, propane",
    ),
    pytest.param(
        meter(0, 0, 20.9), {}, "oxygen_enriched", ["oxygen_read", "height_not_noted"],
        True, id="height not noted",
    ),
    pytest.param(
        {**METER, "note": "bead poisoned by silicone spray"}, {}, "flammable_atmosphere",
        ["spoiled_noted"], False, id="sensor spoiled, so noted",
    ),
    pytest.param(
        {**METER, "note": "bead poisoned by silicone spray"}, {}, "oxygen_deficient",
        ["oxygen_read"], True, id="only the bead spoiled, so noted",
    ),
    pytest.param(
        {**METER, "note": "cell poisoned"}, {}, "oxygen_deficient", ["spoiled_noted"],
        False, id="some cell spoiled, so noted",
    ),
    pytest.param(
        METER, {"suspects": ["hydrogen sulfide"]}, "flammable_atmosphere",
        ["lel_maybe_spoiled"], False, id="suspect that spoils a bead, no bump test known",
    ),
    pytest.param(
        meter(0, 0), {}, "flammable_atmosphere", ["lel_without_oxygen"], False,
        id="LEL alone",
    ),
    pytest.param(
        meter(0, 0, 15), {}, "flammable_atmosphere", ["lel_little_oxygen"], False,
        id="LEL in poor air",
    ),
    pytest.param(
        meter(0, 0, 24), {}, "flammable_atmosphere", ["lel_much_oxygen"], False,
        id="LEL in rich air",
    ),
    pytest.param(
        meter(0, 0, over_range=["oxygen"]), {}, "flammable_atmosphere",
        ["lel_oxygen_over_range"], False, id="oxygen over range",
    ),
    pytest.param(
        meter(0, over_range=["lel"]), {}, "flammable_atmosphere", ["lel_over_range"],
        False, id="LEL over range",
    ),
    pytest.param(
        meter(0, over_range=["oxygen"]), {}, "oxygen_enriched", ["oxygen_over_range"],
        False, id="oxygen over range",
    ),
    pytest.param(
        meter(0, co_ppm=0, height="floor"), {"suspects": ["chlorine"]}, "toxic_gas",
        ["gases_measured"], True, id="the suspect has no cell",
    ),
    pytest.param(
        meter(0, h2s_ppm=0, height="floor"), {"suspects": ["nitrogen dioxide"]},
        "toxic_gas", ["cell_hidden", "gases_measured"], False,
        id="the suspect hides the cell's gas",
    ),
    pytest.param(
        meter(0, oxygen=4, co_ppm=0), {}, "toxic_gas", ["cells_little_oxygen"], False,
        id="cells without oxygen",
    ),
    pytest.param(
        meter(0, voc_ppm=0, lamp_ev=10.6), {"suspects": ["chlorine"], "humidity": 95},
        "toxic_gas", ["voc_alone", "lamp_cannot_see", "lamp_moist_air"], False,
        id="lamp too weak, in fog",
    ),
    pytest.param(
        meter(0, voc_ppm=0), {"suspects": ["toluene"]}, "toxic_gas",
        ["voc_alone", "lamp_unknown"], False, id="lamp not recorded",
    ),
    pytest.param(
        imager(0, 70), {}, "container_heating", ["imager_dull", "imager_skin"], True,
        id="dull surface",
    ),
    pytest.param(
        imager(0, 70, shiny=True), {}, "container_heating", ["imager_shiny"], False,
        id="bare metal",
    ),
    pytest.param(
        rate(0, 0.01), {}, "gamma_radiation", ["rate_read", "gamma_only"], True,
        id="dose rate",
    ),
    pytest.param(
        {**rate(0, 0.01), "distance": {"value": 12, "unit": "ft"}}, {},
        "gamma_radiation", ["rate_read", "gamma_only", "rate_far"], True,
        id="dose rate from afar",
    ),
    pytest.param(
        entry("dosimeter", 0, alarm=False), {}, "gamma_radiation",
        ["alarm_read", "gamma_only"], True, id="silent alarm",
    ),
    pytest.param(
        dose(0, 0), {}, "gamma_radiation", ["dose_alone"], False, id="dose alone"
    ),
]  # fmt: skip


@pytest.mark.parametrize(("line", "setup", "hazard", "keys", "tells"), SAID)
def test_what_a_reading_can_tell_and_how_far_it_goes(line, setup, hazard, keys, tells):
    can, because = said_of(line, hazard, **setup)

    assert can is tells
    assert keys_of(because) == keys


@pytest.mark.parametrize(
    ("degrees", "humidity", "keys"),
    [
        pytest.param(-11, 50, ["cells_cold"], id="under −10 °C"),
        pytest.param(-10, 50, ["lel_tells"], id="at −10 °C"),
        pytest.param(40, 50, ["lel_tells"], id="at 40 °C"),
        pytest.param(41, 50, ["cells_hot"], id="over 40 °C"),
        pytest.param(20, 9, ["cells_dry_air"], id="very dry air"),
        pytest.param(20, 10, ["lel_tells"], id="at 10 % humidity"),
        pytest.param(-20, 5, ["cells_cold", "cells_dry_air"], id="cold and dry"),
    ],
)
def test_outside_the_range_that_makers_give_no_sensor_of_a_meter_tells(
    degrees, humidity, keys
):
    looks = looks_in(degrees, humidity, {**METER, "co_ppm": 0})

    for look in looks:
        assert look.tells is (keys == ["lel_tells"]), look.hazard
    assert keys_of(looks[0].because) == keys


def test_a_bump_test_on_scene_shows_that_the_sensors_work_in_this_air():
    looks = looks_in(-15, 50, {**METER, "co_ppm": 0}, bumped=True, bumped_here=True)

    assert all(look.tells for look in looks)
    assert keys_of(looks[0].because) == ["lel_tells", "cells_cold"]
    assert not any(
        look.tells for look in looks_in(-15, 50, METER, bumped=True, bumped_here=False)
    )


def looks_in(degrees, humidity, line, **facts):
    document = worksheet(line, humidity=humidity)
    air = {"value": degrees, "unit": "degC"}
    document["incident"]["weather"]["air_temperature"] = air
    sheet = parsed(document)
    return list(looks_of(sheet.log[0], LookFacts(context=sheet.context, **facts)))


STRIPS = [ph(0, 7), ki(0), fluoride(0)]


@pytest.mark.parametrize("line", [*STRIPS, ph(0, 7, moistened=False)])
def test_a_strip_in_frost_does_not_tell(line):
    frozen, thawed = looks_in(0, 60, line)[0], looks_in(0.1, 60, line)[0]

    assert keys_of(frozen.because) == ["strip_frozen"]
    assert "0 °C (32 °F)" in frozen.because
    assert (frozen.tells, thawed.tells) == (False, True)
    assert "glycerol" in recognise(frozen.because)[0].next_step


@pytest.mark.parametrize("line", STRIPS)
@pytest.mark.parametrize(
    ("note", "tells"),
    [
        pytest.param("Wetted with water and glycerol", True, id="so noted"),
        pytest.param("glycerine and water 1:1", True, id="by its other name"),
        pytest.param("no glycerol left", False, id="denied"),
        pytest.param("Without glycerin", False, id="denied otherwise"),
        pytest.param("held at the drum", False, id="another note"),
    ],
)
def test_glycerol_keeps_a_wet_strip_from_freezing(line, note, tells):
    look = looks_in(-5, 60, {**line, "note": note})[0]

    assert look.tells is tells
    assert ("strip_glycerol" in keys_of(look.because)) is tells


def test_glycerol_does_not_wet_a_dry_strip():
    look = looks_in(-5, 60, ph(0, 7, moistened=False, note="glycerol in the kit"))[0]

    assert not look.tells


@pytest.mark.parametrize(
    "note",
    [
        "Sensor poisoned",
        "spray can of silicone next to it",
        "fouled bead, no spare",
        "sensor not poisoned but fouled",
        "sensor not poisoned?",
        "sensor not poisoned any more",
        "not sure the sensor is not poisoned",
        "cell not poisoned until the wash",
        "sensor not read, poisoned",
    ],
)
def test_a_note_on_a_spoiled_sensor_is_heard(note):
    _, because = said_of({**METER, "note": note}, "flammable_atmosphere")

    assert "spoiled sensor" in because
    assert "Bump-test" in recognise(because)[0].next_step


@pytest.mark.parametrize(
    "note",
    [
        "",
        "poison ivy at the fence",
        "meter in the bag",
        "sensor not poisoned",
        "Bead is not fouled or poisoned.",
        "the cell isn't spoiled",
        "no silicone near it",
        "sensor not been fouled, no sign of poisoning",
    ],
)
def test_other_notes_say_nothing_of_the_sensor(note):
    line = {**METER, "note": note} if note else METER
    _, because = said_of(line, "flammable_atmosphere")

    assert "spoiled" not in because


@pytest.mark.parametrize(
    ("kind", "denied", "said"),
    [
        ("meter", "pump not stalled", "pump stalled"),
        ("meter", "hose was not blocked", "hose was blocked"),
        ("strip", "the lot has not expired", "the lot has expired"),
        ("imager", "shell not wet", "shell wet"),
    ],
)
def test_a_note_that_denies_a_fault_plainly_is_no_fault(kind, denied, said):
    assert not noted_against(kind, denied)
    assert noted_against(kind, said)


@pytest.mark.parametrize(
    "note", ["not in fresh air", "not yet warmed", "not fresh air"]
)
def test_a_denial_that_is_the_fault_itself_is_heard(note):
    assert noted_against("meter", note)
