"""Everything that a version of the SOP sets, in one table: limits and house rules.

The engine's limits (`screening.profile`) and the agency's own (`incidents.house_rules`)
differ in where they are kept and who reads them. Whoever writes a version, reads one or
holds two side by side sees them alike: an `Item` each, in sections. Pure: no Django, no
database.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType
from typing import Any, Final

from incidents.house_rules import GROUPS, HOUSE_RULES, HouseRule
from incidents.house_rules import ORDERED as HOUSE_ORDERED
from screening.profile import LIMITS, ORDERED, PUBLISHED, Limit, with_unit
from screening.units import Dimension, factor, pretty, to_canonical

OTHER: Final = "Other limits"
_SECTIONS: Final[Mapping[str, tuple[str, ...]]] = {
    "Papers": (
        "acid_caution_ph",
        "acid_stop_ph",
        "base_caution_ph",
        "base_stop_ph",
        "dry_air_percent",
    ),
    "Flammable gas and oxygen": (
        "lel_caution_percent",
        "lel_withdraw_percent",
        "oxygen_enriched_percent",
        "oxygen_deficient_percent",
        "oxygen_min_for_lel",
        "oxygen_ambient",
        "oxygen_drop",
    ),
    "Toxic gases and vapours": (
        "voc_caution_ppm",
        "voc_ceiling_ppm",
        "co_ceiling_ppm",
        "co_idlh_ppm",
        "h2s_ceiling_ppm",
        "h2s_idlh_ppm",
    ),
    "Heat of containers": ("thermal_margin", "thermal_rise", "thermal_steady_time"),
    "Radiation": (
        "dose_turn_back_other",
        "dose_turn_back_product_control",
        "dose_turn_back_rescue",
        "dose_rate_background",
        "dose_rate_hot_line",
        "dose_rate_turn_back",
    ),
    "People, air and time": (
        "par_interval",
        "first_look",
        "exit_time",
        "low_air_fraction",
    ),
    "How long an answer counts": (
        "paper_age",
        "meter_age",
        "thermal_age",
        "dosimeter_age",
    ),
}
_SECTION_OF: Final = {key: name for name, keys in _SECTIONS.items() for key in keys}

_DIMENSIONS: Final[Mapping[str, Dimension]] = {
    "delta_degF": Dimension.TEMPERATURE_DIFFERENCE,
    "rem": Dimension.DOSE,
    "rem/h": Dimension.DOSE_RATE,
    "s": Dimension.TIME,
    "degF": Dimension.TEMPERATURE,
}
# The units offered for each canonical one; any other that converts is taken as well.
_OFFERED: Final[Mapping[str, tuple[str, ...]]] = {
    "delta_degF": ("delta_degF", "delta_degC"),
    "rem": ("rem", "mrem", "Sv", "mSv"),
    "rem/h": ("mrem/h", "rem/h", "uSv/h", "mSv/h", "R/h", "mR/h"),
    "s": ("min", "h", "s"),
}
_FRACTION: Final = "% of rated pressure"
_PLAIN_UNITS: Final[Mapping[str, str]] = {
    "pH": "pH",
    "%": "%",
    "ppm": "ppm",
    "fraction": _FRACTION,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One row: a limit of the engine, or a house rule."""

    key: str
    section: str
    label: str  # begins a sentence
    source: str
    published: bool
    stricter: str  # "lower", "higher" or "neither"
    default: Decimal | None  # canonical
    of: Limit | HouseRule

    @property
    def in_engine(self) -> bool:
        """Whether it stands in the worksheet document's profile."""
        return isinstance(self.of, Limit)

    @property
    def units(self) -> tuple[tuple[str, str], ...]:
        """Those to choose from, each with its words; one alone where it is fixed."""
        if isinstance(self.of, HouseRule):
            return self.of.units
        if self.of.unit in _PLAIN_UNITS:
            words = _PLAIN_UNITS[self.of.unit]
            return ((words, words),)
        return tuple((unit, pretty(unit)) for unit in _OFFERED[self.of.unit])

    @property
    def direction(self) -> str:
        """Which way is stricter, in words."""
        if self.stricter == "neither":
            return "neither way is stricter"
        return f"{self.stricter} is stricter"

    @property
    def default_words(self) -> str:
        return self.words(self.default)

    def words(self, value: Decimal | None) -> str:
        """A canonical value with its unit."""
        if isinstance(self.of, HouseRule):
            return self.of.words(value)
        return "not set" if value is None else with_unit(value, self.of.unit)

    def is_looser(self, value: Decimal | None) -> bool:
        """Whether it bites later than its published source; never without one."""
        return value is not None and self.of.is_looser(value)

    def takes_unit(self, unit: str) -> bool:
        if unit in dict(self.units):
            return True
        dimension = _DIMENSIONS.get(self.of.unit)
        of_engine = isinstance(self.of, Limit) and dimension is not None
        return of_engine and factor(unit, _DIMENSIONS[self.of.unit]) is not None

    def raw(self, value: Decimal, unit: str) -> Any:
        """What a document holds for a figure typed in that unit."""
        if unit == _FRACTION:
            return value / 100
        if unit in _PLAIN_UNITS and isinstance(self.of, Limit):
            return value
        return {"value": value, "unit": unit}

    def typed(self, raw: Any) -> tuple[Decimal, str]:
        """The figure and unit to type for what a document holds."""
        if isinstance(raw, Mapping):
            return Decimal(raw["value"]), str(raw["unit"])
        value = Decimal(raw)
        if isinstance(self.of, Limit) and self.of.unit == "fraction":
            return _plain(value * 100), _FRACTION
        return value, self.units[0][0]

    def canonical(self, raw: Any) -> Decimal:
        """What a document holds, in the canonical unit. For what was checked before."""
        if not isinstance(raw, Mapping):
            return Decimal(raw)
        value, unit = Decimal(raw["value"]), str(raw["unit"])
        if isinstance(self.of, HouseRule):
            return self.of.canonical(value, unit)
        dimension = _DIMENSIONS[self.of.unit]
        conversion = factor(unit, dimension)
        if conversion is None:
            raise ValueError(f"{unit} is no unit of {self.key}")
        return to_canonical(value, conversion, dimension)

    def default_raw(self) -> Any:
        """The default as a document holds it; None where there is none.

        In the unit that people say it in: 5 min, 0.1 mrem/h.
        """
        if self.default is None:
            return None
        if self.of.unit == "s":
            return {"value": _plain(self.default / 60), "unit": "min"}
        if self.of.unit in ("rem", "rem/h") and self.default < Decimal("0.1"):
            return {"value": _plain(self.default * 1000), "unit": f"m{self.of.unit}"}
        if self.of.unit in _DIMENSIONS or not self.in_engine:
            return {"value": self.default, "unit": self.of.unit}
        return self.default


