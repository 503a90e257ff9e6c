"""SOP limits: the table with its sources, profiles, and what is looser than published."""

from dataclasses import replace
from decimal import Decimal

import pytest

from screening.profile import LIMITS, NO_SOURCE, ORDERED, PUBLISHED, Profile
from screening.worksheet import WorksheetErrors, parse_profile


def profile_with(**limits):
    return parse_profile({"name": "County SOP", "version": "4", "limits": limits})


def errors_of(document, pointer=""):
    with pytest.raises(WorksheetErrors) as caught:
        parse_profile(document, pointer)
    return {error.pointer: error for error in caught.value.errors}


PUBLISHED_DEFAULTS = [
    pytest.param(
        "lel_withdraw_percent", "10", "%", "1910.146", id="29 CFR 1910.146(b)"
    ),
    pytest.param("oxygen_enriched_percent", "23.5", "%", "1910.146", id="enriched"),
    pytest.param("oxygen_deficient_percent", "19.5", "%", "1910.146", id="deficient"),
    pytest.param("oxygen_min_for_lel", "19.5", "%", "1985", id="four agencies, 1985"),
    pytest.param("dose_turn_back_other", "5", "rem", "Table 3-1", id="EPA, all"),
    pytest.param(
        "dose_turn_back_product_control", "10", "rem", "Table 3-1", id="EPA, property"
    ),
    pytest.param("dose_turn_back_rescue", "25", "rem", "Table 3-1", id="EPA, lives"),
    pytest.param("dose_rate_hot_line", "0.01", "rem/h", "NCRP", id="NCRP 10 mR/h"),
    pytest.param("dose_rate_turn_back", "10", "rem/h", "NCRP", id="NCRP 10 R/h"),
    pytest.param("low_air_fraction", "0.33", "fraction", "NFPA 1981", id="NFPA 1981"),
    pytest.param("co_ceiling_ppm", "200", "ppm", "NIOSH", id="NIOSH C 200"),
    pytest.param("h2s_ceiling_ppm", "10", "ppm", "NIOSH", id="NIOSH C 10"),
    pytest.param("co_idlh_ppm", "1200", "ppm", "NIOSH", id="NIOSH IDLH CO"),
    pytest.param("h2s_idlh_ppm", "100", "ppm", "NIOSH", id="NIOSH IDLH H2S"),
]


@pytest.mark.parametrize(("key", "default", "unit", "source"), PUBLISHED_DEFAULTS)
def test_a_published_limit_has_its_value_and_its_source(key, default, unit, source):
    limit = LIMITS[key]

    assert limit.default == Decimal(default)
    assert limit.unit == unit
    assert source in limit.source
    assert limit.status == PUBLISHED


def test_every_other_limit_says_that_it_has_no_source():
    published = {row.values[0] for row in PUBLISHED_DEFAULTS}

    for key in LIMITS.keys() - published:
        assert LIMITS[key].status == NO_SOURCE
        assert "no source" in LIMITS[key].source


def test_the_default_profile_holds_every_limit_but_the_one_that_is_only_set_by_choice():
    profile = Profile.default()

    assert LIMITS.keys() - profile.limits.keys() == {"voc_ceiling_ppm"}
    assert profile.get("voc_ceiling_ppm") is None
    assert profile.shown("voc_ceiling_ppm") == "not set"
    assert profile.loosened() == ()


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("acid_caution_ph", "pH 5.5"),
        ("lel_withdraw_percent", "10 %"),
        ("dose_turn_back_other", "5 rem"),
        ("dose_rate_background", "0.1 mrem/h"),
        ("dose_rate_hot_line", "10 mrem/h"),
        ("dose_rate_turn_back", "10 rem/h"),
        ("thermal_rise", "4 Δ°F"),
        ("par_interval", "20 min"),
        ("low_air_fraction", "33 %"),
        ("co_idlh_ppm", "1200 ppm"),
    ],
)
def test_a_limit_is_shown_with_its_unit(key, words):
    assert Profile.default().shown(key) == words


