"""Each kind of log entry: what is read from it, and what it cannot hold."""

from decimal import Decimal
from typing import Any

import pytest

from screening.readings import KINDS
from screening.verdicts import Hazard
from screening.worksheet import (
    EXPOSURE_CAUTION,
    WorksheetErrors,
    cautions_of,
    parse_entry,
    parse_worksheet,
)
from tests.screening.worksheets import (
    VALID,
    entry,
    entry_errors,
    errors,
    log_of,
    parsed,
    quantity,
    worksheet,
)


def test_a_ph_is_its_own_lowest_and_highest():
    paper = parsed("ph_paper", ph=Decimal("2.5"), moistened=True, carried_on="hook")

    assert (paper.low, paper.high, paper.band) == (Decimal("2.5"), Decimal("2.5"), "")
    assert (paper.moistened, paper.faded, paper.bleached) == (True, False, False)
    assert paper.carried_on == "hook"


@pytest.mark.parametrize(
    ("band", "low", "high"),
    [
        ("red", 0, 3),
        ("orange", 4, 4),
        ("yellow", 5, 6),
        ("green", 7, 7),
        ("blue_green", 8, 9),
        ("blue", 10, 12),
        ("dark_blue", 13, 14),
    ],
)
def test_a_band_has_the_ends_that_the_default_chart_gives_it(band, low, high):
    paper = parsed("ph_paper", ph=..., band=band)

    assert (paper.band, paper.low, paper.high) == (band, low, high)


def test_a_band_is_read_by_the_chart_of_the_profile():
    profile = {"name": "x", "version": "1", "paper_chart": {"pink": [0, 4]}}
    pink, red = (
        worksheet(entry("ph_paper", sample="vapour", band=band), profile=profile)
        for band in ("pink", "red")
    )

    paper: Any
    (paper,) = parse_worksheet(pink).log

    assert (paper.low, paper.high) == (0, 4)
    assert errors(red)["/log/0/band"].expected == "one of pink"


def test_bleached_paper_has_no_ph():
    paper = parsed("ph_paper", ph=..., bleached=True)

    assert (paper.bleached, paper.low, paper.high) == (True, None, None)


def test_a_meter_is_read_sensor_by_sensor():
    meter = parsed(
        "gas_meter",
        lel_percent=0,
        oxygen_percent=Decimal("20.9"),
        co_ppm=35,
        h2s_ppm=1,
        voc_ppm=12,
        lamp_ev=Decimal("10.6"),
        gases={" Chlorine ": 2, "carbon  dioxide": 5000},
        over_range=["lel"],
        height="floor",
    )

    assert (meter.lel_percent, meter.oxygen_percent) == (0, Decimal("20.9"))
    assert (meter.co_ppm, meter.h2s_ppm, meter.voc_ppm) == (35, 1, 12)
    assert meter.lamp_ev == Decimal("10.6")
    assert meter.gases == (("carbon dioxide", 5000), ("chlorine", 2))
    assert meter.over_range == {"lel"}
    assert meter.height == "floor"


def test_a_sensor_that_was_not_read_is_not_zero():
    meter = parsed("gas_meter", lel_percent=..., oxygen_percent=20)

    assert meter.lel_percent is None
    assert meter.co_ppm is None


@pytest.mark.parametrize(
    ("sensor", "fields"),
    [
        pytest.param("VOC", {}, id="a common sensor, whatever the case"),
        pytest.param("stibine", {"gases": {"Stibine": 3}}, id="a gas of the entry"),
        pytest.param("phosphine", {"instrument": "meter-1"}, id="of the instrument"),
        pytest.param("germane", {}, id="a suspect that is in no table"),
        pytest.param("chlorine", {}, id="a gas of the table of substances"),
        pytest.param("Cl2", {}, id="another name of it"),
    ],
)
def test_over_range_names_a_sensor_that_something_knows(sensor, fields):
    meter = parsed("gas_meter", lel_percent=..., over_range=[sensor], **fields)

    assert meter.over_range == {sensor.lower()}


def test_a_lamp_can_be_noted_with_an_organic_vapour_over_range():
    meter = parsed("gas_meter", lel_percent=..., over_range=["voc"], lamp_ev=10)

    assert (meter.voc_ppm, meter.lamp_ev) == (None, 10)


def test_temperatures_are_in_fahrenheit_and_shown_as_entered():
    imager = parsed(
        "thermal_imager",
        target="closed_container",
        container="  drum   4 ",
        surface=quantity(41, "degC"),
        surroundings=quantity(Decimal("68.0"), "degF"),
        shiny=True,
    )

    assert (imager.surface_degf, imager.surroundings_degf) == (Decimal("105.8"), 68)
    assert imager.container == "drum 4"
    assert imager.shiny
    assert imager.shown == {"surface": "41 °C", "surroundings": "68.0 °F"}


