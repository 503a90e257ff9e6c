"""Bad values in the fields of an entry, each refused at its place and none read as another.

The numbers C1 to C42 are those of the project's table of bad inputs.
"""

from decimal import Decimal

import pytest

from tests.screening.worksheets import (
    VALID,
    entry_errors,
    errors,
    log_of,
    parsed,
    worksheet,
)

NOT_A_NUMBER = [
    pytest.param(Decimal("NaN"), id="C1: NaN"),
    pytest.param(float("nan"), id="C1: float NaN"),
    pytest.param(Decimal("Infinity"), id="C2: infinity"),
    pytest.param(float("-inf"), id="C2: float infinity"),
    pytest.param(Decimal("1e400"), id="C3: 1e400"),
    pytest.param(1e308, id="C4: 1e308"),
    pytest.param(-1, id="C5: below 0"),
    pytest.param("7,5", id="C6: comma"),
    pytest.param("7.5", id="a number as text"),
    pytest.param("٧.٥", id="C7: Arabic-Indic digits"),
    pytest.param("７", id="C7: full width"),
    pytest.param("½", id="C8: a half"),
    pytest.param("0x10", id="C8: hexadecimal"),
    pytest.param("1_000", id="C9: underscore"),
    pytest.param(10**5_000, id="C11: 5,001 digits"),
    pytest.param("5 %", id="C12: a unit in the number"),
    pytest.param({"value": 5, "unit": "ppm"}, id="C12: a quantity"),
    pytest.param("OR", id="C14: over range as a value"),
    pytest.param(True, id="true"),
    pytest.param(None, id="C33: null"),
    pytest.param([5], id="C33: a list"),
    pytest.param("", id="C21: empty"),
]
PLAIN_NUMBERS = [
    ("ph_paper", "ph"),
    ("gas_meter", "lel_percent"),
    ("gas_meter", "oxygen_percent"),
    ("gas_meter", "co_ppm"),
    ("gas_meter", "h2s_ppm"),
    ("gas_meter", "voc_ppm"),
]


@pytest.mark.parametrize("value", NOT_A_NUMBER)
@pytest.mark.parametrize(("kind", "name"), PLAIN_NUMBERS)
def test_what_is_no_number_is_refused(kind, name, value):
    assert entry_errors(kind, **{name: value}) == [f"/{name}"]


@pytest.mark.parametrize("value", NOT_A_NUMBER)
def test_what_is_no_number_is_no_value_of_a_quantity(value):
    pressure = {"value": value, "unit": "psi"}

    assert entry_errors("air_check", pressure=pressure) == ["/pressure/value"]


@pytest.mark.parametrize(
    ("kind", "name", "value"),
    [
        pytest.param("ph_paper", "ph", Decimal("14.5"), id="C13: pH 14.5"),
        pytest.param("ph_paper", "ph", Decimal("14.0001"), id="pH just over"),
        pytest.param("gas_meter", "oxygen_percent", 120, id="C13: O2 120 %"),
        pytest.param("gas_meter", "oxygen_percent", Decimal("100.1"), id="O2 100.1 %"),
        pytest.param("gas_meter", "lel_percent", 101, id="LEL 101 %"),
        pytest.param("gas_meter", "co_ppm", 1_000_001, id="more than all the air"),
        pytest.param("gas_meter", "voc_ppm", Decimal("-0.1"), id="VOC below 0"),
    ],
)
def test_a_number_beyond_its_hard_bounds_is_refused(kind, name, value):
    assert entry_errors(kind, **{name: value}) == [f"/{name}"]


@pytest.mark.parametrize(
    ("kind", "name", "value"),
    [
        pytest.param("ph_paper", "ph", 0, id="pH 0"),
        pytest.param("ph_paper", "ph", 14, id="pH 14"),
        pytest.param("gas_meter", "oxygen_percent", 0, id="no oxygen"),
        pytest.param("gas_meter", "oxygen_percent", 100, id="pure oxygen"),
        pytest.param("gas_meter", "lel_percent", 100, id="LEL 100 %"),
        pytest.param("gas_meter", "co_ppm", 1_000_000, id="all of the air"),
    ],
)
def test_a_number_at_its_hard_bounds_is_taken(kind, name, value):
    found = parsed(kind, **{name: value})

    assert getattr(found, "low" if name == "ph" else name) == value


def test_minus_zero_is_zero():
    meter = parsed("gas_meter", lel_percent=Decimal("-0"), oxygen_percent=-0.0)  # C5

    assert (str(meter.lel_percent), meter.shown["lel_percent"]) == ("0", "0 % LEL")
    assert not meter.oxygen_percent.is_signed()


