"""The kinds of reading: which words begin one, and which may follow."""

from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from typing import Any, Final

from incidents.radio.cursor import Cursor, MisheardError, listed
from incidents.radio.understood import Known, Problem

Reader = Callable[[Cursor, Known], None]
Modifiers = Mapping[str, tuple[str, Any]]

_WET: Final[Modifiers] = {"wet": ("moistened", True), "dry": ("moistened", False)}
_SAMPLE: Final[Modifiers] = {
    "in air": ("sample", "vapour"),
    "liquid": ("sample", "liquid"),
    "in liquid": ("sample", "liquid"),
}
_CARRIED: Final[Modifiers] = {
    "on hook": ("carried_on", "hook"),
    "in hand": ("carried_on", "hand"),
    "on facepiece": ("carried_on", "facepiece"),
}
_HEIGHT: Final[Modifiers] = {
    "at floor": ("height", "floor"),
    "at waist": ("height", "waist"),
    "at head": ("height", "head"),
}
_TEMPERATURES: Final = {"c": "degC", "°c": "degC", "f": "degF", "°f": "degF"}
_RATES: Final = {
    name.casefold(): name
    for name in (
        "mrem/h", "rem/h", "uSv/h", "µSv/h", "mSv/h", "Sv/h", "mR/h", "R/h", "uR/h",
    )
}  # fmt: skip
_DOSES: Final = {
    name.removesuffix("/h"): unit.removesuffix("/h") for name, unit in _RATES.items()
}
_LENGTHS: Final = {"m": "m", "ft": "ft"}
PRESSURES: Final = {"psi": "psi", "bar": "bar", "kpa": "kPa"}
SIGNS: Final[Mapping[str, str]] = {
    "rising pitch": "rising_pitch",
    "bulging": "bulging",
    "discoloured shell": "discoloured_shell",
    "relief operating": "relief_device_operating",
    "frost": "frost",
    "visible cloud": "visible_cloud",
    "odour": "odour",
    "symptoms": "symptoms",
    "dead plants": "dead_plants_or_animals",
    "dead animals": "dead_plants_or_animals",
}


def modifiers(cursor: Cursor, which: Modifiers) -> None:
    """Words that may follow in any order, each once."""
    while True:
        since = cursor.position
        left = {
            text: said for text, said in which.items() if said[0] not in cursor.body
        }
        said = cursor.take_of(left)
        if said is None:
            _said_twice(cursor, which)
            return
        cursor.put(*said, since)


def _said_twice(cursor: Cursor, which: Modifiers) -> None:
    """Point at a word that says again, or otherwise, what was said already."""
    since, awaited = cursor.position, dict(cursor.awaited)
    again = cursor.take_of(which)
    cursor.awaited = awaited
    if again is not None:
        cursor.put(*again, since)


def _papers(cursor: Cursor, more: Modifiers) -> None:
    """Wet or dry has to be said; in the air unless a liquid is said."""
    modifiers(cursor, {**_WET, **_SAMPLE, **more})
    if "moistened" not in cursor.body:
        cursor.fail("wet or dry")


def _ph(cursor: Cursor, known: Known) -> None:
    since = cursor.started
    word = cursor.word
    if word is not None and word.digits:
        cursor.put("ph", cursor.figure("pH"), since)
    else:
        bands = {band.replace("_", " "): band for band in known.bands}
        said = cursor.choose(
            {**bands, "white": "", "bleached": ""},
            "a pH, a colour of the chart or white",
        )
        field, value = ("band", said) if said else ("bleached", True)
        cursor.put(field, value, since)
    _papers(cursor, {**_CARRIED, "faded": ("faded", True)})


def _ki(cursor: Cursor, known: Known) -> None:
    results = {
        "no change": "no_change",
        "blue": "blue_black",
        "blue black": "blue_black",
        "line at edge": "line_at_wet_edge",
    }
    since = cursor.started
    cursor.put("result", cursor.choose(results), since)
    _papers(cursor, {"edge looked at": ("edge_checked", True)})


def _fluoride(cursor: Cursor, known: Known) -> None:
    since = cursor.started
    results = {"no change": "no_change", "changed": "changed"}
    cursor.put("result", cursor.choose(results), since)
    _papers(cursor, {})


_SENSORS: Final[Mapping[str, tuple[str, tuple[str, ...]]]] = {
    "lel": ("lel_percent", ("%", "percent")),
    "o2": ("oxygen_percent", ("%", "percent")),
    "oxygen": ("oxygen_percent", ("%", "percent")),
    "co": ("co_ppm", ("ppm",)),
    "h2s": ("h2s_ppm", ("ppm",)),
    "voc": ("voc_ppm", ("units",)),
}
_OVER_NAMES: Final = {"o2": "oxygen"}


def _meter(cursor: Cursor, known: Known) -> None:
    """Figures of one look; the word that began the reading is read again."""
    cursor.position = cursor.started
    rest: Modifiers = _HEIGHT
    while True:
        modifiers(cursor, rest)
        if not _one_sensor(cursor, known):
            return


def _one_sensor(cursor: Cursor, known: Known) -> bool:
    since = cursor.position
    name = cursor.take(*_SENSORS, *known.gases, "lamp")
    if name is None:
        return False
    if name == "lamp":
        cursor.put("lamp_ev", cursor.figure("the lamp's energy in eV"), since)
        cursor.take("ev")
        return True
    if cursor.take("over", "over range"):
        over = cursor.body.setdefault("over_range", [])
        over.append(_OVER_NAMES.get(name, name))
        start = cursor.words[since].start
        cursor.spans.setdefault("over_range", (start, cursor.words[since].end))
        return True
    figure = cursor.figure(f"what {name} reads")
    if name in _SENSORS:
        field, units = _SENSORS[name]
        cursor.take(*units)
        cursor.put(field, figure, since)
    else:
        cursor.take("ppm")
        _one_gas(cursor, name, figure, since)
    return True