def test_a_dosimeter_is_read_for_a_member_at_a_distance():
    dosimeter = parsed(
        "dosimeter",
        dose_rate=quantity(12, "uSv/h"),
        dose=quantity(250, "mSv"),
        alarm=False,
        member="b",
        distance=quantity(3, "ft"),
    )

    assert dosimeter.dose_rate_rem_per_hour == Decimal("0.0012")
    assert dosimeter.dose_rem == 25
    assert dosimeter.alarm is False
    assert dosimeter.member == "b"
    assert dosimeter.distance_m == Decimal("0.9144")
    assert dosimeter.shown["dose_rate"] == "12 µSv/h"


def test_an_alarm_that_was_not_noted_is_not_a_quiet_one():
    assert parsed("dosimeter").alarm is None


def test_an_air_check_is_shown_in_the_unit_of_the_gauge():
    check = parsed("air_check", pressure=quantity(210, "bar"))

    assert check.pressure_psi == Decimal("3045.792492")
    assert check.shown == {"pressure": "210 bar"}


@pytest.mark.parametrize(
    ("fields", "shown"),
    [
        pytest.param({"lel_percent": 12}, {"lel_percent": "12 % LEL"}, id="LEL"),
        pytest.param(
            {"oxygen_percent": Decimal("20.90")}, {"oxygen_percent": "20.90 %"}, id="O2"
        ),
        pytest.param({"co_ppm": Decimal("1E+3")}, {"co_ppm": "1000 ppm"}, id="no 1E+3"),
        pytest.param(
            {"voc_ppm": 5}, {"voc_ppm": "5 units"}, id="never ppm of something"
        ),
        pytest.param({"gases": {"NH3": 7}}, {"gases/nh3": "7 ppm"}, id="another cell"),
    ],
)
def test_figures_of_a_meter_are_shown_with_their_unit(fields, shown):
    meter = parsed("gas_meter", **{"lel_percent": ..., **fields})

    assert meter.shown == shown


@pytest.mark.parametrize(
    "fields",
    [
        pytest.param({"dose_rate": quantity(8, "mR/h")}, id="mR/h"),
        pytest.param({"dose_rate": quantity(8, "µR/h")}, id="µR/h"),
        pytest.param({"dose_rate": ..., "dose": quantity(1, "R")}, id="R"),
    ],
)
def test_exposure_is_taken_as_dose_with_a_caution_said_once(fields):
    log = [
        entry("dosimeter", id=f"o{number}", **{**VALID["dosimeter"], **fields})
        for number in range(3)
    ]
    log = [
        {name: value for name, value in raw.items() if value is not ...} for raw in log
    ]

    read = parse_worksheet(worksheet(*log))

    assert read.cautions == (EXPOSURE_CAUTION,)
    assert [cautions_of(found) for found in read.log] == [(EXPOSURE_CAUTION,)] * 3


def test_dose_equivalent_needs_no_caution():
    read = parse_worksheet(worksheet(*log_of("dosimeter", dose=quantity(1, "mrem"))))

    assert read.cautions == ()
    assert cautions_of(read.log[1]) == ()


# People and decisions


def test_par_names_those_who_did_not_answer():
    assert parsed("par", unanswered=["b", "b"]).unanswered == ("b",)
    assert parsed("par").unanswered == ()


@pytest.mark.parametrize(
    "kind", ["ventilate", "acknowledge", "strike", "clear", "bump_test"]
)
def test_some_kinds_need_no_team_but_one_that_is_given_must_exist(kind):
    assert parsed(kind, team=...).team == ""
    assert parsed(kind, team="backup").team == "backup"
    assert entry_errors(kind, team="entry-7") == ["/team"]


@pytest.mark.parametrize(
    "kind",
    sorted(KINDS.keys() - {"ventilate", "acknowledge", "strike", "clear", "bump_test"}),
)
def test_every_other_kind_needs_its_team(kind):
    assert "/team" in entry_errors(kind, team=...)


@pytest.mark.parametrize("hazard", list(Hazard))
def test_each_hazard_can_be_named_in_a_clear(hazard):
    assert parsed("clear", hazard=hazard.value).hazard == hazard


def test_a_bump_test_names_what_was_tested():
    test = parsed("bump_test", passed=False)

    assert (test.instrument, test.passed) == ("meter-1", False)


def test_places_that_look_alike_are_one_place():
    spelt = ["tank room", "  tank \t room\n", "tank\u00a0room", "tank\u200b room"]

    assert {parsed("enter", place=place).place for place in spelt} == {"tank room"}
    assert parsed("enter", place="caf\u00e9").place == "café"
    assert parsed("enter", place="cafe\u0301").place == "café"
    assert parsed("enter", place=...).place == parsed("enter", place=" ").place == ""


def test_a_note_is_kept_as_it_was_written():
    note = "first line\r\n\tsecond <b>line</b> &amp; 測定 \U0001f525"

    assert parsed("enter", note=note).note == note


@pytest.mark.parametrize("kind", VALID)
def test_every_kind_refuses_a_field_that_it_does_not_have(kind):
    assert entry_errors(kind, colour="blue") == ["/colour"]
    assert "/kind" not in entry_errors(kind, hazrd="acid_vapour")


