"""The log entries: one reader for each kind, all fields checked against what exists."""

from collections.abc import Callable, Collection, Mapping
from typing import Any, Final

from screening.ensembles import Ensemble
from screening.readings import KINDS, NOTHING_SHOWN, Entry
from screening.units import Dimension
from screening.verdicts import Hazard
from screening.worksheet.fields import (
    DISTANCE,
    DOSE,
    DOSE_RATE,
    LAMP,
    PERCENT,
    PH,
    PPM,
    PRESSURE,
    TEMPERATURE,
    Fields,
    named_numbers,
)
from screening.worksheet.setup import Scope

Parts = dict[str, Any]

SAMPLES: Final = ("vapour", "liquid")
CARRIED_ON: Final = ("facepiece", "hook", "hand")
HEIGHTS: Final = ("floor", "waist", "head")
TARGETS: Final = ("closed_container", "relief_valve_discharge", "other")
SIGNS: Final = (
    "rising_pitch",
    "bulging",
    "discoloured_shell",
    "relief_device_operating",
    "frost",
    "visible_cloud",
    "odour",
    "symptoms",
    "dead_plants_or_animals",
)
SENSORS: Final = ("lel", "oxygen", "co", "h2s", "voc")

_COMMON: Final = frozenset({"id", "at", "kind", "team", "place", "note", "instrument"})
_TEAM_NOT_NEEDED: Final = frozenset(
    {"ventilate", "acknowledge", "strike", "clear", "bump_test"}
)


def read_entry(fields: Fields, scope: Scope) -> Entry | None:
    """One entry; None where anything is wrong with it, which is reported.

    Whether the entry that it names exists is for the caller to check.
    """
    before = len(fields.problems.errors)
    kind = fields.raw.get("kind")
    if not isinstance(kind, str) or kind not in _READERS:
        fields.wrong("kind", f"one of {', '.join(KINDS)}")
        _common(fields, scope, team_needed=False)
        return None
    fields.allow(_ALLOWED[kind], kind)
    common = _common(fields, scope, team_needed=kind not in _TEAM_NOT_NEEDED)
    parts = _READERS[kind](fields, scope)
    if len(fields.problems.errors) > before:
        return None
    return KINDS[kind](**common, **parts, shown=fields.shown or NOTHING_SHOWN)


def _common(fields: Fields, scope: Scope, *, team_needed: bool) -> Parts:
    team = ""
    if scope.members is not None:
        if team_needed or "team" in fields.raw:
            team = fields.choice("team", tuple(scope.members))
    elif team_needed or "team" in fields.raw:
        team = fields.identifier("team")
    return {
        "id": fields.identifier("id"),
        "at": fields.moment("at"),
        "team": team,
        "place": fields.name("place"),
        "note": fields.note("note"),
        "instrument": fields.name(
            "instrument", required=fields.raw.get("kind") == "bump_test"
        ),
    }


def _ph_paper(fields: Fields, scope: Scope) -> Parts:
    bleached = bool(fields.flag("bleached"))
    low = high = None
    band = ""
    if bleached:
        for name in ("ph", "band"):
            if name in fields.raw:
                fields.wrong(name, f"no {name}: the paper is bleached")
    elif "ph" in fields.raw and "band" in fields.raw:
        fields.wrong("band", "either ph or band, not both")
    elif "band" in fields.raw:
        band = fields.choice("band", tuple(scope.paper_chart))
        low, high = scope.paper_chart.get(band, (None, None))
    else:
        low = high = fields.number("ph", PH)
        if "ph" not in fields.raw:
            fields.wrong("ph", "ph, a band of the paper chart, or bleached")
    return {
        "sample": fields.choice("sample", SAMPLES),
        "moistened": bool(fields.flag("moistened")),
        "bleached": bleached,
        "low": low,
        "high": high,
        "band": band,
        "faded": bool(fields.flag("faded")),
        "carried_on": fields.choice("carried_on", CARRIED_ON, required=False),
    }


def _ki_starch_paper(fields: Fields, scope: Scope) -> Parts:
    sample = fields.choice("sample", SAMPLES)
    edge_checked = bool(fields.flag("edge_checked"))
    if edge_checked and sample == "vapour":
        fields.wrong("edge_checked", "no edge_checked: only a liquid test has an edge")
    return {
        "sample": sample,
        "result": fields.choice(
            "result", ("no_change", "blue_black", "line_at_wet_edge")
        ),
        "moistened": bool(fields.flag("moistened")),
        "edge_checked": edge_checked,
    }


