"""The table of house rules: what stands in it, units, and what a version sets.

Published values: pre-entry exclusion by a hazmat EMS protocol (pulse above 100, blood
pressure outside 90/60 to 150/90, above 99 °F, again after at least 5 min), by a hospital
decontamination text (more than 24 breaths, below 97 °F), and after work by the four-agency
manual of 1985, chapter 8 (pulse above 110 at the start of rest; above 99.6 °F a shorter
period; above 100.6 °F no sealed garment).
"""

from decimal import Decimal
from types import SimpleNamespace

import pytest

from incidents.house_rules import (
    HOUSE_RULES,
    ORDERED,
    canonical_values,
    loosened,
    value_of,
)


def version(reasons=None, **values):
    return SimpleNamespace(
        house_values={k: Decimal(v) for k, v in values.items()},
        reasons_given=reasons or {},
    )


@pytest.mark.parametrize(
    ("key", "published"),
    [
        ("pulse_max", "100"),
        ("systolic_min", "90"),
        ("systolic_max", "150"),
        ("diastolic_min", "60"),
        ("diastolic_max", "90"),
        ("breaths_max", "24"),
        ("body_temperature_min", "97"),
        ("body_temperature_max", "99"),
        ("medical_recheck", "300"),
        ("recovery_pulse_max", "110"),
        ("recovery_temperature_max", "99.6"),
        ("suit_temperature_max", "100.6"),
    ],
)
def test_a_published_value_is_the_default(key, published):
    assert HOUSE_RULES[key].status == "published"
    assert value_of(None, key) == Decimal(published)


@pytest.mark.parametrize("key", ["weather_age", "wind_shift", "suit_time"])
def test_a_value_without_a_source_says_so(key):
    rule = HOUSE_RULES[key]

    assert "no source" in rule.source
    assert rule.status == "no source"
    assert not rule.is_looser(rule.high)


def test_no_default_is_from_memory():
    assert [r.key for r in HOUSE_RULES.values() if "memory" in r.source] == []


def test_a_version_sets_what_it_sets_and_leaves_the_rest():
    ours = version(pulse_max="110")

    assert value_of(ours, "pulse_max") == 110
    assert value_of(ours, "systolic_max") == 150


def test_a_key_outside_the_table_is_an_error():
    with pytest.raises(KeyError):
        value_of(None, "pulse")


@pytest.mark.parametrize(
    ("key", "value", "unit", "canonical"),
    [
        ("body_temperature_max", "37.5", "degC", "99.5"),
        ("body_temperature_max", "99", "degF", "99"),
        ("weather_age", "30", "min", "1800"),
        ("weather_age", "2", "h", "7200"),
        ("pulse_max", "100", "beats/min", "100"),
        ("wind_shift", "45", "degree", "45"),
    ],
)
def test_a_value_is_taken_in_its_unit_exactly(key, value, unit, canonical):
    found = canonical_values({key: {"value": Decimal(value), "unit": unit}})

    assert found == {key: Decimal(canonical)}


def test_a_unit_of_something_else_is_refused():
    with pytest.raises(ValueError, match="mmHg is no unit"):
        HOUSE_RULES["pulse_max"].canonical(Decimal(100), "mmHg")


def test_what_a_later_program_wrote_is_left_out():
    assert canonical_values({"not_yet": {"value": Decimal(1), "unit": "s"}}) == {}


@pytest.mark.parametrize(
    ("key", "value", "looser"),
    [
        ("pulse_max", "100", False),
        ("pulse_max", "101", True),
        ("pulse_max", "99", False),
        ("systolic_min", "90", False),
        ("systolic_min", "89", True),
        ("systolic_min", "91", False),
    ],
)
def test_looser_is_what_bites_later_than_the_source(key, value, looser):
    assert HOUSE_RULES[key].is_looser(Decimal(value)) is looser


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("pulse_max", "100", "100 beats/min"),
        ("body_temperature_max", "99", "99 °F"),
        ("weather_age", "1800", "30 min"),
        ("weather_age", "90", "1.5 min"),
        ("wind_shift", "45", "45°"),
        ("suit_time", None, "not set"),
    ],
)
def test_a_value_reads_as_people_say_it(key, value, words):
    rule = HOUSE_RULES[key]

    assert rule.words(value and Decimal(value)) == words


def test_the_defaults_lie_within_their_bounds_and_in_order():
    for rule in HOUSE_RULES.values():
        assert rule.default is not None
        assert rule.low <= rule.default <= rule.high, rule.key
    for low, high in ORDERED:
        assert HOUSE_RULES[low].default < HOUSE_RULES[high].default
        assert HOUSE_RULES[low].unit == HOUSE_RULES[high].unit


def test_a_looser_value_is_said_with_its_source_and_its_reason():
    ours = version({"pulse_max": "Our physician"}, pulse_max="110", systolic_max="150")

    (sentence,) = loosened(ours)

    assert sentence == (
        "Pulse, no entry above: this profile sets 110 beats/min, looser than 100 "
        f"beats/min ({HOUSE_RULES['pulse_max'].source}). Reason given: Our physician."
    )
    assert loosened(None) == ()
