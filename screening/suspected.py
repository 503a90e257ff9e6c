"""The suspects of an incident as far as they matter for looking: where their vapour lies,
what they spoil and what they hide. Worked out once for a set-up.

A suspect is a guess. It adds to what must be looked at; it never takes anything away.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Final

from screening.substances import Cell, Substance, find

# Heavier or lighter than air by more than its own scatter (common practice, no source).
SINKS: Final = Decimal("1.05")
RISES: Final = Decimal("0.95")
# A saturated vapour of less than this (0.5 in 20.9 of an atmosphere) cannot take oxygen
# down by the 0.5 % that rule 28 looks for (arithmetic).
DISPLACES_FROM_MMHG: Final = Decimal("18.2")
# What dulls a catalyst: hydrogen sulfide, acids, chlorinated compounds (notes of a sensor
# maker); silicones are no suspects of the table.
SPOILERS: Final = frozenset(
    {
        "hydrogen sulfide", "hydrogen chloride", "hydrogen fluoride", "chlorine",
        "chlorine dioxide", "nitric acid", "phosgene", "sulfur dioxide",
    }
)  # fmt: skip
REDUCERS: Final = frozenset({"hydrogen sulfide", "sulfur dioxide"})
HEAVY_OILS: Final = frozenset(
    {
        "diesel", "diesel fuel", "fuel oil", "gas oil", "heating oil", "jet fuel",
        "kerosene",
    }
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class _Cold:
    """A gas that the table does not have and that comes cold, or is heavy anyway."""

    burns: bool = False
    feeds_fire: bool = False  # oxygen: it enriches instead of displacing
    rises: bool = False  # once it has warmed up


# Cold gas from a cryogenic liquid sinks whatever it weighs; argon and oxygen are heavier
# than air at any temperature (molar mass over 28.96 g/mol; job rows C33 and C34).
_COLD: Final[dict[str, _Cold]] = {
    **dict.fromkeys(("nitrogen", "liquid nitrogen"), _Cold()),
    **dict.fromkeys(("argon", "liquid argon"), _Cold()),
    **dict.fromkeys(("dry ice", "liquid carbon dioxide"), _Cold()),
    "liquid helium": _Cold(rises=True),
    **dict.fromkeys(("oxygen", "liquid oxygen"), _Cold(feeds_fire=True)),
    **dict.fromkeys(
        ("lng", "liquefied natural gas", "liquid natural gas", "liquid methane",
         "liquid hydrogen"),
        _Cold(burns=True, rises=True),
    ),
}  # fmt: skip
_SPACES: Final = re.compile(r"[\s_]+")


@dataclass(frozen=True, slots=True, kw_only=True)
class Suspect:
    """One suspect: `name` as the incident has it, `key` as the table of substances does."""

    name: str
    key: str
    substance: Substance | None
    sinks: bool
    rises: bool
    burns: bool
    displaces: bool  # enough of it can be in the air to take oxygen down
    enriches: bool
    poisons: bool  # has an IDLH; or nothing is known of it

    @property
    def is_known(self) -> bool:
        return self.substance is not None or self.key in _COLD


def key_of(name: str) -> str:
    """One name for a gas however it is called: "CO" and "carbon monoxide" are the same."""
    substance = find(name)
    if substance is not None:
        return substance.name
    return _SPACES.sub(" ", name).strip().casefold()


@lru_cache(maxsize=256)
def suspected(names: tuple[str, ...]) -> tuple[Suspect, ...]:
    """The suspects in their order, each once."""
    found: dict[str, Suspect] = {}
    for name in names:
        found.setdefault(key_of(name), _suspect(name))
    return tuple(found.values())


def _suspect(name: str) -> Suspect:
    key, substance = key_of(name), find(name)
    if substance is None:
        cold = _COLD.get(key)
        return Suspect(
            name=name,
            key=key,
            substance=None,
            sinks=cold is not None,
            rises=cold is not None and cold.rises,
            burns=cold is not None and cold.burns,
            displaces=cold is not None and not cold.feeds_fire,
            enriches=cold is not None and cold.feeds_fire,
            poisons=cold is None,
        )
    ratio = substance.density_ratio if substance.gives_vapour else None
    return Suspect(
        name=name,
        key=key,
        substance=substance,
        sinks=ratio is not None and ratio > SINKS,
        rises=ratio is not None and ratio < RISES,
        burns=bool(substance.lel),
        displaces=substance.gives_vapour and _much(substance),
        enriches=False,
        poisons=substance.gives_vapour and substance.idlh is not None,
    )


def _much(substance: Substance) -> bool:
    """Whether enough of it can be in the air; what is not known counts as yes."""
    pressure = substance.vapour_pressure
    if pressure is not None:
        return pressure.value >= DISPLACES_FROM_MMHG
    published = substance.vapour_pressure_published
    number, _, unit = (published.value if published else "").partition(" ")
    try:
        return not unit.startswith("mmHg") or Decimal(number) >= DISPLACES_FROM_MMHG
    except ArithmeticError:  # ">1 atm" and the like
        return True


def lel_shows_at(
    substance: Substance, least_percent: Decimal
) -> tuple[Decimal, str, Cell[Decimal]] | None:
    """At how many ppm an LEL sensor shows a poison at all, and the limit that this is to
    be held against, with its words. None where either is not known.

    Arithmetic: 1 % of a lower limit of 2.1 % by volume is 210 ppm. The limit is the
    strictest that is not to be passed for a short time, else the IDLH.
    """
    lower, idlh, ceiling = (
        substance.lel_percent(), substance.idlh, substance.ceiling,
    )  # fmt: skip
    if lower is None or idlh is None or substance.idlh_ppm is None:
        return None
    ppm = lower * least_percent * 100
    if ceiling is not None and ppm <= substance.idlh_ppm:
        return ppm, "short-term limit", ceiling
    return ppm, "IDLH", idlh


def among(names: tuple[str, ...], keys: frozenset[str]) -> list[str]:
    """The suspects that are one of `keys`, as the incident has them."""
    return [one.name for one in suspected(names) if one.key in keys]


def listed(names: Sequence[str], word: str = "and") -> str:
    """Names in a sentence: "chlorine, bromine and iodine"."""
    *most, last = names
    return f"{', '.join(most)} {word} {last}" if most else last
