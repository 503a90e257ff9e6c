"""What stands before the log: incident, weather, teams, cylinders, instruments."""

from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import pytest

from screening.ensembles import Ensemble
from screening.worksheet import (
    WorksheetErrors,
    load_json,
    parse_context,
    parse_worksheet,
)
from tests.screening.worksheets import FULL, errors, quantity, worksheet


def test_the_setup_of_an_incident_is_read_into_canonical_units():
    context: Any = parse_worksheet(load_json(FULL)).context

    assert context.name == "Quarry Lane pump house"
    assert context.mission == "rescue"
    assert context.weather.air_temperature_degf == 68
    assert context.weather.relative_humidity_percent == 45
    assert abs(context.weather.wind_speed_m_s - 10) < Decimal("1e-15")
    assert context.weather.wind_from_degrees == 225
    assert context.background_rem_per_hour == Decimal("0.00001")
    assert context.profile.name == "Example County SOP"
    assert context.profile.version == "3"
    assert context.profile["dose_turn_back_rescue"] == 10
    assert context.suspects == ("ammonia", "anhydrous ammonia")


def test_a_team_is_read_with_its_members_and_their_cylinders():
    team: Any
    (team,) = parse_worksheet(load_json(FULL)).context.teams.values()

    assert (team.id, team.role, team.ensemble) == (
        "entry-1",
        "entry",
        Ensemble.TURNOUT_SCBA,
    )
    first, second = team.members
    assert first.cylinder.rated_volume_l == 1840
    assert first.cylinder.rated_pressure_psi == Decimal("4351.132132")
    assert first.cylinder.start_pressure_psi == Decimal("4206.094394")
    assert first.cylinder.pressure_unit == "bar"
    assert (second.id, second.cylinder) == ("b", None)


def test_a_gauge_is_shown_in_the_unit_that_is_read_on_it():
    def unit_of(**cylinder):
        member = {"id": "a", "cylinder": cylinder}
        team = {"id": "x", "role": "entry", "ensemble": "level_b", "members": [member]}
        context = parse_worksheet(worksheet(teams=[team])).context
        found: Any = context.teams["x"].members[0].cylinder
        return found.pressure_unit

    rated = quantity(4500, "psi")

    assert unit_of(rated_pressure=rated) == "psi"
    assert unit_of(rated_pressure=rated, start_pressure=quantity(290, "bar")) == "bar"


def test_an_instrument_that_was_never_tested_is_not_one_of_which_nothing_is_known():
    instruments = parse_worksheet(load_json(FULL)).context.instruments
    tested, never, unknown = instruments.values()

    assert tested.bump_known
    assert tested.last_bump_test == datetime(2026, 3, 4, 18, 20, tzinfo=UTC)
    assert tested.calibration_due == date(2026, 6, 1)
    assert tested.sensors == ("lel", "oxygen")
    assert tested.lel_basis == "methane"
    assert tested.lamp_ev == Decimal("10.6")
    assert tested.correction_factors == {"pentane": 2}
    assert (never.bump_known, never.last_bump_test) == (True, None)
    assert (unknown.bump_known, unknown.last_bump_test) == (False, None)


def test_only_incident_teams_and_log_are_needed():
    document = worksheet()
    del document["instruments"], document["suspects"]

    context = parse_worksheet(document).context

    assert context.instruments == {}
    assert context.suspects == ()
    assert context.background_rem_per_hour is None
    assert context.weather.relative_humidity_percent is None
    assert context.profile.name == "Built-in limits"


def test_a_running_incident_is_set_up_from_the_document_without_its_log():
    document = worksheet()
    del document["log"]

    assert list(parse_context(document).teams) == ["entry-1", "backup"]
    with pytest.raises(WorksheetErrors, match="/log"):
        parse_context(worksheet())