MISSING = [
    ("ph_paper", "sample"),
    ("ph_paper", "ph"),
    ("ki_starch_paper", "sample"),
    ("ki_starch_paper", "result"),
    ("fluoride_paper", "sample"),
    ("fluoride_paper", "result"),
    ("thermal_imager", "target"),
    ("thermal_imager", "surface"),
    ("sign", "what"),
    ("air_check", "member"),
    ("air_check", "pressure"),
    ("change_ensemble", "ensemble"),
    ("ventilate", "method"),
    ("acknowledge", "entry"),
    ("acknowledge", "by"),
    ("bump_test", "instrument"),
    ("bump_test", "passed"),
    ("strike", "entry"),
    ("strike", "by"),
    ("strike", "reason"),
    ("clear", "hazard"),
    ("clear", "by"),
    ("clear", "reason"),
]


@pytest.mark.parametrize(
    ("kind", "name"),
    MISSING + [(kind, name) for kind in VALID for name in ("id", "at")],
)
def test_a_missing_field_is_named_by_the_place_where_it_should_stand(kind, name):
    found = errors(worksheet(*log_of(kind, **{name: ...})))

    assert list(found) == [f"/log/1/{name}"]
    assert found[f"/log/1/{name}"].value == "(missing)"


def test_an_entry_without_a_kind_is_refused():
    without = entry("enter")
    del without["kind"]

    assert list(errors(worksheet(without))) == ["/log/0/kind"]


WRONG_TOGETHER = [
    pytest.param("ph_paper", {"bleached": True}, ["/ph"], id="bleached with a pH"),
    pytest.param(
        "ph_paper", {"bleached": True, "ph": ..., "band": "red"}, ["/band"], id="band"
    ),
    pytest.param("ph_paper", {"band": "red"}, ["/band"], id="pH and band"),
    pytest.param("ph_paper", {"ph": ..., "bleached": False}, ["/ph"], id="neither"),
    pytest.param(
        "ki_starch_paper",
        {"sample": "vapour", "edge_checked": True},
        ["/edge_checked"],
        id="an edge in the air",
    ),
    pytest.param("gas_meter", {"lel_percent": ...}, [""], id="no sensor"),
    pytest.param(
        "gas_meter",
        {"lel_percent": ..., "gases": {}, "over_range": []},
        [""],
        id="empty",
    ),
    pytest.param("gas_meter", {"lamp_ev": 10}, ["/lamp_ev"], id="lamp without VOC"),
    pytest.param("gas_meter", {"over_range": ["lell"]}, ["/over_range/0"], id="lell"),
    pytest.param("gas_meter", {"over_range": "lel"}, ["/over_range"], id="no list"),
    pytest.param(
        "gas_meter",
        {"over_range": ["phosphine"]},
        ["/over_range/0"],
        id="not this meter",
    ),
    pytest.param(
        "gas_meter", {"gases": {"co2": 1, "CO2": 2}}, ["/gases/CO2"], id="a gas twice"
    ),
    pytest.param("gas_meter", {"gases": {" ": 1}}, ["/gases/ "], id="no name"),
    pytest.param("gas_meter", {"gases": {"a/b": -1}}, ["/gases/a~1b"], id="below 0"),
    pytest.param("dosimeter", {"dose_rate": ...}, [""], id="nothing read"),
    pytest.param(
        "dosimeter",
        {"contact": True, "distance": quantity(1, "m")},
        ["/distance"],
        id="contact from a distance",
    ),
    pytest.param("dosimeter", {"member": "z"}, ["/member"], id="no such member"),
    pytest.param("air_check", {"member": "z"}, ["/member"], id="air of a stranger"),
    pytest.param("air_check", {"team": "backup"}, ["/member"], id="of another team"),
    pytest.param("par", {"unanswered": ["a", "z"]}, ["/unanswered/1"], id="PAR"),
    pytest.param("par", {"unanswered": "b"}, ["/unanswered"], id="PAR no list"),
    pytest.param("enter", {"member": "a"}, ["/member"], id="enter of a member"),
    pytest.param("clear", {"hazard": "acid"}, ["/hazard"], id="no such hazard"),
    pytest.param("clear", {"reason": " "}, ["/reason"], id="clear without reason"),
    pytest.param("acknowledge", {"by": "\ufeff"}, ["/by"], id="by nobody"),
]


@pytest.mark.parametrize(("kind", "fields", "pointers"), WRONG_TOGETHER)
def test_fields_that_do_not_go_together_are_refused(kind, fields, pointers):
    assert entry_errors(kind, **fields) == pointers


def test_a_false_flag_is_the_same_as_none():
    paper = parsed("ki_starch_paper", sample="vapour", edge_checked=False)

    assert paper == parsed("ki_starch_paper", sample="vapour")


def test_an_alarm_alone_is_a_reading():
    context = parse_worksheet(worksheet()).context

    reading: Any = parse_entry(entry("dosimeter", alarm=True), context)
    assert reading.alarm is True
    with pytest.raises(WorksheetErrors, match="dose_rate, dose and alarm"):
        parse_entry(entry("dosimeter"), context)
