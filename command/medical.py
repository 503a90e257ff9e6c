"""Whether a person may go in, by what was measured of them. Pure.

29 CFR 1910.120(q) asks for no check in the field: the limits are house rules, which an
agency's physician confirms, and come in as an argument by their keys (`LIMITS`). None is
a limit that is not set: it is not judged. What was not measured never counts as normal.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from enum import StrEnum
from typing import Final, TypeAlias

Limits: TypeAlias = Mapping[str, Decimal | None]

DECISION: Final = "decision"
# The keys of the house rules that are asked for here.
LIMITS: Final = (
    "pulse_max", "systolic_min", "systolic_max", "diastolic_min", "diastolic_max",
    "breaths_min", "breaths_max", "body_temperature_min", "body_temperature_max",
    "spo2_min", "medical_recheck", "medical_age", "baseline_pulse_percent",
    "weight_loss_max", "recovery_pulse_max", "recovery_temperature_max",
    "suit_temperature_max",
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Vitals:
    """What was measured. Beats and breaths a minute, mmHg, °F, percent, kg."""

    pulse: int | None = None
    systolic: int | None = None
    diastolic: int | None = None
    temperature_degf: Decimal | None = None
    breaths: int | None = None
    spo2: int | None = None
    weight_kg: Decimal | None = None
    symptoms: str = ""  # "" where the person was asked and reports none


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """Fit, or every reason why not. `advice` bars nobody."""

    reasons: tuple[str, ...] = ()
    advice: tuple[str, ...] = ()

    @property
    def fit(self) -> bool:
        return not self.reasons


@dataclass(frozen=True, slots=True, kw_only=True)
class _Measure:
    field: str
    label: str
    unit: str
    low: str = ""  # key of the limit below which nobody goes in
    high: str = ""
    needed: bool = False  # not taken is not fit


_MEASURES: Final = (
    _Measure(
        field="pulse", label="Pulse", unit=" beats/min", high="pulse_max", needed=True
    ),
    _Measure(
        field="systolic", label="Systolic pressure", unit=" mmHg", low="systolic_min",
        high="systolic_max", needed=True,
    ),
    _Measure(
        field="diastolic", label="Diastolic pressure", unit=" mmHg",
        low="diastolic_min", high="diastolic_max", needed=True,
    ),
    _Measure(
        field="temperature_degf", label="Temperature", unit=" °F",
        low="body_temperature_min", high="body_temperature_max", needed=True,
    ),
    _Measure(
        field="breaths", label="Breaths", unit=" a minute", low="breaths_min",
        high="breaths_max",
    ),
    _Measure(field="spo2", label="Oxygen saturation", unit=" %", low="spo2_min"),
)  # fmt: skip


def judge_before(vitals: Vitals, limits: Limits) -> Outcome:
    """Fit to go in: all that is needed was taken and lies within, and no symptoms.

    At a limit is within: the sources say above and below.
    """
    return Outcome(reasons=tuple(_outside(vitals, limits)))


def judge_after(vitals: Vitals, before: Vitals | None, limits: Limits) -> Outcome:
    """Recovered: within the limits for entry and back to the own figures of before.

    Source of the first: a heat stress protocol for hazmat responders, by which nobody
    goes on to the next cycle outside the limits for entry. The second, how near to the
    own pulse and weight, is by the house rules.
    """
    reasons = [*_outside(vitals, limits), *_off_baseline(vitals, before, limits)]
    advice = list(_heat_advice(vitals, limits))
    if before is None:
        advice.append("No check before entry: judged by the limits alone.")
    return Outcome(reasons=tuple(reasons), advice=tuple(advice))


def _outside(vitals: Vitals, limits: Limits) -> Iterator[str]:
    for measure in _MEASURES:
        value = getattr(vitals, measure.field)
        if value is None:
            if measure.needed:
                yield f"{measure.label} was not taken"
            continue
        low = limits.get(measure.low) if measure.low else None
        high = limits.get(measure.high) if measure.high else None
        if low is not None and value < low:
            yield f"{_said(measure, value)}, limit {_plain(low)} or more"
        if high is not None and value > high:
            yield f"{_said(measure, value)}, limit {_plain(high)}"
    if vitals.symptoms:
        yield f"Symptoms: {vitals.symptoms}"


def _off_baseline(
    vitals: Vitals, before: Vitals | None, limits: Limits
) -> Iterator[str]:
    if before is None:
        return
    share = limits.get("baseline_pulse_percent")
    if share is not None and vitals.pulse is not None and before.pulse is not None:
        highest = before.pulse * (1 + share / 100)
        if vitals.pulse > highest:
            yield (
                f"Pulse {vitals.pulse} beats/min, before entry {before.pulse}: "
                f"more than {_plain(share)} % over"
            )
    most = limits.get("weight_loss_max")
    if most is None or vitals.weight_kg is None or not before.weight_kg:
        return
    lost = (before.weight_kg - vitals.weight_kg) / before.weight_kg * 100
    if lost > most:
        yield f"Weight: more than {_plain(most)} % lost"


def _heat_advice(vitals: Vitals, limits: Limits) -> Iterator[str]:
    """Four-agency guidance manual 1985, ch. 8: the length of the next entry."""
    sealed = limits.get("suit_temperature_max")
    warm = limits.get("recovery_temperature_max")
    fast = limits.get("recovery_pulse_max")
    temperature = vitals.temperature_degf
    if sealed is not None and temperature is not None and temperature > sealed:
        yield f"No sealed suit: temperature above {_plain(sealed)} °F."
    elif warm is not None and temperature is not None and temperature > warm:
        yield f"Next entry a third shorter: temperature above {_plain(warm)} °F."
    if fast is not None and vitals.pulse is not None and vitals.pulse > fast:
        yield f"Next entry a third shorter: pulse above {_plain(fast)} beats/min."


def _said(measure: _Measure, value: int | Decimal) -> str:
    return f"{measure.label} {_plain(Decimal(value))}{measure.unit}"


def _plain(value: Decimal) -> str:
    return f"{value.normalize():f}"


# --- How a person stands --------------------------------------------------------------


class State(StrEnum):
    """All that is said of a person to those who may not see their values."""

    FIT = "fit"
    NOT_FIT = "not fit"
    NOT_CHECKED = "not checked"


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One check or decision that counts, without what was measured."""

    kind: str
    at: datetime
    fit: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """How a person stands at a moment. `blocks`: they may not go in."""

    state: State
    words: str  # without any figure of theirs
    blocks: bool
    since: datetime | None = None