SETUP = [
    pytest.param("/format", {"format": "worksheet"}, id="another format"),
    pytest.param("/version", {"version": "1"}, id="version as text"),
    pytest.param("/version", {"version": True}, id="version true"),
    pytest.param("/remarks", {"remarks": "none"}, id="C34: unknown key"),
    pytest.param("/incident", {"incident": []}, id="C33: a list for an object"),
    pytest.param("/teams", {"teams": {}}, id="C33: an object for a list"),
    pytest.param("/teams", {"teams": None}, id="C33: null"),
    pytest.param("/teams/0", {"teams": ["entry-1"]}, id="C33: a text for a team"),
    pytest.param("/log", {"log": "o1"}, id="C33: a text for the log"),
    pytest.param("/log/0", {"log": [7]}, id="C33: a number for an entry"),
    pytest.param("/suspects/1", {"suspects": ["a", " "]}, id="empty suspect"),
    pytest.param("/suspects/0", {"suspects": [7]}, id="a number for a suspect"),
]


@pytest.mark.parametrize(("pointer", "parts"), SETUP)
def test_a_wrong_part_of_the_document_is_named_by_its_place(pointer, parts):
    assert list(errors(worksheet(**parts))) == [pointer]


INCIDENT = [
    pytest.param("/name", {"name": ...}, id="no name"),
    pytest.param("/name", {"name": "\u200b \ufeff"}, id="C21: zero-width name"),
    pytest.param("/name", {"name": "x" * 201}, id="long name"),
    pytest.param("/mission", {"mission": ...}, id="no mission"),
    pytest.param("/mission", {"mission": "Rescue"}, id="unknown mission"),
    pytest.param("/location", {"location": "x"}, id="unknown key"),
    pytest.param("/weather", {"weather": "fine"}, id="weather in words"),
    pytest.param("/weather/sky", {"weather": {"sky": 1}}, id="unknown weather"),
    pytest.param(
        "/weather/relative_humidity_percent",
        {"weather": {"relative_humidity_percent": Decimal("100.1")}},
        id="humidity over 100",
    ),
    pytest.param(
        "/weather/relative_humidity_percent",
        {"weather": {"relative_humidity_percent": quantity(45, "percent")}},
        id="humidity as a quantity",
    ),
    pytest.param(
        "/weather/wind_from_degrees", {"weather": {"wind_from_degrees": 361}}, id="361°"
    ),
    pytest.param(
        "/weather/wind_speed/value",
        {"weather": {"wind_speed": quantity(-1, "m/s")}},
        id="wind below 0",
    ),
    pytest.param(
        "/weather/air_temperature/value",
        {"weather": {"air_temperature": quantity(0, "kelvin")}},
        id="absolute zero",
    ),
    pytest.param(
        "/weather/air_temperature/value",
        {"weather": {"air_temperature": quantity("20", "degC")}},
        id="a text for a number",
    ),
    pytest.param(
        "/weather/air_temperature/unit",
        {"weather": {"air_temperature": {"value": 20}}},
        id="no unit",
    ),
    pytest.param(
        "/weather/air_temperature/scale",
        {"weather": {"air_temperature": {**quantity(20, "degC"), "scale": 1}}},
        id="unknown key of a quantity",
    ),
    pytest.param(
        "/background_dose_rate",
        {"background_dose_rate": Decimal("0.01")},
        id="a number without unit",
    ),
    pytest.param(
        "/background_dose_rate/unit",
        {"background_dose_rate": quantity(8, "mrem")},
        id="a dose for a rate",
    ),
]


@pytest.mark.parametrize(("pointer", "changes"), INCIDENT)
def test_a_wrong_incident_is_named_by_its_place(pointer, changes):
    incident = {"name": "x", "mission": "rescue", **changes}
    incident = {name: value for name, value in incident.items() if value is not ...}

    assert list(errors(worksheet(incident=incident))) == [f"/incident{pointer}"]


