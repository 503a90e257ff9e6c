"""What was read or decided, in one line of plain words.

Pages, the log and the PDF say a reading through `describe`, so that it is called the same
everywhere. The place is not part of the line: it has a column of its own.
"""

from collections.abc import Callable, Mapping
from decimal import Decimal
from types import MappingProxyType
from typing import Any, Final

from review.channels import SENSOR_LABELS as SENSOR_LABELS
from screening import readings
from screening.ensembles import Ensemble
from screening.verdicts import Hazard

NO_NAMES: Final[Mapping[str, str]] = MappingProxyType({})

KIND_LABELS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "ph_paper": "pH paper",
        "ki_starch_paper": "KI-starch paper",
        "fluoride_paper": "Fluoride paper",
        "gas_meter": "Gas meter",
        "thermal_imager": "Thermal imager",
        "sign": "Sign",
        "dosimeter": "Dosimeter",
        "air_check": "Air gauge",
        "enter": "Enter",
        "exit": "Exit",
        "par": "PAR",
        "change_ensemble": "Change of ensemble",
        "ventilate": "Ventilate",
        "acknowledge": "Heard",
        "bump_test": "Bump test",
        "strike": "Put right",
        "clear": "Clear a hazard",
    }
)

SIGN_LABELS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "rising_pitch": "Rising pitch of a discharge",
        "bulging": "Container bulging",
        "discoloured_shell": "Container shell discoloured",
        "relief_device_operating": "Relief device operating",
        "frost": "Frost on a container",
        "visible_cloud": "Visible cloud",
        "odour": "Odour",
        "symptoms": "Symptoms in people",
        "dead_plants_or_animals": "Dead plants or animals",
    }
)

_SAMPLES = {"vapour": "in the air", "liquid": "in the liquid"}
_KI_RESULTS = {
    "no_change": "no change",
    "blue_black": "blue-black",
    "line_at_wet_edge": "line at the wet edge",
}
_TARGETS = {
    "closed_container": "closed container",
    "relief_valve_discharge": "relief valve discharge",
    "other": "other target",
}


def describe(entry: readings.Entry, names: Mapping[str, str] = NO_NAMES) -> str:
    """Say one log entry in a line, figures as they were entered, always with their unit.

    `names` maps ids (members, instruments, other entries) to what people call them; an
    id that is missing from it is printed as it stands. The note is not part of the line.
    """
    writer = _WRITERS.get(entry.kind)
    if writer is None:
        return KIND_LABELS.get(entry.kind, entry.kind.replace("_", " "))
    return writer(entry, names)


def number(value: Decimal) -> str:
    """A decimal as people write it: no exponent, a real minus sign."""
    return format(value, "f").replace("-", "\N{MINUS SIGN}")


def _figure(entry: readings.Entry, field: str, value: Decimal, unit: str) -> str:
    """The figure as entered where the entry kept it, else the canonical one."""
    shown = entry.shown.get(field) or entry.shown.get(_document_field(field))
    return shown or f"{number(value)} {unit}"


def _document_field(field: str) -> str:
    for unit in ("_degf", "_rem_per_hour", "_rem", "_psi", "_m"):
        if field.endswith(unit):
            return field.removesuffix(unit)
    return field


def _ph_paper(entry: Any, names: Mapping[str, str]) -> str:
    state = "wet" if entry.moistened else "dry"
    where = _SAMPLES[entry.sample]
    paper = f"{state} paper {where}" if entry.sample == "vapour" else f"paper {where}"
    if entry.bleached:
        line = f"pH paper bleached white, {paper}"
    elif entry.band:
        band = entry.band.replace("_", "-")
        span = f"{number(entry.low)}–{number(entry.high)}"
        span = number(entry.low) if entry.low == entry.high else span
        line = f"pH {span} ({band}) on {paper}"
    else:
        line = f"pH {number(entry.low)} on {paper}"
    if entry.faded:
        line += ", colour since faded"
    return line + _carried(entry.carried_on)


def _carried(where: str) -> str:
    if not where:
        return ""
    return {
        "facepiece": ", worn on the facepiece",
        "hook": ", held on a hook",
        "hand": ", held in the hand",
    }.get(where, f", carried on {where}")


def _ki_starch_paper(entry: Any, names: Mapping[str, str]) -> str:
    line = f"KI-starch paper {_wetness(entry)}: {_KI_RESULTS[entry.result]}"
    if entry.sample == "liquid" and entry.result == "no_change":
        line += ", edge looked at" if entry.edge_checked else ", edge not looked at"
    return line


def _fluoride_paper(entry: Any, names: Mapping[str, str]) -> str:
    result = "changed" if entry.result == "changed" else "no change"
    return f"Fluoride paper {_wetness(entry)}: {result}"


def _wetness(entry: Any) -> str:
    if entry.sample == "liquid":
        return "in the liquid"
    return f"{'wet' if entry.moistened else 'dry'}, in the air"