def standing(
    checks: Sequence[Check],
    *,
    last_out: datetime | None,
    at: datetime,
    limits: Limits,
    inside: bool = False,
) -> Standing:
    """The last check or decision counts, as long as it is from after coming out.

    `checks` in the order of their times; `last_out` is when the person last came out.
    A check for entry counts for `medical_age` seconds, to a person outside.
    """
    past = [check for check in checks if check.at <= at]
    last = past[-1] if past else None
    if last_out is not None and (last is None or last.at < last_out):
        return Standing(
            state=State.NOT_CHECKED,
            words="no check since coming out",
            blocks=True,
            since=last_out,
        )
    if last is None:
        return Standing(state=State.NOT_CHECKED, words="no check yet", blocks=False)
    by = "decided by medical" if last.kind == DECISION else "by the last check"
    if not last.fit:
        return Standing(
            state=State.NOT_FIT, words=f"not fit, {by}", blocks=True, since=last.at
        )
    age = limits.get("medical_age")
    if age is not None and not inside and at - last.at > _seconds(age):
        return Standing(
            state=State.NOT_CHECKED,
            words=f"the last check is older than {_plain(age / 60)} min",
            blocks=False,
            since=last.at,
        )
    return Standing(state=State.FIT, words=f"fit, {by}", blocks=False, since=last.at)


def rested_from(previous: Check | None, limits: Limits) -> datetime | None:
    """From when on a second check counts after one that was not fit; None for at once."""
    rest = limits.get("medical_recheck")
    if previous is None or previous.fit or rest is None:
        return None
    return previous.at + _seconds(rest)


def in_order(checks: Iterable[Check]) -> list[Check]:
    return sorted(checks, key=lambda check: check.at)


def _seconds(value: Decimal) -> timedelta:
    return timedelta(seconds=float(value))
