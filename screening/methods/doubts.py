"""Why a reading cannot tell, or how far its quiet goes, for reasons around the reading.

Each function gives sentences of the table of methods, none where there is nothing to say.
Whether a reading then tells is decided in `screening.looks`: frost on a strip, a spoiled
or hidden sensor, and air outside the makers' range keep it from telling; a height not
noted, a moist lamp, and a distance stand behind it.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from functools import lru_cache, wraps
from typing import Any, Final, ParamSpec, cast

from screening.incident import Weather
from screening.methods import reason
from screening.rules.found import figure
from screening.statements import CROSS_SENSITIVITY
from screening.suspected import among, listed, suspected

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

_GLYCEROL: Final = re.compile(r"\bglycer(ol|in|ine)\b", re.IGNORECASE)
_DENIED: Final = re.compile(
    r"\b(no|not|without|forgot\w*|lacking|out of)\b", re.IGNORECASE
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


@_remembered
def of_height(height: str) -> Iterator[str]:
    """A meter read at a height that was not noted."""
    if not height:
        yield reason("height_not_noted")


@_remembered
def of_air(weather: Weather) -> Iterator[str]:
    """Cold, heat and dry air outside the range that makers give for a meter's sensors."""
    temperature = weather.air_temperature_degf
    if temperature is not None and temperature < COLD_DEGF:
        yield reason("cells_cold", temperature=degrees(temperature))
    if temperature is not None and temperature > HOT_DEGF:
        yield reason("cells_hot", temperature=degrees(temperature))
    humidity = weather.relative_humidity_percent
    if humidity is not None and humidity < DRY_AIR_PERCENT:
        yield reason("cells_dry_air", humidity=figure(humidity))


@_remembered
def of_wet_strip(weather: Weather) -> Iterator[str]:
    """Frost on a strip that was wetted."""
    temperature = weather.air_temperature_degf
    if temperature is not None and temperature <= FREEZING_DEGF:
        yield reason("strip_frozen", temperature=degrees(temperature))


def wetted_with_glycerol(note: str) -> bool:
    """Whether a note says so, and denies nothing: that does not freeze on the strip."""
    return bool(_GLYCEROL.search(note)) and not _DENIED.search(note)


def degrees(degf: Decimal) -> str:
    """An air temperature in both units."""
    celsius = (degf - 32) / Decimal("1.8")
    return f"{celsius:.0f} °C ({degf:.0f} °F)".replace("-", "−")


@_remembered
def of_lamp(lamp_ev: Decimal | None, suspects: Suspects) -> Iterator[str]:
    """The suspects that a photoionisation detector's lamp cannot see, with the energies."""
    needs = [
        (one.name, one.substance.ionisation)
        for one in suspected(suspects)
        if one.substance is not None and one.substance.ionisation is not None
    ]
    if lamp_ev is None:
        if needs:
            names = listed([f"{name} ({cell.text})" for name, cell in needs], "or")
            yield reason("lamp_unknown", names=names)
        return
    hidden = [f"{name} ({cell.text})" for name, cell in needs if cell.value >= lamp_ev]
    if hidden:
        yield reason(
            "lamp_cannot_see", lamp=figure(lamp_ev), names=listed(hidden, "or")
        )


def is_moist(weather: Weather) -> bool:
    """Whether the air is too moist for a photoionisation detector's lamp."""
    humidity = weather.relative_humidity_percent
    return humidity is not None and humidity > MOIST_AIR_PERCENT


@_remembered
def of_moist_air(weather: Weather) -> Iterator[str]:
    """Moist air on a photoionisation detector's lamp."""
    humidity = weather.relative_humidity_percent
    if humidity is not None and is_moist(weather):
        yield reason("lamp_moist_air", humidity=figure(humidity))


@lru_cache(maxsize=512)
def hidden_cells(measured: frozenset[str], suspects: Suspects) -> Mapping[str, str]:
    """The gases, by key, whose cell a suspect can pull down, and the sentence on it.

    A suspect that the set measures itself hides nothing.
    """
    found = {}
    for gas in sorted(measured & CROSS_SENSITIVITY.keys()):
        hiding = frozenset(
            name for name, (share, _) in CROSS_SENSITIVITY[gas].items() if share < 0
        )
        hiders = among(suspects, hiding - measured)
        if hiders:
            found[gas] = reason("cell_hidden", hiders=listed(hiders, "or"), gas=gas)
    return found


@_remembered
def of_distance(distance_m: Decimal | None) -> Iterator[str]:
    """A dose rate read from too far off for a weak source."""
    if distance_m is not None and distance_m >= FAR_M:
        yield reason("rate_far", distance=figure(distance_m))
