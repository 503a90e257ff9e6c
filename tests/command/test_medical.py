"""Who may go in by what was measured: at, just over and just under each limit."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from command.medical import (
    Check,
    State,
    Vitals,
    judge_after,
    judge_before,
    rested_from,
    standing,
)
from incidents.house_rules import HOUSE_RULES

START = datetime(2026, 3, 4, 19, 0, tzinfo=UTC)
LIMITS = {key: rule.default for key, rule in HOUSE_RULES.items()}
WELL = {
    "pulse": 80,
    "systolic": 120,
    "diastolic": 80,
    "temperature_degf": Decimal("98.2"),
    "breaths": 16,
    "spo2": 98,
}


def vitals(**changes):
    return Vitals(**(WELL | changes))


def minute(count):
    return START + timedelta(minutes=count)


# A hazmat EMS field protocol and a hospital decontamination text, as the house rules name
# them: pulse over 100, pressure outside 90/60 to 150/90, temperature over 99 °F; under
# 97 °F, over 24 breaths.
@pytest.mark.parametrize(
    ("measured", "words"),
    [
        pytest.param({}, "", id="all within"),
        pytest.param({"pulse": 100}, "", id="pulse at the limit"),
        pytest.param({"pulse": 101}, "Pulse 101 beats/min, limit 100", id="pulse over"),
        pytest.param({"systolic": 150}, "", id="systolic at the upper limit"),
        pytest.param({"systolic": 151}, "Systolic pressure 151", id="systolic over"),
        pytest.param({"systolic": 90}, "", id="systolic at the lower limit"),
        pytest.param({"systolic": 89}, "Systolic pressure 89", id="systolic under"),
        pytest.param({"diastolic": 90}, "", id="diastolic at the upper limit"),
        pytest.param({"diastolic": 91}, "Diastolic pressure 91", id="diastolic over"),
        pytest.param({"diastolic": 60}, "", id="diastolic at the lower limit"),
        pytest.param({"diastolic": 59}, "Diastolic pressure 59", id="diastolic under"),
        pytest.param({"temperature_degf": Decimal(99)}, "", id="temperature at 99 °F"),
        pytest.param(
            {"temperature_degf": Decimal("99.1")}, "Temperature 99.1 °F, limit 99",
            id="temperature over",
        ),
        pytest.param({"temperature_degf": Decimal(97)}, "", id="temperature at 97 °F"),
        pytest.param(
            {"temperature_degf": Decimal("96.9")}, "Temperature 96.9", id="too cold"
        ),
        pytest.param({"breaths": 24}, "", id="breaths at the limit"),
        pytest.param({"breaths": 25}, "Breaths 25", id="breaths over"),
        pytest.param({"breaths": 7}, "Breaths 7", id="breaths under"),
        pytest.param({"spo2": 94}, "", id="oxygen saturation at the limit"),
        pytest.param({"spo2": 93}, "Oxygen saturation 93 %", id="saturation under"),
        pytest.param({"pulse": None}, "Pulse was not taken", id="no pulse"),
        pytest.param({"systolic": None}, "Systolic pressure was not", id="no systolic"),
        pytest.param({"diastolic": None}, "Diastolic pressure was not", id="no diastolic"),
        pytest.param({"temperature_degf": None}, "Temperature was not", id="no temperature"),
        pytest.param({"breaths": None, "spo2": None}, "", id="what may be left out"),
        pytest.param({"symptoms": "headache"}, "Symptoms: headache", id="symptoms"),
    ],
)  # fmt: skip
def test_fit_before_entry(measured, words):
    outcome = judge_before(vitals(**measured), LIMITS)

    assert outcome.fit is (words == "")
    assert any(words in reason for reason in outcome.reasons) or not words


def test_every_reason_is_said_not_only_the_first():
    outcome = judge_before(vitals(pulse=120, systolic=160), LIMITS)

    assert len(outcome.reasons) == 2


def test_a_limit_that_is_not_set_is_not_judged():
    outcome = judge_before(vitals(pulse=200), LIMITS | {"pulse_max": None})

    assert outcome.fit


def test_an_agencys_own_limit_is_the_one_that_counts():
    assert judge_before(vitals(pulse=105), LIMITS | {"pulse_max": Decimal(110)}).fit
    assert not judge_before(vitals(pulse=85), LIMITS | {"pulse_max": Decimal(80)}).fit


# --- after coming out ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("measured", "words"),
    [
        pytest.param({}, "", id="as before"),
        pytest.param({"pulse": 88}, "", id="ten in a hundred over the own pulse"),
        pytest.param({"pulse": 89}, "before entry 80", id="more than that"),
        pytest.param({"pulse": 60}, "", id="a slower pulse"),
        pytest.param({"temperature_degf": Decimal("99.1")}, "Temperature", id="warm"),
        pytest.param({"weight_kg": Decimal("78.8")}, "", id="1.5 % of weight lost"),
        pytest.param({"weight_kg": Decimal("78.7")}, "Weight", id="more lost"),
        pytest.param({"weight_kg": None}, "", id="not weighed"),
        pytest.param({"symptoms": "dizzy"}, "Symptoms: dizzy", id="symptoms"),
    ],
)
def test_recovered_when_back_to_the_own_figures_and_within_the_limits(measured, words):
    before = vitals(weight_kg=Decimal(80))

    outcome = judge_after(vitals(**measured), before, LIMITS)

    assert outcome.fit is (words == "")
    assert any(words in reason for reason in outcome.reasons) or not words


def test_without_a_check_before_the_limits_alone_judge_and_it_is_said():
    outcome = judge_after(vitals(pulse=99), None, LIMITS)

    assert outcome.fit
    assert any("No check before entry" in line for line in outcome.advice)


# Four-agency manual, ch. 8: above 110 the next period of work is a third shorter; over
# 99.6 °F likewise; over 100.6 °F no semipermeable or impermeable garment.
@pytest.mark.parametrize(
    ("measured", "words"),
    [
        ({"pulse": 110}, ""),
        ({"pulse": 111}, "a third shorter"),
        ({"temperature_degf": Decimal("99.6")}, ""),
        ({"temperature_degf": Decimal("99.7")}, "a third shorter"),
        ({"temperature_degf": Decimal("100.6")}, "a third shorter"),
        ({"temperature_degf": Decimal("100.7")}, "No sealed suit"),
    ],
)
def test_heat_shortens_the_next_entry(measured, words):
    advice = " ".join(judge_after(vitals(**measured), vitals(), LIMITS).advice)

    assert words in advice
    assert bool(words) == bool(advice)


# --- how a person stands -------------------------------------------------------------


def check(at, fit=True, kind="before"):
    return Check(kind=kind, at=minute(at), fit=fit)


@pytest.mark.parametrize(
    ("checks", "out", "at", "state", "blocks"),
    [
        pytest.param([], None, 0, State.NOT_CHECKED, False, id="never checked"),
        pytest.param([check(0)], None, 1, State.FIT, False, id="fit"),
        pytest.param([check(0)], None, 60, State.FIT, False, id="an hour ago"),
        pytest.param([check(0)], None, 61, State.NOT_CHECKED, False, id="too long ago"),
        pytest.param([check(0, False)], None, 1, State.NOT_FIT, True, id="not fit"),
        pytest.param([check(0, False)], None, 99, State.NOT_FIT, True, id="still not"),
        pytest.param(
            [check(0, False), check(6, True, "recheck")], None, 7, State.FIT, False,
            id="fit after a rest",
        ),
        pytest.param(
            [check(0), check(2, False, "recheck")], None, 3, State.NOT_FIT, True,
            id="the last one counts",
        ),
        pytest.param(
            [check(0)], 20, 21, State.NOT_CHECKED, True, id="out and not checked since"
        ),
        pytest.param(
            [check(0), check(25, False, "after")], 20, 26, State.NOT_FIT, True,
            id="out and not recovered",
        ),
        pytest.param(
            [check(0), check(25, False, "after"), check(40, True, "recheck")],
            20, 41, State.FIT, False, id="recovered",
        ),
        pytest.param(
            [check(0), check(25, True, "after"), check(26, False, "decision")],
            20, 27, State.NOT_FIT, True, id="held by medical",
        ),
        pytest.param(
            [check(0, False), check(1, True, "decision")], None, 2, State.FIT, False,
            id="let in by medical",
        ),
        pytest.param(
            [check(0, False), check(1, True, "decision")], 20, 21, State.NOT_CHECKED,
            True, id="a decision ends with coming out",
        ),
        pytest.param(
            [], 20, 21, State.NOT_CHECKED, True, id="out and never checked at all"
        ),
    ],
)  # fmt: skip
def test_how_a_person_stands(checks, out, at, state, blocks):
    out_at = None if out is None else minute(out)

    now = standing(checks, last_out=out_at, at=minute(at), limits=LIMITS)

    assert (now.state, now.blocks) == (state, blocks)
    assert now.words


def test_who_is_inside_is_not_called_too_long_ago():
    now = standing([check(0)], last_out=None, at=minute(90), limits=LIMITS, inside=True)

    assert now.state is State.FIT


def test_the_words_of_a_standing_carry_no_figure_of_a_body():
    for checks in ([], [check(0, False)], [check(0), check(25, False, "after")]):
        words = standing(
            checks, last_out=minute(20), at=minute(26), limits=LIMITS
        ).words
        assert "beats" not in words
        assert "mmHg" not in words


@pytest.mark.parametrize(
    ("before", "after", "early"),
    [
        pytest.param(None, 0, False, id="the first check"),
        pytest.param(check(0), 1, False, id="after a fit one"),
        pytest.param(check(0, False), 4.9, True, id="just under five minutes"),
        pytest.param(check(0, False), 5, False, id="five minutes"),
    ],
)
def test_a_second_check_needs_a_rest(before, after, early):
    """The EMS field protocol: normal after a minimum rest period of five minutes."""
    until = rested_from(before, LIMITS)

    assert (until is not None and minute(after) < until) is early
