"""What an incident is about: its scene, and what the readings come to as it goes on.

A kind gives readings from a level between 0 (as in fresh air) and 1 (at its worst). The
figures are made up to lie on both sides of the limits that crews use; they teach nothing
about any substance.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from random import Random
from typing import Any, Final, TypeAlias

Reading: TypeAlias = dict[str, Any]
Readings: TypeAlias = Callable[[Random, float], list[Reading]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One sort of incident."""

    name: str
    scenes: tuple[str, ...]  # the first word of the incident's name
    rooms: tuple[str, ...]
    substances: tuple[str, ...]  # one or two of them are suspected
    hazard: str  # what a clear is of; "" where nothing is found
    alarming: float  # from this level on a Stop or more is to be expected
    readings: Readings
    ensembles: tuple[str, ...] = ("turnout_scba", "level_b")


def number(value: float, places: int = 0) -> Decimal:
    """A figure as an instrument shows it: rounded, never a float."""
    return Decimal(f"{value:.{places}f}")


def quiet_meter(rng: Random, **figures: Decimal) -> Reading:
    """A four-gas meter at rest, but for what is given."""
    shown: Reading = {
        "kind": "gas_meter",
        "instrument": "gas-meter",
        "lel_percent": Decimal(0),
        "oxygen_percent": number(20.9 - rng.choice((0, 0, 0.1)), 1),
        "co_ppm": Decimal(rng.choice((0, 0, 0, 1))),
        "h2s_ppm": Decimal(0),
        "height": rng.choice(("floor", "floor", "waist", "head")),
    }
    return shown | figures


def ph(rng: Random, value: Decimal, sample: str = "vapour") -> Reading:
    wet = rng.random() < 0.93
    return {"kind": "ph_paper", "sample": sample, "moistened": wet, "ph": value}


def starch(rng: Random, result: str, sample: str = "vapour") -> Reading:
    looked = sample == "liquid" and rng.random() < 0.7
    more: Reading = {"edge_checked": True} if looked else {}
    strip = {"kind": "ki_starch_paper", "sample": sample, "result": result}
    return {**strip, "moistened": True, **more}


def dosimeter(rng: Random, mrem_per_hour: Decimal | None = None) -> Reading:
    rate = number(0.01 + rng.choice((0, 0, 0.002)), 3)
    shown = rate if mrem_per_hour is None else mrem_per_hour
    return {
        "kind": "dosimeter",
        "instrument": "dosimeter",
        "dose_rate": {"value": shown, "unit": "mrem/h"},
        "alarm": shown >= 10,
    }


def _acid(rng: Random, level: float) -> list[Reading]:
    return [ph(rng, number(6.5 - 5.0 * level, 1))]


def _base(rng: Random, level: float) -> list[Reading]:
    return [ph(rng, number(7 + 4.5 * level, 1)), quiet_meter(rng)]


def _oxidiser(rng: Random, level: float) -> list[Reading]:
    if level < 0.4:
        return [starch(rng, "no_change")]
    found = "blue_black" if level > 0.75 else "line_at_wet_edge"
    return [starch(rng, found, "liquid"), ph(rng, number(6.5 - level, 1))]


def _flammable(rng: Random, level: float) -> list[Reading]:
    return [quiet_meter(rng, lel_percent=number(max(0.0, 22 * level - 2)))]


def _oxygen(rng: Random, level: float) -> list[Reading]:
    return [quiet_meter(rng, oxygen_percent=number(20.9 - 4.5 * level, 1))]


def _toxic(rng: Random, level: float) -> list[Reading]:
    return [quiet_meter(rng, h2s_ppm=number(28 * level**2))]


def _radiation(rng: Random, level: float) -> list[Reading]:
    return [dosimeter(rng, number(0.01 + 14_000 * level**8, 2))]


def _heat(rng: Random, level: float) -> list[Reading]:
    return [
        {
            "kind": "thermal_imager",
            "instrument": "imager",
            "target": "closed_container",
            "container": "Grey drum",
            "surface": {"value": number(19 + 30 * level, 1), "unit": "degC"},
            "surroundings": {"value": Decimal(18), "unit": "degC"},
        }
    ]


