"""What is asked of the place: size-up, site, zones, weather, substances."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from types import MappingProxyType
from typing import Final

from command.questions import (
    UNKNOWN,
    Amount,
    Point,
    amount,
    answer,
    choice,
    line,
    moment,
    note,
    number,
    points,
)
from screening.units import Dimension
from screening.worksheet.fields import (
    DEGREES,
    DISTANCE,
    PERCENT,
    TEMPERATURE,
    WIND,
)

ZONES: Final = MappingProxyType(
    {
        "isolation": "Initial isolation",
        "protective_action": "Protective action",
        "hot": "Hot zone",
        "warm": "Warm zone",
        "cold": "Cold zone",
    }
)
# Three ways of setting a line, kept apart (job of the hazmat officer; NFPA 472 ch. 6,
# from memory).
BASES: Final = MappingProxyType(
    {
        "guide": "Table of a guide",
        "reading": "Reading of an instrument",
        "terrain_or_wind": "Terrain or wind",
    }
)
CERTAINTIES: Final = MappingProxyType(
    {
        "label": "Label or placard seen",
        "papers": "Papers",
        "told": "Told",
        "guessed": "Guessed",
    }
)
STATES: Final = MappingProxyType(
    {"gas": "Gas", "liquid": "Liquid", "solid": "Solid", UNKNOWN: "Not known"}
)
_METRES: Final = ("m", "ft")


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeUp:
    """What was seen first, by whom and from where."""

    place: str = answer("Place")
    occupancy: str = answer("Occupancy", help="What the place is used for.")
    container: str = answer("Container", help="Kind, size, what it is under.")
    labels: str = answer("Labels and placards")
    quantity: str = answer("Quantity")
    state: str = answer("State", help="Gas, liquid or solid; leaking, burning, calm.")
    people: str = answer("People", help="Inside, hurt, not accounted for.")
    exposures: str = answer("Exposures", help="What lies around and downwind.")
    first_look_by: str = answer("First look by")
    first_look_from: str = answer("First look from")
    first_look_at: datetime | None = moment("First look at")
    remarks: str = note("Anything else")


@dataclass(frozen=True, slots=True, kw_only=True)
class Site:
    """Where things are, in words first."""

    command_post: str = line("Command post")
    access_points: str = line("Access points")
    decon_corridor: str = line("Decon corridor")
    refuge_area: str = line("Refuge area", help="Waiting place, possibly contaminated.")
    assembly_areas: str = line("Assembly areas")
    escape_routes: str = line("Escape routes")
    sketch: str = note("The site in words", help="What a map would show.")
    command_post_at: tuple[Point, ...] = points("Command post, coordinates")


@dataclass(frozen=True, slots=True, kw_only=True)
class ZoneLine:
    """One line on the ground, with what it was set by."""

    distance: Amount | None = amount(
        "Distance", Dimension.LENGTH, DISTANCE, _METRES, help="From the release."
    )
    runs: str = line("Where it runs", help="Such as: fence, kerb of Larkmere Row.")
    basis: str = choice("Set by", BASES, required=True)
    edition: str = line("Guide and edition", help="Needed where a guide was used.")
    page: str = line("Page or guide number")
    spill: str = choice("Spill", {"small": "Small", "large": "Large"})
    daylight: str = choice("Time of day", {"day": "Day", "night": "Night"})
    why: str = line("Which reading, slope or wind")
    corners: tuple[Point, ...] = points(
        "Corners", help="Latitude, longitude in degrees; one to a line. May be empty."
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ZonesChecked:
    """The lines were looked at again and hold as they are."""

    by: str = line("Looked at by", required=True)
    words: str = line("What was looked at")


@dataclass(frozen=True, slots=True, kw_only=True)
class WeatherReport:
    """One look at the weather. The direction is where the wind comes from."""

    wind_from: Decimal | None = number(
        "Wind from", DEGREES, "°", help="Degrees; 0 is north."
    )
    wind_towards: Decimal | None = number(
        "Or blowing towards", DEGREES, "°", help="Degrees."
    )
    wind_speed: Amount | None = amount(
        "Wind speed", Dimension.SPEED, WIND, ("m/s", "mph", "km/h", "knot")
    )
    temperature: Amount | None = amount(
        "Air temperature", Dimension.TEMPERATURE, TEMPERATURE, ("degC", "degF")
    )
    humidity: Decimal | None = number("Relative humidity", PERCENT, " %", help="In %.")
    sky: str = answer("Sky", help="Clear, cloud, sun, dark.")
    precipitation: str = answer("Rain, snow, fog")
    forecast: str = answer("Forecast change")
    source: str = answer("Source", help="Such as: own instrument, weather service.")

    @property
    def from_degrees(self) -> Decimal | None:
        """Where the wind comes from, 0 to below 360."""
        if self.wind_from is not None:
            return self.wind_from % 360
        return None if self.wind_towards is None else (self.wind_towards + 180) % 360


@dataclass(frozen=True, slots=True, kw_only=True)
class SuspectedSubstance:
    """One material, and how sure anybody is of it."""

    name: str = line("Substance", help="“unknown” is an answer.", required=True)
    certainty: str = choice("How it is known", CERTAINTIES, required=True)
    source: str = line("Source", help="Whose papers, who told, which label.")
    container: str = answer("Container")
    size: str = answer("Size of the container")
    relief_valve: str = answer("Relief valve")
    label: str = answer("Label or number")
    quantity: str = answer("Quantity")
    state: str = choice("State", STATES)
    facts: str = note(
        "What references say",
        help="Each figure with its reference and edition. Two references that differ: "
        "write both.",
    )