def test_a_limit_in_another_unit_is_exact_and_shown_as_the_agency_wrote_it():
    profile = profile_with(
        dose_turn_back_other={"value": 50, "unit": "mSv"},
        dose_rate_hot_line={"value": 100, "unit": "uSv/h"},
        thermal_margin={"value": 5, "unit": "delta_degC"},
        exit_time={"value": 90, "unit": "s"},
    )

    assert profile["dose_turn_back_other"] == 5
    assert profile["dose_rate_hot_line"] == Decimal("0.01")
    assert profile["thermal_margin"] == 9
    assert profile["exit_time"] == 90
    assert profile.shown("dose_turn_back_other") == "50 mSv"
    assert profile.shown("dose_rate_hot_line") == "100 µSv/h"
    assert profile.shown("thermal_margin") == "5 Δ°C"
    assert profile.shown("exit_time") == "90 s"


def moved(limit, looser):
    """The published value a little to one side, as the document writes it."""
    raises = (limit.stricter == "lower") == looser
    value = limit.default * (Decimal("1.02") if raises else Decimal("0.98"))
    return {"value": value, "unit": limit.unit} if limit.is_quantity else value


@pytest.mark.parametrize("key", [row.values[0] for row in PUBLISHED_DEFAULTS])
def test_a_limit_looser_than_its_source_is_accepted_and_said_in_plain_words(key):
    profile = profile_with(**{key: moved(LIMITS[key], looser=True)})

    (sentence,) = profile.loosened()
    assert LIMITS[key].label in sentence
    assert (
        f"{profile.shown(key)}, looser than {Profile.default().shown(key)}" in sentence
    )
    assert LIMITS[key].source in sentence


@pytest.mark.parametrize("key", [row.values[0] for row in PUBLISHED_DEFAULTS])
def test_a_limit_stricter_than_its_source_needs_no_words(key):
    assert profile_with(**{key: moved(LIMITS[key], looser=False)}).loosened() == ()


def test_a_limit_without_a_source_is_never_called_loosened():
    profile = profile_with(
        lel_caution_percent=9, par_interval={"value": 2, "unit": "h"}, acid_stop_ph=2
    )

    assert profile.loosened() == ()


def test_the_reason_for_a_looser_limit_stands_with_it():
    profile = replace(
        profile_with(lel_withdraw_percent=20, co_ceiling_ppm=300),
        reasons={"lel_withdraw_percent": "Our meters are read at the pump."},
    )

    with_reason, without = profile.loosened()

    assert with_reason.endswith(
        "looser than 10 % (29 CFR 1910.146(b): in excess of 10 % of the LEL). "
        "Reason given: Our meters are read at the pump."
    )
    assert "Reason" not in without
    assert list(profile.loosened_by_key()) == ["lel_withdraw_percent", "co_ceiling_ppm"]


def test_a_reason_alone_loosens_nothing():
    profile = replace(Profile.default(), reasons={"lel_withdraw_percent": "none"})

    assert profile.loosened() == ()


def test_the_published_value_in_another_unit_is_not_looser():
    profile = profile_with(
        dose_turn_back_rescue={"value": 250, "unit": "mSv"},
        dose_rate_turn_back={"value": 100, "unit": "mSv/h"},
    )

    assert profile.loosened() == ()


@pytest.mark.parametrize(
    ("limits", "key", "relation"),
    [
        pytest.param({"acid_stop_ph": 6}, "acid_stop_ph", "at most", id="acid"),
        pytest.param(
            {"acid_caution_ph": 3}, "acid_caution_ph", "at least", id="acid 2"
        ),
        pytest.param({"base_stop_ph": 7}, "base_stop_ph", "at least", id="base"),
        pytest.param({"acid_caution_ph": 8}, "acid_caution_ph", "below", id="overlap"),
        pytest.param(
            {"lel_withdraw_percent": "0.5"},
            "lel_withdraw_percent",
            "at least",
            id="LEL",
        ),
        pytest.param(
            {"oxygen_deficient_percent": "20.9"},
            "oxygen_deficient_percent",
            "below",
            id="fresh air called deficient",
        ),
        pytest.param(
            {"oxygen_enriched_percent": 20}, "oxygen_enriched_percent", "above", id="O2"
        ),
        pytest.param(
            {"oxygen_min_for_lel": 24}, "oxygen_min_for_lel", "below", id="min"
        ),
        pytest.param({"co_ceiling_ppm": 1300}, "co_ceiling_ppm", "at most", id="CO"),
        pytest.param({"h2s_idlh_ppm": 5}, "h2s_idlh_ppm", "at least", id="H2S"),
        pytest.param(
            {"voc_ceiling_ppm": "0.5"}, "voc_ceiling_ppm", "at least", id="VOC"
        ),
    ],
)
def test_limits_that_contradict_each_other_are_refused(limits, key, relation):
    limits = {name: Decimal(value) for name, value in limits.items()}

    errors = errors_of({"name": "x", "version": "1", "limits": limits}, "/profile")

    assert list(errors) == [f"/profile/limits/{key}"]
    assert relation in errors[f"/profile/limits/{key}"].expected


