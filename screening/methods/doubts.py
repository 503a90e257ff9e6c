"""What stands behind a reading that can tell: how far its quiet goes.

Each function gives sentences of the table of methods, none where there is nothing to say.
They change no status.
"""

import re
from collections.abc import Callable, Iterator, Sequence
from decimal import Decimal
from functools import lru_cache, wraps
from typing import Any, Final, ParamSpec, cast

from screening.evidence import CROSS_SENSITIVITY, NO_CHANGE
from screening.incident import Weather
from screening.methods import reason
from screening.rules.found import figure
from screening.substances import Paper, Substance, find

# Moist air dims a lamp from here on; dry air takes the water out of a cell below.
# Common practice, no source (makers give 80 to 95 %, and 10 to 15 %).
MOIST_AIR_PERCENT: Final = Decimal(90)
DRY_AIR_PERCENT: Final = Decimal(10)
# −10 and 40 °C, the range that makers commonly give; 0 °C for the water on a strip. Common
# practice, no source.
COLD_DEGF: Final = Decimal(14)
HOT_DEGF: Final = Decimal(104)
FREEZING_DEGF: Final = Decimal(32)
# A probe from this far off, 10 ft, misses a weak source. Common practice, no source.
FAR_M: Final = Decimal("3.048")
# Heavier or lighter than air by more than its own scatter (common practice, no source).
SINKS: Final = Decimal("1.05")
RISES: Final = Decimal("0.95")
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
    {"diesel", "diesel fuel", "fuel oil", "heating oil", "jet fuel", "kerosene"}
)
_SPOILT: Final = re.compile(
    r"silicone|siloxane|\b(sensor|bead|catalyst|meter|cell)\b.{0,40}"
    r"\b(poisoned|poisoning|inhibited|spoiled|spoilt|fouled)\b"
    r"|\b(poisoned|inhibited|spoiled|spoilt|fouled)\b.{0,40}"
    r"\b(sensor|bead|catalyst|meter|cell)\b",
    re.IGNORECASE,
)
Suspects = tuple[str, ...]
_P = ParamSpec("_P")


def _remembered(
    sentences: Callable[_P, Iterator[str]],
) -> Callable[_P, tuple[str, ...]]:
    """The same facts come with reading after reading: worked out once, kept as a tuple."""

    @lru_cache(maxsize=512)
    def kept(*args: Any, **kwargs: Any) -> tuple[str, ...]:
        return tuple(sentences(*args, **kwargs))

    return cast(Callable[_P, tuple[str, ...]], wraps(sentences)(kept))


def listed(names: Sequence[str], word: str = "and") -> str:
    """Names in a sentence: "chlorine, bromine and iodine"."""
    *most, last = names
    return f"{', '.join(most)} {word} {last}" if most else last


@lru_cache(maxsize=256)
def known(suspects: Suspects) -> tuple[tuple[str, Substance], ...]:
    """The suspects that the table of substances has, with the name that was used."""
    pairs = ((name, find(name)) for name in suspects)
    return tuple((name, found) for name, found in pairs if found is not None)


def _named(suspects: Suspects, names: frozenset[str]) -> list[str]:
    return [used for used, substance in known(suspects) if substance.name in names]


@_remembered
def of_height(
    height: str, suspects: Suspects, heights: frozenset[str] = frozenset()
) -> Iterator[str]:
    """How a meter's reading at one height goes no further.

    `heights` are those that quiet readings in date have already covered here.
    """
    if not height:
        if not heights:
            yield reason("height_not_noted")
        return
    at = f"{height} height" if height == "head" else f"the {height}"
    if height in ("head", "waist") and "floor" not in heights:
        heavy = _by_weight(suspects)[0]
        names = listed(heavy, "or") if heavy else "a heavy or cold gas"
        yield reason("above_floor", height=at, names=names)
    if height in ("floor", "waist") and "head" not in heights:
        light = _by_weight(suspects)[1]
        if light:
            yield reason("under_ceiling", height=at, names=listed(light, "or"))


@lru_cache(maxsize=256)
def _by_weight(suspects: Suspects) -> tuple[list[str], list[str]]:
    """The suspects whose vapour sinks, and those whose vapour rises."""
    ratios = [
        (name, substance.density_ratio)
        for name, substance in known(suspects)
        if substance.gives_vapour and substance.density_ratio is not None
    ]
    return (
        [name for name, ratio in ratios if ratio > SINKS],
        [name for name, ratio in ratios if ratio < RISES],
    )


@_remembered
def of_lel(note: str, suspects: Suspects) -> Iterator[str]:
    """What may have spoiled the sensor, and what its kind may not see."""
    if note and _SPOILT.search(note):
        yield reason("lel_spoiled_noted")
    if not suspects:
        return
    spoilers = _named(suspects, SPOILERS)
    if spoilers:
        yield reason("lel_spoiled_by_suspect", names=listed(spoilers, "or"))
    for gas in ("hydrogen", "acetylene"):
        if _named(suspects, frozenset({gas})):
            yield reason(f"lel_infrared_{gas}")
    oils = [name for name in suspects if name in HEAVY_OILS]
    if oils:
        yield reason("lel_heavy_oil", names=listed(oils))