@pytest.mark.parametrize(
    ("kind", "name", "value", "part"),
    [
        pytest.param("thermal_imager", "surface", (0, "kelvin"), "value", id="0 K"),
        pytest.param(
            "thermal_imager", "surface", ("-273.15", "degC"), "value", id="-273.15 °C"
        ),
        pytest.param(
            "thermal_imager", "surface", (20_001, "degF"), "value", id="a star"
        ),
        pytest.param("thermal_imager", "surface", (20, "delta_degC"), "unit", id="Δ"),
        pytest.param("thermal_imager", "surface", (20, "C"), "unit", id="coulomb"),
        pytest.param(
            "dosimeter", "dose_rate", (-1, "rem/h"), "value", id="dose rate < 0"
        ),
        pytest.param("dosimeter", "dose_rate", (1, "rem"), "unit", id="dose for rate"),
        pytest.param("dosimeter", "dose_rate", (1, "mGy/h"), "unit", id="absorbed"),
        pytest.param("dosimeter", "dose_rate", (1, "cpm"), "unit", id="counts"),
        pytest.param("dosimeter", "dose", (-1, "mSv"), "value", id="dose below 0"),
        pytest.param("dosimeter", "dose", (1, "rad"), "unit", id="rad"),
        pytest.param("dosimeter", "distance", (0, "m"), "value", id="0 m"),
        pytest.param("air_check", "pressure", (-5, "psi"), "value", id="vacuum"),
        pytest.param("air_check", "pressure", (100_001, "psi"), "value", id="bursting"),
        pytest.param(
            "air_check", "pressure", (9, "gigabar"), "value", id="a star's heart"
        ),
        pytest.param("air_check", "pressure", (4400, "ppm"), "unit", id="C12: ppm"),
        pytest.param("air_check", "pressure", (4400, ""), "unit", id="no unit"),
        pytest.param("air_check", "pressure", (4400, None), "unit", id="null unit"),
    ],
)
def test_a_quantity_beyond_its_bounds_or_dimension_is_refused(kind, name, value, part):
    number, unit = value
    number = Decimal(number)

    found = entry_errors(kind, **{name: {"value": number, "unit": unit}})

    assert found == [f"/{name}/{part}"]


def test_value_and_unit_can_both_be_wrong():
    found = entry_errors(
        "air_check", pressure={"value": "full", "unit": "lots", "x": 1}
    )

    assert found == ["/pressure/x", "/pressure/unit", "/pressure/value"]


@pytest.mark.parametrize("value", [4400, "4400 psi", None, [4400, "psi"]])
def test_a_quantity_is_an_object(value):
    assert entry_errors("air_check", pressure=value) == ["/pressure"]


@pytest.mark.parametrize(
    "at",
    [
        pytest.param("2026-03-04T14:02:00", id="naive"),
        pytest.param("2026-03-04 14:02:00-05:00", id="no T"),
        pytest.param("2026-03-04", id="a day"),
        pytest.param("14:02", id="a clock time"),
        pytest.param("2026-03-04T14:02:00+25:00", id="offset of 25 hours"),
        pytest.param("2026-03-04T14:02:00+15:00", id="offset of no place on earth"),
        pytest.param("2026-03-04T14:02:00-0500", id="offset without colon"),
        pytest.param("2026-03-04T14:02:00.1234567Z", id="more than microseconds"),
        pytest.param("2026-W10-3T14:02:00Z", id="week date"),
        pytest.param("20260304T140200Z", id="basic format"),
        pytest.param("0001-01-01T00:00:00+14:00", id="C19: year 1"),
        pytest.param("9999-12-31T23:59:59-14:00", id="C19: year 9999"),
        pytest.param("2026-02-30T14:02:00Z", id="C20: 30 February"),
        pytest.param("2026-03-04T24:00:00Z", id="C20: 24:00"),
        pytest.param("2026-03-04T14:60:00Z", id="C20: minute 60"),
        pytest.param("2026-03-04T23:59:60Z", id="leap second"),
        pytest.param(1772650920, id="C20: epoch number"),
        pytest.param("٢٠٢٦-03-04T14:02:00Z", id="C7: other digits"),
        pytest.param("2026-03-04T14:02:00Z\n", id="line end after it"),
        pytest.param("", id="empty"),
        pytest.param(None, id="null"),
        pytest.param(True, id="true"),
    ],
)
def test_what_is_no_moment_with_its_offset_is_refused(at):
    assert entry_errors("enter", at=at) == ["/at"]


@pytest.mark.parametrize(
    ("at", "iso"),
    [
        ("2026-03-04T14:02Z", "2026-03-04T14:02:00+00:00"),
        ("2026-03-04T14:02:00.250+05:30", "2026-03-04T14:02:00.250000+05:30"),
        ("2026-03-04T14:02:00-00:00", "2026-03-04T14:02:00+00:00"),
    ],
)
def test_moments_of_rfc_3339_are_taken(at, iso):
    assert parsed("enter", at=at).at.isoformat() == iso