def _fluoride_paper(fields: Fields, scope: Scope) -> Parts:
    return {
        "sample": fields.choice("sample", SAMPLES),
        "result": fields.choice("result", ("no_change", "changed")),
        "moistened": bool(fields.flag("moistened")),
    }


_METER_NUMBERS: Final = (
    ("lel_percent", PERCENT, "% LEL"),
    ("oxygen_percent", PERCENT, "%"),
    ("co_ppm", PPM, "ppm"),
    ("h2s_ppm", PPM, "ppm"),
    ("voc_ppm", PPM, "units"),  # a detector's own units, not ppm of anything
)


def _gas_meter(fields: Fields, scope: Scope) -> Parts:
    parts: Parts = {
        name: fields.number(name, bound, unit=unit)
        for name, bound, unit in _METER_NUMBERS
        if name in fields.raw
    }
    gases: dict[str, Any] = {}
    cells = fields.inner("gases")
    if cells is not None:
        gases = named_numbers(cells, PPM)
        fields.shown.update({f"gases/{name}": f"{gases[name]:f} ppm" for name in gases})
    parts["gases"] = tuple(sorted(gases.items()))
    parts["over_range"] = _over_range(fields, scope, gases)
    parts["height"] = fields.choice("height", HEIGHTS, required=False)
    parts["lamp_ev"] = fields.number("lamp_ev", LAMP, unit="eV")
    sensors = fields.raw.keys() & _SENSOR_FIELDS
    if not any(fields.raw[name] or name not in _MAY_BE_EMPTY for name in sensors):
        fields.problems.missing(
            fields.pointer, f"at least one of {', '.join(sorted(_SENSOR_FIELDS))}"
        )
    if "lamp_ev" in fields.raw and not (
        "voc_ppm" in fields.raw or "voc" in parts["over_range"]
    ):
        fields.wrong("lamp_ev", "no lamp_ev without voc_ppm")
    return parts


_MAY_BE_EMPTY: Final = frozenset({"gases", "over_range"})
_SENSOR_FIELDS: Final = _MAY_BE_EMPTY | {name for name, _, _ in _METER_NUMBERS}


def _over_range(fields: Fields, scope: Scope, gases: Collection[str]) -> frozenset[str]:
    """The sensors that show over-range: the common ones, or a gas that something names."""
    found = set()
    for name, pointer in fields.names("over_range"):
        sensor = name.lower()
        if sensor in SENSORS or sensor in gases or _is_cell(sensor, fields, scope):
            found.add(sensor)
        else:
            expected = f"one of {', '.join(SENSORS)}, or the name of a gas"
            fields.problems.wrong(pointer, name, expected)
    return frozenset(found)


def _is_cell(sensor: str, fields: Fields, scope: Scope) -> bool:
    from screening.substances import find  # its table is read only when asked for

    instrument = fields.raw.get("instrument")
    if isinstance(instrument, str) and sensor in scope.sensors.get(instrument, ()):
        return True
    return sensor in scope.suspects or find(sensor) is not None


def _thermal_imager(fields: Fields, scope: Scope) -> Parts:
    surface = fields.quantity(
        "surface", Dimension.TEMPERATURE, TEMPERATURE, required=True
    )
    around = fields.quantity("surroundings", Dimension.TEMPERATURE, TEMPERATURE)
    return {
        "target": fields.choice("target", TARGETS),
        "container": fields.name("container"),
        "surface_degf": surface and surface.value,
        "surroundings_degf": around and around.value,
        "shiny": bool(fields.flag("shiny")),
    }


def _sign(fields: Fields, scope: Scope) -> Parts:
    return {"what": fields.choice("what", SIGNS)}


def _dosimeter(fields: Fields, scope: Scope) -> Parts:
    rate = fields.quantity("dose_rate", Dimension.DOSE_RATE, DOSE_RATE)
    dose = fields.quantity("dose", Dimension.DOSE, DOSE)
    alarm = fields.flag("alarm")
    distance = fields.quantity("distance", Dimension.LENGTH, DISTANCE)
    contact = bool(fields.flag("contact"))
    if not fields.raw.keys() & {"dose_rate", "dose", "alarm"}:
        fields.problems.missing(
            fields.pointer, "at least one of dose_rate, dose and alarm"
        )
    if contact and "distance" in fields.raw:
        fields.wrong("distance", "no distance on contact")
    return {
        "dose_rate_rem_per_hour": rate and rate.value,
        "dose_rem": dose and dose.value,
        "alarm": alarm,
        "member": _member(fields, scope) if "member" in fields.raw else "",
        "distance_m": distance and distance.value,
        "contact": contact,
    }