@_remembered
def of_air(weather: Weather) -> Iterator[str]:
    """Cold, heat and dry air on a meter's sensors."""
    temperature = weather.air_temperature_degf
    if temperature is not None and temperature < COLD_DEGF:
        yield reason("cells_cold", temperature=_degrees(temperature))
    if temperature is not None and temperature > HOT_DEGF:
        yield reason("cells_hot", temperature=_degrees(temperature))
    humidity = weather.relative_humidity_percent
    if humidity is not None and humidity < DRY_AIR_PERCENT:
        yield reason("cells_dry_air", humidity=figure(humidity))


@_remembered
def of_wet_strip(weather: Weather) -> Iterator[str]:
    """Frost on a strip that was wetted."""
    temperature = weather.air_temperature_degf
    if temperature is not None and temperature <= FREEZING_DEGF:
        yield reason("strip_frozen", temperature=_degrees(temperature))


def _degrees(degf: Decimal) -> str:
    celsius = (degf - 32) / Decimal("1.8")
    return f"{celsius:.0f} °C ({degf:.0f} °F)".replace("-", "−")


@_remembered
def of_lamp(lamp_ev: Decimal | None, suspects: Suspects) -> Iterator[str]:
    """The suspects that a photoionisation detector's lamp cannot see, with the energies."""
    needs = [
        (name, substance.ionisation_ev)
        for name, substance in known(suspects)
        if substance.ionisation_ev is not None
    ]
    if lamp_ev is None:
        if needs:
            names = listed([f"{name} ({figure(ev)} eV)" for name, ev in needs], "or")
            yield reason("lamp_unknown", names=names)
        return
    hidden = [f"{name} ({figure(ev)} eV)" for name, ev in needs if ev >= lamp_ev]
    if hidden:
        yield reason(
            "lamp_cannot_see", lamp=figure(lamp_ev), names=listed(hidden, "or")
        )


@_remembered
def of_moist_air(weather: Weather) -> Iterator[str]:
    """Moist air on a photoionisation detector's lamp."""
    humidity = weather.relative_humidity_percent
    if humidity is not None and humidity > MOIST_AIR_PERCENT:
        yield reason("lamp_moist_air", humidity=figure(humidity))


@_remembered
def of_cells(
    measured: frozenset[str], seen_by_lamp: Decimal | None, suspects: Suspects
) -> Iterator[str]:
    """Suspects that no cell of the set is for, and those that hide what a cell is for.

    `measured` are "co", "h2s" and names of gases; `seen_by_lamp` is the energy of the lamp
    whose figure is in the set.
    """
    if not suspects:
        return
    own = {found.name for name in measured if (found := find(name)) is not None}
    yield from _not_measured(own | measured, seen_by_lamp, suspects)
    for gas in sorted(own & CROSS_SENSITIVITY.keys()):
        hiding = {
            name for name, (share, _) in CROSS_SENSITIVITY[gas].items() if share < 0
        }
        hiders = _named(suspects, frozenset(hiding - own))
        if hiders:
            yield reason("cell_hidden", hiders=listed(hiders, "or"), gas=gas)


def _not_measured(
    measured: set[str] | frozenset[str], lamp_ev: Decimal | None, suspects: Suspects
) -> Iterator[str]:
    missing = []
    for name in suspects:
        found = find(name)
        if name in measured or (found is not None and found.name in measured):
            continue
        if found is not None and not (found.gives_vapour and found.idlh is not None):
            continue
        energy = None if found is None else found.ionisation_ev
        if lamp_ev is None or energy is None or energy >= lamp_ev:
            missing.append(name)
    if missing:
        yield reason("suspect_not_measured", names=listed(missing, "or"))


@lru_cache(maxsize=256)
def of_ph(suspects: Suspects) -> tuple[str, ...]:
    """Suspects that a strip in the air cannot show, or that hide each other on it."""
    if not suspects:
        return ()
    said = []
    silent = [
        name
        for name, substance in known(suspects)
        if not substance.gives_vapour and _may_turn(substance, "ph", "liquid")
    ]
    if silent:
        said.append(reason("ph_no_vapour", names=listed(silent, "and")))
    acid = [name for name, substance in known(suspects) if _reads(substance, "acid")]
    base = [name for name, substance in known(suspects) if _reads(substance, "base")]
    if acid and base:
        said.append(reason("ph_cancelled", acid=listed(acid), base=listed(base)))
    return tuple(said)


def _reads(substance: Substance, outcome: str) -> bool:
    response = substance.papers.get(("ph", "vapour"))
    return response is not None and response.shows == {outcome}


def _may_turn(substance: Substance, paper: Paper, sample: str) -> bool:
    response = substance.papers.get(
        (paper, "liquid" if sample == "liquid" else "vapour")
    )
    return response is not None and not response.shows <= NO_CHANGE


@lru_cache(maxsize=256)
def of_ki_starch(suspects: Suspects) -> tuple[str, ...]:
    """Suspects that keep the strip white, or give too little vapour for it."""
    said = []
    reducers = _named(suspects, REDUCERS)
    if reducers:
        said.append(reason("ki_reduced", names=listed(reducers, "or")))
    faint = []
    for name, substance in known(suspects):
        in_air = substance.papers.get(("ki_starch", "vapour"))
        uncertain = in_air is None or "no_change" in in_air.shows
        if uncertain and _may_turn(substance, "ki_starch", "liquid"):
            faint.append(name)
    if faint:
        said.append(reason("ki_little_vapour", names=listed(faint, "or")))
    return tuple(said)


@_remembered
def of_distance(distance_m: Decimal | None) -> Iterator[str]:
    """A dose rate read from too far off for a weak source."""
    if distance_m is not None and distance_m >= FAR_M:
        yield reason("rate_far", distance=figure(distance_m))