TEAMS = [
    pytest.param("/id", {"id": ...}, id="no id"),
    pytest.param("/id", {"id": ""}, id="empty id"),
    pytest.param("/id", {"id": " entry-1"}, id="white space around an id"),
    pytest.param("/id", {"id": "entry\u200b-1"}, id="C21: an unseen character"),
    pytest.param("/id", {"id": "entry-1"}, id="an id given twice"),
    pytest.param("/role", {"role": "attack"}, id="unknown role"),
    pytest.param("/role", {"role": ...}, id="no role"),
    pytest.param("/ensemble", {"ensemble": "level_e"}, id="unknown ensemble"),
    pytest.param("/name", {"name": "Entry"}, id="unknown key"),
    pytest.param("/members", {"members": "a"}, id="members in words"),
    pytest.param("/members/0", {"members": ["a"]}, id="a member in words"),
    pytest.param("/members/1/id", {"members": [{"id": "a"}, {"id": "a"}]}, id="twice"),
    pytest.param("/members/0/age", {"members": [{"id": "a", "age": 3}]}, id="unknown"),
    pytest.param(
        "/members/0/cylinder/rated_pressure",
        {"members": [{"id": "a", "cylinder": {}}]},
        id="no rated pressure",
    ),
    pytest.param(
        "/members/0/cylinder/rated_pressure/value",
        {"members": [{"id": "a", "cylinder": {"rated_pressure": quantity(0, "psi")}}]},
        id="rated at nothing",
    ),
    pytest.param(
        "/members/0/cylinder/rated_pressure/unit",
        {"members": [{"id": "a", "cylinder": {"rated_pressure": quantity(9, "L")}}]},
        id="litres of pressure",
    ),
]


@pytest.mark.parametrize(("pointer", "changes"), TEAMS)
def test_a_wrong_team_is_named_by_its_place(pointer, changes):
    team = {"id": "entry-2", "role": "entry", "ensemble": "level_b", **changes}
    team = {name: value for name, value in team.items() if value is not ...}
    teams = [{"id": "entry-1", "role": "entry", "ensemble": "level_a"}, team]

    assert list(errors(worksheet(teams=teams))) == [f"/teams/1{pointer}"]


INSTRUMENTS = [
    pytest.param("/id", {"id": "meter-0"}, id="an id given twice"),
    pytest.param("/kind", {"kind": "gasmeter"}, id="unknown kind"),
    pytest.param("/serial", {"serial": 7}, id="unknown key"),
    pytest.param("/sensors", {"sensors": "lel"}, id="sensors in words"),
    pytest.param("/sensors/1", {"sensors": ["lel", ""]}, id="a sensor without name"),
    pytest.param("/lamp_ev", {"lamp_ev": 0}, id="a lamp of 0 eV"),
    pytest.param(
        "/correction_factors/pentane",
        {"correction_factors": {"pentane": 0}},
        id="a factor of 0",
    ),
    pytest.param(
        "/correction_factors/Hexane",
        {"correction_factors": {"hexane": 2, "Hexane": 3}},
        id="a substance twice",
    ),
    pytest.param(
        "/last_bump_test", {"last_bump_test": "2026-03-04"}, id="a day without time"
    ),
    pytest.param(
        "/last_bump_test", {"last_bump_test": "2026-03-04T13:20:00"}, id="naive time"
    ),
    pytest.param("/calibration_due", {"calibration_due": "2026-02-30"}, id="30 Feb"),
    pytest.param("/calibration_due", {"calibration_due": "06/01/2026"}, id="slashes"),
]


@pytest.mark.parametrize(("pointer", "changes"), INSTRUMENTS)
def test_a_wrong_instrument_is_named_by_its_place(pointer, changes):
    instruments = [
        {"id": "meter-0", "kind": "gas_meter"},
        {"id": "meter-1", "kind": "gas_meter", **changes},
    ]

    found = errors(worksheet(instruments=instruments))

    assert list(found) == [f"/instruments/1{pointer}"]