def _team_members(fields: Fields, scope: Scope) -> frozenset[str] | None:
    """The ids of the entry's own team; None where they cannot be known."""
    team = fields.raw.get("team")
    if scope.members is None or not isinstance(team, str):
        return None
    return scope.members.get(team)


def _member(fields: Fields, scope: Scope) -> str:
    known = _team_members(fields, scope)
    if known is None:
        return fields.identifier("member")
    member = fields.raw.get("member")
    if isinstance(member, str) and member in known:
        return member
    fields.wrong("member", f"a member of the team: {_listed(known)}")
    return ""


def _listed(names: Collection[str]) -> str:
    return ", ".join(sorted(names)) or "it has none"


def _air_check(fields: Fields, scope: Scope) -> Parts:
    pressure = fields.quantity("pressure", Dimension.PRESSURE, PRESSURE, required=True)
    return {
        "member": _member(fields, scope),
        "pressure_psi": pressure and pressure.value,
    }


def _nothing_more(fields: Fields, scope: Scope) -> Parts:
    return {}


def _par(fields: Fields, scope: Scope) -> Parts:
    known = _team_members(fields, scope)
    unanswered: list[str] = []
    for name, pointer in fields.names("unanswered"):
        if known is not None and name not in known:
            expected = f"a member of the team: {_listed(known)}"
            fields.problems.wrong(pointer, name, expected)
        elif name not in unanswered:
            unanswered.append(name)
    return {"unanswered": tuple(unanswered)}


def _change_ensemble(fields: Fields, scope: Scope) -> Parts:
    return {"ensemble": fields.choice("ensemble", tuple(Ensemble))}


def _ventilate(fields: Fields, scope: Scope) -> Parts:
    return {"method": fields.note("method", required=True)}


def _acknowledge(fields: Fields, scope: Scope) -> Parts:
    return {
        "entry": fields.identifier("entry"),
        "by": fields.name("by", required=True),
    }


def _bump_test(fields: Fields, scope: Scope) -> Parts:
    passed = fields.flag("passed")
    if "passed" not in fields.raw:
        fields.wrong("passed", "true or false")
    return {"passed": passed}


def _strike(fields: Fields, scope: Scope) -> Parts:
    return {
        "entry": fields.identifier("entry"),
        "by": fields.name("by", required=True),
        "reason": fields.note("reason", required=True),
    }


def _clear(fields: Fields, scope: Scope) -> Parts:
    return {
        "hazard": fields.choice("hazard", tuple(Hazard)),
        "by": fields.name("by", required=True),
        "reason": fields.note("reason", required=True),
    }


Reader = Callable[[Fields, Scope], Parts]

_KIND_FIELDS: Final[Mapping[str, tuple[Reader, str]]] = {
    "ph_paper": (
        _ph_paper,
        "sample moistened bleached ph band faded carried_on",
    ),
    "ki_starch_paper": (_ki_starch_paper, "sample moistened result edge_checked"),
    "fluoride_paper": (_fluoride_paper, "sample moistened result"),
    "gas_meter": (
        _gas_meter,
        "lel_percent oxygen_percent co_ppm h2s_ppm voc_ppm gases over_range lamp_ev "
        "height",
    ),
    "thermal_imager": (_thermal_imager, "target container surface surroundings shiny"),
    "sign": (_sign, "what"),
    "dosimeter": (_dosimeter, "dose_rate dose alarm member distance contact"),
    "air_check": (_air_check, "member pressure"),
    "enter": (_nothing_more, ""),
    "exit": (_nothing_more, ""),
    "par": (_par, "unanswered"),
    "change_ensemble": (_change_ensemble, "ensemble"),
    "ventilate": (_ventilate, "method"),
    "acknowledge": (_acknowledge, "entry by"),
    "bump_test": (_bump_test, "passed"),
    "strike": (_strike, "entry by reason"),
    "clear": (_clear, "hazard by reason"),
}
_READERS: Final = {kind: reader for kind, (reader, _) in _KIND_FIELDS.items()}
_ALLOWED: Final = {
    kind: _COMMON | set(names.split()) for kind, (_, names) in _KIND_FIELDS.items()
}
# Kind and name of each field, for whoever builds forms on the same document.
FIELD_NAMES: Final[Mapping[str, frozenset[str]]] = _ALLOWED