def test_a_stop_at_the_caution_is_no_contradiction():
    profile = profile_with(acid_stop_ph=5, acid_caution_ph=5, lel_caution_percent=10)

    assert profile["acid_stop_ph"] == profile["acid_caution_ph"] == 5


def test_the_default_limits_do_not_contradict_each_other():
    profile = Profile.default()

    for low, high, may_be_equal in ORDERED:
        below, above = profile[low], profile.get(high)
        assert above is None or below < above or (may_be_equal and below == above)


def test_a_wrong_limit_is_not_held_against_its_neighbour():
    errors = errors_of(
        {
            "name": "x",
            "version": "1",
            "limits": {"acid_stop_ph": "low", "acid_caution_ph": 3},
        }
    )

    assert list(errors) == ["/limits/acid_stop_ph"]


@pytest.mark.parametrize(
    ("limits", "pointer"),
    [
        pytest.param({"lel_widthdraw": 10}, "/limits/lel_widthdraw", id="unknown key"),
        pytest.param({"acid_stop_ph": 15}, "/limits/acid_stop_ph", id="pH 15"),
        pytest.param({"acid_stop_ph": True}, "/limits/acid_stop_ph", id="boolean"),
        pytest.param({"co_idlh_ppm": -1}, "/limits/co_idlh_ppm", id="negative"),
        pytest.param(
            {"co_idlh_ppm": {"value": 1200, "unit": "ppm"}},
            "/limits/co_idlh_ppm",
            id="q",
        ),
        pytest.param({"low_air_fraction": 33}, "/limits/low_air_fraction", id="33"),
        pytest.param({"low_air_fraction": 0}, "/limits/low_air_fraction", id="none"),
        pytest.param({"exit_time": 5}, "/limits/exit_time", id="no unit"),
        pytest.param(
            {"exit_time": {"value": 0, "unit": "min"}},
            "/limits/exit_time/value",
            id="0 min",
        ),
        pytest.param(
            {"exit_time": {"value": 5, "unit": "rem"}},
            "/limits/exit_time/unit",
            id="rem",
        ),
        pytest.param(
            {"thermal_rise": {"value": 4, "unit": "degF"}},
            "/limits/thermal_rise/unit",
            id="F",
        ),
        pytest.param(
            {"dose_turn_back_other": {"value": 5, "unit": "rad"}},
            "/limits/dose_turn_back_other/unit",
            id="rad",
        ),
    ],
)
def test_a_wrong_limit_is_named_by_its_place(limits, pointer):
    assert list(errors_of({"name": "x", "version": "1", "limits": limits})) == [pointer]


def test_a_profile_needs_its_name_and_its_version():
    errors = errors_of({"version": "", "extra": 1}, "/profile")

    assert list(errors) == ["/profile/extra", "/profile/name", "/profile/version"]
    assert errors["/profile/name"].value == "(missing)"


def test_an_agency_brings_its_own_paper_chart():
    profile = parse_profile(
        {
            "name": "x",
            "version": "1",
            "paper_chart": {"red": [0, 2], "amber": [3, Decimal("4.5")]},
        }
    )

    assert list(profile.paper_chart) == ["red", "amber"]
    assert profile.paper_chart["red"] == (Decimal(0), Decimal(2))
    assert profile.paper_chart["amber"] == (Decimal(3), Decimal("4.5"))


@pytest.mark.parametrize(
    "band", [[4], [5, 4], [-1, 3], [13, 15], ["4", "5"], 4, None, [True, 5], [1, 2, 3]]
)
def test_a_colour_of_the_chart_needs_its_lowest_and_its_highest_ph(band):
    chart = {"name": "x", "version": "1", "paper_chart": {"red": [0, 3], "a/b": band}}

    assert list(errors_of(chart)) == ["/paper_chart/a~1b"]


def test_a_chart_without_colours_is_refused():
    errors = errors_of({"name": "x", "version": "1", "paper_chart": {}})

    assert list(errors) == ["/paper_chart"]