def _plain(value: Decimal) -> Decimal:
    """Without trailing zeros and without an exponent."""
    return Decimal(f"{value.normalize():f}")


def _of_limit(limit: Limit) -> Item:
    return Item(
        key=limit.key,
        section=_SECTION_OF.get(limit.key, OTHER),
        label=limit.label,
        source=limit.source,
        published=limit.status == PUBLISHED,
        stricter=limit.stricter,
        default=limit.default,
        of=limit,
    )


def _of_rule(rule: HouseRule) -> Item:
    return Item(
        key=rule.key,
        section=rule.group,
        label=rule.label,
        source=rule.source,
        published=rule.status == "published",
        stricter=rule.stricter,
        default=rule.default,
        of=rule,
    )


def _ordered() -> dict[str, Item]:
    """By section, and in a section as it is written there."""
    found = [_of_limit(limit) for limit in LIMITS.values()]
    found += [_of_rule(rule) for rule in HOUSE_RULES.values()]
    names = [*_SECTIONS, OTHER, *GROUPS]
    place = {key: n for keys in _SECTIONS.values() for n, key in enumerate(keys)}
    found.sort(key=lambda one: (names.index(one.section), place.get(one.key, 0)))
    return {one.key: one for one in found}


ITEMS: Final[Mapping[str, Item]] = MappingProxyType(_ordered())
SECTIONS: Final[Mapping[str, tuple[Item, ...]]] = MappingProxyType(
    {
        name: tuple(one for one in ITEMS.values() if one.section == name)
        for name in dict.fromkeys(one.section for one in ITEMS.values())
    }
)
# First must be below second; "below or equal" where the flag says so.
PAIRS: Final = (*ORDERED, *((low, high, False) for low, high in HOUSE_ORDERED))
