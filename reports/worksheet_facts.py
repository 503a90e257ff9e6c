"""What a report prints of a worksheet's set-up: weather, members, limits."""

from collections.abc import Iterable, Mapping
from datetime import datetime, tzinfo
from typing import Any, Final

from reports.data import Fact, LimitRow
from screening.ensembles import Ensemble
from screening.incident import Context
from screening.profile import LIMITS, Profile, with_unit

_UNITS: Final = {"degC": "°C", "degF": "°F", "kelvin": "K", "uSv": "µSv"}
_MISSIONS: Final = {
    "rescue": "Rescue",
    "reconnaissance": "Reconnaissance",
    "product_control": "Product control",
    "other": "Other",
}

# What no instrument of this worksheet shows; printed in every report.
CAUTIONS: Final = (
    "A quiet instrument proves little: read the verdicts with what was not looked for.",
    "A dosimeter for gamma says nothing of alpha, beta or neutrons.",
)


def quantity(raw: object) -> str:
    """A quantity of the document as it was entered: "20 °C". "" where there is none."""
    if not isinstance(raw, Mapping) or "value" not in raw:
        return ""
    unit = str(raw.get("unit", ""))
    return f"{_figure(raw['value'])} {_UNITS.get(unit, unit)}"


def _figure(value: object) -> str:
    return str(value).replace("-", "\N{MINUS SIGN}")


def facts(
    document: Mapping[str, Any], context: Context, opened_by: str, zone: tzinfo
) -> tuple[Fact, ...]:
    """The lines of the front page that the set-up gives."""
    incident = document["incident"]
    pairs = (
        ("Mission", _MISSIONS.get(context.mission, context.mission)),
        ("Weather", _weather(incident.get("weather") or {})),
        ("Weather later", _looks(incident.get("weather_log") or (), zone)),
        ("Background dose rate", quantity(incident.get("background_dose_rate"))),
        ("Suspected", ", ".join(context.suspects)),
        ("Instruments", _instruments(document)),
        ("Opened by", opened_by),
    )
    return tuple(
        Fact(label=label, text=words or "Not given")
        for label, words in pairs
        if words or label == "Weather"
    )


def _weather(weather: Mapping[str, Any]) -> str:
    parts = [quantity(weather.get("air_temperature"))]
    humidity = weather.get("relative_humidity_percent")
    parts.append(f"humidity {_figure(humidity)} %" if humidity is not None else "")
    wind = quantity(weather.get("wind_speed"))
    degrees = weather.get("wind_from_degrees")
    if wind or degrees is not None:
        from_where = f" from {_figure(degrees)}°" if degrees is not None else ""
        parts.append(f"wind {wind}{from_where}".replace("  ", " "))
    return ", ".join(part for part in parts if part)


def _looks(looks: Iterable[Mapping[str, Any]], zone: tzinfo) -> str:
    """Each look at the weather that readings are judged by, with its time."""
    timed = [(datetime.fromisoformat(look["at"]), look) for look in looks]
    return "; ".join(
        f"{at.astimezone(zone):%H:%M} {_weather(look)}"
        for at, look in sorted(timed, key=lambda each: each[0])
    )


def _instruments(document: Mapping[str, Any]) -> str:
    return "; ".join(
        _instrument(instrument) for instrument in document.get("instruments") or ()
    )


def _instrument(instrument: Mapping[str, Any]) -> str:
    words = f"{instrument['id']} ({str(instrument['kind']).replace('_', ' ')}"
    if "last_bump_test" in instrument:
        when = instrument["last_bump_test"] or "never"
        words += f", last bump test {str(when)[:16].replace('T', ' ')}"
    if instrument.get("calibration_due"):
        words += f", calibration due {instrument['calibration_due']}"
    return words + ")"


def members(
    document: Mapping[str, Any], team: str, names: Mapping[str, str]
) -> tuple[str, ...]:
    """Each member of a team with the cylinder as it was entered."""
    raw = next(one for one in document["teams"] if one["id"] == team)
    return tuple(_member(one, team, names) for one in raw.get("members") or ())


def _member(raw: Mapping[str, Any], team: str, names: Mapping[str, str]) -> str:
    words = names.get(f"{team}/{raw['id']}", str(raw["id"]))
    if "ensemble" in raw:
        words += f", wears {Ensemble(raw['ensemble']).label}"
    cylinder = raw.get("cylinder")
    if not cylinder:
        return words
    volume = quantity(cylinder.get("rated_volume"))
    rated = quantity(cylinder.get("rated_pressure"))
    start = quantity(cylinder.get("start_pressure"))
    words += ", cylinder "
    words += f"{volume} at {rated}" if volume else f"rated {rated}"
    return words + (f", started at {start}" if start else "")


def limits(profile: Profile) -> tuple[LimitRow, ...]:
    """Every limit of the profile with its default and source."""
    loosened = profile.loosened_by_key()
    rows = []
    for key, limit in LIMITS.items():
        value = profile.get(key)
        default = limit.default
        rows.append(
            LimitRow(
                label=limit.label,
                value=profile.shown(key),
                default="none" if default is None else with_unit(default, limit.unit),
                source=limit.source,
                changed=value != default,
                loosened=key in loosened,
            )
        )
    return tuple(rows)
