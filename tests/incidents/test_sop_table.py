"""Limits and house rules in one table: each once, its units, and what a document holds."""

from decimal import Decimal

import pytest

from incidents.house_rules import HOUSE_RULES
from incidents.sop_table import ITEMS, OTHER, PAIRS, SECTIONS
from screening.profile import DEFAULTS, LIMITS, Profile
from screening.worksheet import parse_profile


def test_every_limit_and_every_house_rule_stands_once_in_a_section_of_its_own_subject():
    keys = [item.key for items in SECTIONS.values() for item in items]

    assert sorted(keys) == sorted([*LIMITS, *HOUSE_RULES])
    assert len(set(keys)) == len(keys)
    assert OTHER not in SECTIONS


def test_no_house_rule_has_the_name_of_a_limit():
    assert not set(LIMITS) & set(HOUSE_RULES)


def test_what_is_said_of_a_limit_is_what_the_engine_says():
    default = Profile.default()

    for key in LIMITS:
        assert ITEMS[key].default_words == default.shown(key)
        assert ITEMS[key].source == LIMITS[key].source


def test_the_defaults_written_out_are_the_defaults_of_the_engine():
    limits = {key: ITEMS[key].default_raw() for key in DEFAULTS}

    profile = parse_profile({"name": "x", "version": "1", "limits": limits})

    assert profile.limits == DEFAULTS
    for key in DEFAULTS:
        assert profile.shown(key) == Profile.default().shown(key)


@pytest.mark.parametrize("key", list(ITEMS))
def test_a_default_survives_being_typed_and_read_back(key):
    item = ITEMS[key]
    raw = item.default_raw()
    if raw is None:
        assert item.default is None
        return

    figure, unit = item.typed(raw)

    assert item.takes_unit(unit)
    assert item.raw(figure, unit) == raw
    assert item.canonical(raw) == item.default


@pytest.mark.parametrize(
    ("key", "figure", "unit", "canonical"),
    [
        ("low_air_fraction", "33", "% of rated pressure", "0.33"),
        ("dose_turn_back_other", "50", "mSv", "5"),
        ("dose_rate_hot_line", "100", "uSv/h", "0.01"),
        ("thermal_margin", "5", "delta_degC", "9"),
        ("par_interval", "15", "min", "900"),
        ("acid_stop_ph", "4.5", "pH", "4.5"),
        ("body_temperature_max", "37.5", "degC", "99.5"),
    ],
)
def test_a_figure_is_exact_in_every_unit(key, figure, unit, canonical):
    item = ITEMS[key]

    assert item.canonical(item.raw(Decimal(figure), unit)) == Decimal(canonical)


@pytest.mark.parametrize(
    ("key", "unit", "taken"),
    [
        ("par_interval", "min", True),
        ("par_interval", "hours", True),
        ("par_interval", "rem", False),
        ("dose_turn_back_other", "uSv", True),
        ("dose_turn_back_other", "Gy", False),
        ("acid_stop_ph", "pH", True),
        ("acid_stop_ph", "%", False),
        ("pulse_max", "mmHg", False),
        ("body_temperature_max", "kelvin", False),
    ],
)
def test_a_unit_that_does_not_convert_is_not_taken(key, unit, taken):
    assert ITEMS[key].takes_unit(unit) is taken


def test_each_row_says_which_way_is_stricter():
    assert ITEMS["lel_withdraw_percent"].direction == "lower is stricter"
    assert ITEMS["acid_stop_ph"].direction == "higher is stricter"
    assert ITEMS["oxygen_ambient"].direction == "neither way is stricter"


def test_the_defaults_of_a_pair_are_in_order():
    for low, high, may_be_equal in PAIRS:
        below, above = ITEMS[low].default, ITEMS[high].default
        if below is None or above is None:
            continue
        assert below < above or (may_be_equal and below == above)