def _gas_meter(entry: Any, names: Mapping[str, str]) -> str:
    channels = (
        ("lel", "LEL", entry.lel_percent, "%"),
        ("oxygen", "O2", entry.oxygen_percent, "%"),
        ("co", "CO", entry.co_ppm, "ppm"),
        ("h2s", "H2S", entry.h2s_ppm, "ppm"),
        ("voc", "VOC", entry.voc_ppm, "ppm as the detector shows it"),
        *((name, name, ppm, "ppm") for name, ppm in entry.gases),
    )
    parts = []
    for sensor, label, value, unit in channels:
        if sensor in entry.over_range:
            parts.append(f"{label} over range")
        elif value is not None:
            parts.append(f"{label} {number(value)} {unit}")
    named = {channel[0] for channel in channels}
    parts += [
        f"{SENSOR_LABELS.get(name, name)} over range"
        for name in sorted(entry.over_range - named)
    ]
    if entry.lamp_ev is not None:
        parts.append(f"lamp {number(entry.lamp_ev)} eV")
    line = ", ".join(parts) or "Gas meter, no figure"
    return f"{line} at {entry.height} height" if entry.height else line


def _thermal_imager(entry: Any, names: Mapping[str, str]) -> str:
    target = _TARGETS.get(entry.target, entry.target)
    what = f"{entry.container}, {target}" if entry.container else target
    what = what[0].upper() + what[1:]
    line = f"{what}: {_figure(entry, 'surface_degf', entry.surface_degf, '°F')}"
    if entry.surroundings_degf is not None:
        around = _figure(entry, "surroundings_degf", entry.surroundings_degf, "°F")
        line += f", surroundings {around}"
    return line + (", shiny surface" if entry.shiny else "")


def _sign(entry: Any, names: Mapping[str, str]) -> str:
    return SIGN_LABELS.get(entry.what, entry.what.replace("_", " ").capitalize())


def _dosimeter(entry: Any, names: Mapping[str, str]) -> str:
    parts = []
    if entry.dose_rate_rem_per_hour is not None:
        rate = entry.dose_rate_rem_per_hour
        parts.append(
            "dose rate " + _figure(entry, "dose_rate_rem_per_hour", rate, "rem/h")
        )
    if entry.dose_rem is not None:
        dose = "dose " + _figure(entry, "dose_rem", entry.dose_rem, "rem")
        parts.append(dose + (f" of {_name(entry.member, names)}" * bool(entry.member)))
    if entry.alarm is not None:
        parts.append("alarm sounding" if entry.alarm else "no alarm")
    if entry.contact:
        parts.append("on contact")
    elif entry.distance_m is not None:
        distance = _figure(entry, "distance_m", entry.distance_m, "m")
        parts.append(f"{distance} from the source")
    line = ", ".join(parts) or "dosimeter, no figure"
    return line[0].upper() + line[1:]


def _air_check(entry: Any, names: Mapping[str, str]) -> str:
    pressure = _figure(entry, "pressure_psi", entry.pressure_psi, "psi")
    return f"Air of {_name(entry.member, names)}: {pressure}"


def _par(entry: Any, names: Mapping[str, str]) -> str:
    if not entry.unanswered:
        return "PAR: all accounted for"
    missing = ", ".join(_name(member, names) for member in entry.unanswered)
    return f"PAR: not heard or seen: {missing}"


def _change_ensemble(entry: Any, names: Mapping[str, str]) -> str:
    return f"Ensemble changed to {Ensemble(entry.ensemble).label}"


def _ventilate(entry: Any, names: Mapping[str, str]) -> str:
    return f"Ventilation: {entry.method}" if entry.method else "Ventilation"


def _acknowledge(entry: Any, names: Mapping[str, str]) -> str:
    return f"Heard by {entry.by}: {_name(entry.entry, names)}"


def _bump_test(entry: Any, names: Mapping[str, str]) -> str:
    outcome = "passed" if entry.passed else "failed"
    return f"Bump test of {_name(entry.instrument, names)}: {outcome}"


def _strike(entry: Any, names: Mapping[str, str]) -> str:
    return f"Put right by {entry.by}: {_name(entry.entry, names)}: {entry.reason}"


def _clear(entry: Any, names: Mapping[str, str]) -> str:
    hazard = Hazard(entry.hazard).label.lower()
    return f"Clear of {hazard} decided by {entry.by}: {entry.reason}"


def _name(ident: str, names: Mapping[str, str]) -> str:
    return names.get(ident, ident)


_WRITERS: Final[Mapping[str, Callable[[Any, Mapping[str, str]], str]]] = (
    MappingProxyType(
        {
            "ph_paper": _ph_paper,
            "ki_starch_paper": _ki_starch_paper,
            "fluoride_paper": _fluoride_paper,
            "gas_meter": _gas_meter,
            "thermal_imager": _thermal_imager,
            "sign": _sign,
            "dosimeter": _dosimeter,
            "air_check": _air_check,
            "enter": lambda entry, names: "In",
            "exit": lambda entry, names: "Out",
            "par": _par,
            "change_ensemble": _change_ensemble,
            "ventilate": _ventilate,
            "acknowledge": _acknowledge,
            "bump_test": _bump_test,
            "strike": _strike,
            "clear": _clear,
        }
    )
)