REFUSED_TEXT = [
    pytest.param("tank\x00room", "U+0000", id="C22: NUL"),
    pytest.param("tank\ud800room", "U+D800", id="C23: lone surrogate"),
    pytest.param("tank\u202eroom", "U+202E", id="C24: right-to-left override"),
    pytest.param("tank\u2066room", "U+2066", id="C24: isolate"),
    pytest.param("tank\u200froom", "U+200F", id="C24: right-to-left mark"),
    pytest.param("tank\x1b[31mroom", "U+001B", id="escape sequence"),
    pytest.param("tank\x9broom", "U+009B", id="C1 control"),
    pytest.param("tank\uffffroom", "U+FFFF", id="no character"),
]
TEXTS = [
    ("enter", "id"),
    ("enter", "place"),
    ("enter", "note"),
    ("enter", "instrument"),
    ("thermal_imager", "container"),
    ("ventilate", "method"),
    ("acknowledge", "by"),
    ("strike", "reason"),
    ("clear", "reason"),
]


@pytest.mark.parametrize(("text", "code"), REFUSED_TEXT)
@pytest.mark.parametrize(("kind", "name"), TEXTS)
def test_text_that_cannot_be_kept_or_shown_is_refused_by_its_code(
    kind, name, text, code
):
    found = errors(worksheet(*log_of(kind, **{name: text})))

    assert list(found) == [f"/log/1/{name}"]
    assert code in found[f"/log/1/{name}"].value


@pytest.mark.parametrize("value", [7, None, True, ["text"], {"text": 1}])
@pytest.mark.parametrize(("kind", "name"), TEXTS)
def test_what_is_no_text_is_refused(kind, name, value):
    assert entry_errors(kind, **{name: value}) == [f"/{name}"]


@pytest.mark.parametrize(
    ("kind", "name", "longest"),
    [
        pytest.param("enter", "id", 200, id="id"),
        pytest.param("enter", "place", 200, id="place"),
        pytest.param("thermal_imager", "container", 200, id="container"),
        pytest.param("acknowledge", "by", 200, id="by"),
        pytest.param("enter", "note", 10_000, id="C26, C27: note"),
        pytest.param("strike", "reason", 10_000, id="reason"),
    ],
)
def test_a_text_may_be_so_long_and_no_longer(kind, name, longest):
    assert getattr(parsed(kind, **{name: "x" * longest}), name) == "x" * longest

    found = errors(worksheet(*log_of(kind, **{name: "x" * (longest + 1)})))
    assert list(found) == [f"/log/1/{name}"]
    assert found[f"/log/1/{name}"].value == f"{longest + 1:,} characters"


def test_500_combining_marks_are_cut_off_by_the_length_of_a_name():
    assert entry_errors("enter", place="e" + "\u0301" * 500) == ["/place"]  # C25


FLAGS = [
    ("ph_paper", "moistened"),
    ("ph_paper", "bleached"),
    ("ph_paper", "faded"),
    ("ki_starch_paper", "moistened"),
    ("ki_starch_paper", "edge_checked"),
    ("fluoride_paper", "moistened"),
    ("thermal_imager", "shiny"),
    ("dosimeter", "alarm"),
    ("dosimeter", "contact"),
    ("bump_test", "passed"),
]


@pytest.mark.parametrize("value", [1, 0, "true", "yes", None, [], Decimal(1)])
@pytest.mark.parametrize(("kind", "name"), FLAGS)
def test_a_flag_is_true_or_false_and_nothing_like_it(kind, name, value):
    assert entry_errors(kind, **{name: value}) == [f"/{name}"]


CHOICES = [
    ("ph_paper", "sample"),
    ("ph_paper", "carried_on"),
    ("ki_starch_paper", "sample"),
    ("ki_starch_paper", "result"),
    ("fluoride_paper", "result"),
    ("gas_meter", "height"),
    ("thermal_imager", "target"),
    ("sign", "what"),
    ("change_ensemble", "ensemble"),
    ("clear", "hazard"),
]


@pytest.mark.parametrize("value", ["", "Vapour", " vapour", 1, None, ["vapour"], {}])
@pytest.mark.parametrize(("kind", "name"), CHOICES)
def test_a_choice_is_one_of_its_words_to_the_letter(kind, name, value):
    assert entry_errors(kind, **{name: value}) == [f"/{name}"]


@pytest.mark.parametrize("kind", ["smell", "", 7, None, ["enter"], {}, True, "Enter"])
def test_an_unknown_kind_is_refused_and_the_rest_of_the_entry_still_read(kind):
    bad = {**log_of("enter")[1], "kind": kind, "at": "now"}

    assert list(errors(worksheet(bad))) == ["/log/0/kind", "/log/0/at"]


@pytest.mark.parametrize("kind", VALID)
def test_the_valid_entry_of_each_kind_is_valid(kind):
    assert parsed(kind).kind == kind