def _fluoride(rng: Random, level: float) -> list[Reading]:
    result = "changed" if level > 0.5 else "no_change"
    strip = {"kind": "fluoride_paper", "sample": "vapour", "moistened": True}
    return [{**strip, "result": result}, ph(rng, number(6.5 - 4 * level, 1))]


def _nothing(rng: Random, level: float) -> list[Reading]:
    return [ph(rng, number(6.5 + rng.choice((0, 0.5)), 1)), quiet_meter(rng)]


KINDS: Final[Mapping[str, Kind]] = {
    kind.name: kind
    for kind in (
        Kind(
            name="acid vapour", hazard="acid_vapour", alarming=0.5, readings=_acid,
            scenes=("Plating shop", "Pool supply store", "Battery room"),
            rooms=("store room", "tank room", "pickling bay"),
            substances=("hydrogen chloride", "nitric acid", "sulfuric acid"),
        ),
        Kind(
            name="base vapour", hazard="base_vapour", alarming=0.45, readings=_base,
            scenes=("Cold store", "Ice rink plant", "Dairy"),
            rooms=("compressor room", "plant room", "cold room"),
            substances=("ammonia (anhydrous)", "methylamine"),
        ),
        Kind(
            name="oxidiser liquid", hazard="oxidiser_liquid", alarming=0.4,
            readings=_oxidiser,
            scenes=("Laundry", "Swimming hall", "Paper mill"),
            rooms=("dosing room", "bleach store", "cellar"),
            substances=("hydrogen peroxide", "sodium hypochlorite (solution)", "chlorine"),
        ),
        Kind(
            name="LEL rising", hazard="flammable_atmosphere", alarming=0.55,
            readings=_flammable,
            scenes=("Gas main", "Paint works", "Filling station", "Garage pit"),
            rooms=("meter cupboard", "pit", "mixing room"),
            substances=("methane", "propane", "toluene", "gasoline"),
        ),
        Kind(
            name="oxygen low", hazard="oxygen_deficient", alarming=0.35, readings=_oxygen,
            scenes=("Brewery", "Laboratory", "Grain silo"),
            rooms=("fermenting cellar", "gas store", "silo foot"),
            substances=("carbon dioxide",),
        ),
        Kind(
            name="toxic gas", hazard="toxic_gas", alarming=0.6, readings=_toxic,
            scenes=("Sewage works", "Biogas plant", "Manure pit"),
            rooms=("wet well", "screen room", "pump sump"),
            substances=("hydrogen sulfide", "carbon monoxide"),
        ),
        Kind(
            name="radiation", hazard="gamma_radiation", alarming=0.7,
            readings=_radiation,
            scenes=("Scrap yard", "Parcel depot", "Clinic store"),
            rooms=("weighbridge", "sorting hall", "isotope room"),
            substances=(),
        ),
        Kind(
            name="heat", hazard="container_heating", alarming=0.35, readings=_heat,
            scenes=("Drum store", "Resin works", "Recycling hall"),
            rooms=("drum bay", "reactor hall", "bale store"),
            substances=("hydrogen peroxide", "acetone"),
        ),
        Kind(
            name="fluoride", hazard="fluoride_vapour", alarming=0.5, readings=_fluoride,
            scenes=("Glass etching shop", "Wafer laboratory"),
            rooms=("etching room", "acid cabinet"),
            substances=("hydrogen fluoride",), ensembles=("level_b", "level_b"),
        ),
        Kind(
            name="nothing found", hazard="", alarming=2.0, readings=_nothing,
            scenes=("Strange smell", "Suspect parcel", "School"),
            rooms=("hall", "post room", "classroom", "stairwell"),
            substances=(),
        ),
    )
}  # fmt: skip
# How often each comes, of 100. Made up.
WEIGHTS: Final[Mapping[str, int]] = {
    "acid vapour": 16, "base vapour": 12, "oxidiser liquid": 10, "LEL rising": 18,
    "oxygen low": 7, "toxic gas": 9, "radiation": 5, "heat": 7, "fluoride": 4,
    "nothing found": 12,
}  # fmt: skip