def _one_gas(cursor: Cursor, name: str, figure: Decimal, since: int) -> None:
    gases = cursor.body.setdefault("gases", {})
    start, end = cursor.words[since].start, cursor.words[cursor.position - 1].end
    if name in gases:
        raise MisheardError(Problem(start, end, f"{name} once only"))
    gases[name] = figure
    cursor.spans.setdefault("gases", (start, end))


def quantity(cursor: Cursor, units: Mapping[str, str], what: str) -> dict[str, Any]:
    value = cursor.figure(what)
    unit = cursor.choose(units, f"the unit: {listed(units)}")
    return {"value": value, "unit": unit}


def _imager(cursor: Cursor, known: Known) -> None:
    """`imager drum 3 41 c around 20 c`, `imager relief 60 c`."""
    since = cursor.started
    if cursor.take("relief"):
        cursor.put("target", "relief_valve_discharge", since)
    elif cursor.take("other"):
        cursor.put("target", "other", since)
    else:
        since = cursor.position
        name = _container(cursor, known)
        cursor.body["target"] = "closed_container"
        cursor.put("container", name, since)
    since = cursor.position
    surface = quantity(cursor, _TEMPERATURES, "the surface's temperature")
    cursor.put("surface", surface, since)
    modifiers(cursor, {"shiny": ("shiny", True)})
    since = cursor.position
    if cursor.take("around"):
        around = quantity(cursor, _TEMPERATURES, "the surroundings' temperature")
        cursor.put("surroundings", around, since)
        modifiers(cursor, {"shiny": ("shiny", True)})


def _container(cursor: Cursor, known: Known) -> str:
    """A container's name, which may end in a figure: known ones, quotes, or any words."""
    found = cursor.take_of({name: name for name in known.containers})
    if found is not None:
        return found
    taken: list[str] = []
    while (word := cursor.word) is not None and not _temperature_here(cursor):
        taken.append(word.text)
        cursor.position += 1
    if not taken or cursor.done:
        cursor.fail("the container's name, then its temperature such as 41 C")
    return " ".join(taken)


def _temperature_here(cursor: Cursor) -> bool:
    here = cursor.words[cursor.position : cursor.position + 2]
    figures = len(here) == 2 and here[0].figure is not None
    return figures and here[1].folded in _TEMPERATURES


def _dosimeter(cursor: Cursor, known: Known) -> None:
    """`rate 5 mrem/h`, `dose 20 mrem`, `alarm`, with `from 3 m` or `on contact`."""
    cursor.position = cursor.started
    members = known.members.get(cursor.body.get("team", ""), {})
    while _one_of_dose(cursor, members):
        modifiers(cursor, {"on contact": ("contact", True)})


def _one_of_dose(cursor: Cursor, members: Mapping[str, str]) -> bool:
    since = cursor.position
    what = cursor.take("rate", "dose", "alarm", "no alarm", "from", "member")
    match what:
        case "rate":
            cursor.put("dose_rate", quantity(cursor, _RATES, "the dose rate"), since)
        case "dose":
            cursor.put("dose", quantity(cursor, _DOSES, "the dose"), since)
        case "alarm" | "no alarm":
            cursor.put("alarm", what == "alarm", since)
        case "from":
            away = quantity(cursor, _LENGTHS, "the distance")
            cursor.put("distance", away, since)
        case "member":
            cursor.put("member", cursor.choose(by_name(members)), since)
    return what is not None


def _sign(cursor: Cursor, known: Known) -> None:
    since = cursor.started
    cursor.put("what", cursor.choose(SIGNS), since)


def _air(cursor: Cursor, known: Known) -> None:
    since = cursor.position
    members = known.members.get(cursor.body.get("team", ""), {})
    cursor.put("member", cursor.choose(by_name(members), "a member of the team"), since)
    since = cursor.position
    pressure = quantity(cursor, PRESSURES, "the gauge's pressure")
    cursor.put("pressure", pressure, since)


def by_name(named: Mapping[str, str]) -> dict[str, str]:
    """Name to id; a person is found by the whole name, by a part of it that no other
    has, and by the id."""
    parts: dict[str, set[str]] = {}
    for key, name in named.items():
        for part in name.split():
            parts.setdefault(part.casefold(), set()).add(key)
    alone = {part: next(iter(keys)) for part, keys in parts.items() if len(keys) == 1}
    whole = {name.casefold(): key for key, name in named.items()}
    return {**{key.casefold(): key for key in named}, **alone, **whole}


READINGS: Final[Mapping[str, tuple[str, Reader]]] = {
    "ph": ("ph_paper", _ph),
    "ki": ("ki_starch_paper", _ki),
    "fluoride": ("fluoride_paper", _fluoride),
    **dict.fromkeys(_SENSORS, ("gas_meter", _meter)),
    "imager": ("thermal_imager", _imager),
    "sign": ("sign", _sign),
    "rate": ("dosimeter", _dosimeter),
    "dose": ("dosimeter", _dosimeter),
    "alarm": ("dosimeter", _dosimeter),
    "no alarm": ("dosimeter", _dosimeter),
    "air": ("air_check", _air),
}


def starters(known: Known) -> Iterator[tuple[str, tuple[str, Reader]]]:
    """Every word that begins a reading; a gas of the incident begins a meter's."""
    yield from READINGS.items()
    for name in known.gases:
        yield name, ("gas_meter", _meter)
