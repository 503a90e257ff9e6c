"""House rules: what an agency sets beside the engine's limits, such as who may go in.

The engine's limits stand in `screening.profile` and are part of the worksheet document.
These do not: the engine knows nothing of a pulse. They belong to the same version of the
SOP, and whoever needs one asks `value_of(version, key)`, where the version is that of the
incident (`incident.sop`, or None for the built-in values).

Values are `Decimal` in the canonical unit of each row: degF for a temperature, s for a
time, the others as they are written. Pure: no Django, no database, no clock.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType
from typing import Any, Final, Literal, Protocol

from screening.profile import SET_BY_SOP, looser_sentence
from screening.units import Dimension, factor, to_canonical

Status = Literal["published", "no source"]
Stricter = Literal["lower", "higher"]

MEDICAL: Final = "Medical check before entry"
RECOVERY: Final = "Medical check after entry"
WEATHER: Final = "Weather"
SUIT: Final = "Time in the suit"
PHOTOS: Final = "Photos"
GROUPS: Final = (MEDICAL, RECOVERY, WEATHER, SUIT, PHOTOS)

# 29 CFR 1910.120(q) prescribes no field check; these are other people's numbers, which an
# agency's physician is to confirm or replace.
EMS_PROTOCOL: Final = (
    "a hazmat EMS field protocol, pre-entry exclusion (local guidance, not law)"
)
HOSPITAL_TEXT: Final = (
    "a hospital decontamination text, pre-entry exclusion (local guidance, not law)"
)
REHAB_PROTOCOL: Final = (
    "a county EMS protocol for rehabilitation at fires (local guidance, not law)"
)
HEAT_PAGE: Final = (
    "four-agency guidance manual 1985 (NIOSH/OSHA/USCG/EPA), ch. 8, "
    "as an archived OSHA page on heat gives it"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseRule:
    """One row of the table."""

    key: str
    group: str
    label: str  # begins a sentence
    default: Decimal | None  # canonical unit; None: nothing is judged until it is set
    unit: str  # canonical
    units: tuple[tuple[str, str], ...]  # those to choose from, each with its words
    low: Decimal  # canonical; what lies outside is a typing error
    high: Decimal
    source: str
    status: Status
    stricter: Stricter

    def canonical(self, value: Decimal, unit: str) -> Decimal:
        """The value in the canonical unit. Raises `ValueError` for another unit."""
        if unit not in dict(self.units):
            raise ValueError(f"{unit} is no unit of {self.key}")
        dimension = _DIMENSIONS.get(self.unit)
        conversion = factor(unit, dimension) if dimension else None
        if dimension is None or conversion is None:
            return value
        return to_canonical(value, conversion, dimension)

    def words(self, value: Decimal | None) -> str:
        """A canonical value as a sentence has it: "100 beats/min", "5 min"."""
        if value is None:
            return "not set"
        if self.unit == "s":
            return f"{_plain(value / 60)} min"
        return f"{_plain(value)}{_WORDS.get(self.unit, f' {self.unit}')}"

    def is_looser(self, value: Decimal) -> bool:
        """Whether a value bites later than the published default."""
        if self.default is None or self.status != "published":
            return False
        if self.stricter == "lower":
            return value > self.default
        return value < self.default


class Version(Protocol):
    """What is needed of a version: the values that it sets, canonical, and its reasons."""

    @property
    def house_values(self) -> Mapping[str, Decimal]: ...

    @property
    def reasons_given(self) -> Mapping[str, str]: ...


_DIMENSIONS: Final = {"degF": Dimension.TEMPERATURE, "s": Dimension.TIME}
_WORDS: Final = {"degF": " °F", "degree": "°"}
_UNITS: Final[Mapping[str, tuple[tuple[str, str], ...]]] = {
    "degF": (("degF", "°F"), ("degC", "°C")),
    "s": (("min", "min"), ("h", "h"), ("s", "s")),
    "degree": (("degree", "°"),),
}


def _rule(
    key: str,
    group: str,
    label: str,
    default: str,
    unit: str,
    stricter: Stricter,
    source: str,
    *,
    between: tuple[int, int],
) -> HouseRule:
    return HouseRule(
        key=key,
        group=group,
        label=label,
        default=Decimal(default) if default else None,
        unit=unit,
        units=_UNITS.get(unit, ((unit, unit),)),
        low=Decimal(between[0]),
        high=Decimal(between[1]),
        source=source,
        status="no source" if "no source" in source else "published",
        stricter=stricter,
    )


_TABLE: Final = (
    _rule("pulse_max", MEDICAL, "Pulse, no entry above", "100", "beats/min", "lower",
          f"{EMS_PROTOCOL}: above 100", between=(40, 220)),
    _rule("systolic_min", MEDICAL, "Systolic blood pressure, no entry below",
          "90", "mmHg", "higher", f"{EMS_PROTOCOL}: below 90/60", between=(50, 250)),
    _rule("systolic_max", MEDICAL, "Systolic blood pressure, no entry above",
          "150", "mmHg", "lower", f"{EMS_PROTOCOL}: above 150/90", between=(50, 250)),
    _rule("diastolic_min", MEDICAL, "Diastolic blood pressure, no entry below",
          "60", "mmHg", "higher", f"{EMS_PROTOCOL}: below 90/60", between=(30, 150)),
    _rule("diastolic_max", MEDICAL, "Diastolic blood pressure, no entry above",
          "90", "mmHg", "lower", f"{EMS_PROTOCOL}: above 150/90", between=(30, 150)),
    _rule("breaths_max", MEDICAL, "Breaths, no entry above",
          "24", "breaths/min", "lower", f"{HOSPITAL_TEXT}: above 24", between=(8, 60)),
    _rule("breaths_min", MEDICAL, "Breaths, no entry below",
          "8", "breaths/min", "higher", f"{REHAB_PROTOCOL}: below 8", between=(2, 30)),
    _rule("spo2_min", MEDICAL, "Oxygen saturation, no entry below",
          "94", "%", "higher",
          f"common practice, no source; {REHAB_PROTOCOL}: below 90 %",
          between=(50, 100)),
    _rule("body_temperature_min", MEDICAL, "Body temperature, no entry below",
          "97", "degF", "higher", f"{HOSPITAL_TEXT}: below 97 °F", between=(90, 110)),
    _rule("body_temperature_max", MEDICAL, "Body temperature, no entry above",
          "99", "degF", "lower", f"{EMS_PROTOCOL}: above 99 °F", between=(90, 110)),
    _rule("medical_recheck", MEDICAL, "Rest before a second check",
          "300", "s", "higher", f"{EMS_PROTOCOL}: after at least 5 min",
          between=(0, 86_400)),
    _rule("medical_age", MEDICAL, "A check before entry counts for",
          "3600", "s", "lower", SET_BY_SOP, between=(60, 86_400)),
    _rule("baseline_pulse_percent", RECOVERY,
          "Pulse, not recovered while over that before entry by more than",
          "10", "%", "lower",
          "common practice, no source: back to the own figure of before entry",
          between=(0, 100)),
    _rule("weight_loss_max", RECOVERY, "Weight lost, not recovered above",
          "1.5", "%", "lower", f"{HEAT_PAGE}: at most 1.5 % of body weight",
          between=(0, 10)),
    _rule("recovery_pulse_max", RECOVERY,
          "Pulse at the start of rest, next entry a third shorter above",
          "110", "beats/min", "lower", f"{HEAT_PAGE}: above 110", between=(40, 220)),
    _rule("recovery_temperature_max", RECOVERY,
          "Body temperature at the end of work, next entry a third shorter above",
          "99.6", "degF", "lower", f"{HEAT_PAGE}: above 99.6 °F", between=(90, 110)),
    _rule("suit_temperature_max", RECOVERY,
          "Body temperature at the end of work, no sealed suit above",
          "100.6", "degF", "lower", f"{HEAT_PAGE}: above 100.6 °F", between=(90, 110)),
    _rule("weather_age", WEATHER, "A weather reading counts for",
          "1800", "s", "lower", SET_BY_SOP, between=(60, 86_400)),
    _rule("wind_shift", WEATHER, "Wind has shifted, from",
          "45", "degree", "lower", SET_BY_SOP, between=(1, 180)),
    _rule("suit_time", SUIT, "Time in the suit, be out of it within",
          "1200", "s", "lower",
          "common practice, no source: 15 to 20 min of work in a sealed suit",
          between=(60, 86_400)),
    _rule("photo_original", PHOTOS,
          "Photos are kept as the camera made them, with the time, position and device "
          "that it wrote into them, up to",
          "0", "MB", "lower", SET_BY_SOP, between=(0, 12)),
)  # fmt: skip

HOUSE_RULES: Final[Mapping[str, HouseRule]] = MappingProxyType(
    {rule.key: rule for rule in _TABLE}
)

# The first must be below the second.
ORDERED: Final[tuple[tuple[str, str], ...]] = (
    ("systolic_min", "systolic_max"),
    ("diastolic_min", "diastolic_max"),
    ("diastolic_max", "systolic_max"),
    ("body_temperature_min", "body_temperature_max"),
    ("recovery_temperature_max", "suit_temperature_max"),
)


def value_of(version: Version | None, key: str) -> Decimal | None:
    """What the version sets, canonical; else the default, which may be None.

    Raises `KeyError` for a key that is not in the table.
    """
    rule = HOUSE_RULES[key]
    if version is None:
        return rule.default
    return version.house_values.get(key, rule.default)


def canonical_values(document: Mapping[str, Any]) -> dict[str, Decimal]:
    """The values of `{key: {"value": Decimal, "unit": text}}`, as a version keeps them.

    A key that this program does not know (a later one wrote it) is left out.
    """
    return {
        key: HOUSE_RULES[key].canonical(Decimal(each["value"]), each["unit"])
        for key, each in document.items()
        if key in HOUSE_RULES
    }


def loosened(version: Version | None) -> tuple[str, ...]:
    """A sentence for each value of a version that is looser than its published source."""
    if version is None:
        return ()
    values, reasons = version.house_values, version.reasons_given
    return tuple(
        looser_sentence(
            rule.label,
            rule.words(values[key]),
            rule.words(rule.default),
            rule.source,
            reasons.get(key, ""),
        )
        for key, rule in HOUSE_RULES.items()
        if key in values and rule.is_looser(values[key])
    )


def _plain(value: Decimal) -> str:
    return f"{value.normalize():f}"
