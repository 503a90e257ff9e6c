"""The channels of meters, imagers and dosimeters: which figures an entry has, and which
limits each is held against. One table for the charts of reports and for looking back.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from types import MappingProxyType
from typing import Final

from screening.profile import Profile
from screening.readings import Dosimeter, Entry, GasMeter, ThermalImager
from screening.substances import find as find_substance
from screening.verdicts import Action, Finding, Hazard

SENSOR_LABELS: Final = MappingProxyType(
    {"lel": "LEL", "oxygen": "O2", "co": "CO", "h2s": "H2S", "voc": "VOC"}
)
_OXYGEN: Final = (Hazard.OXYGEN_DEFICIENT, Hazard.OXYGEN_ENRICHED)
# What a finding's sentence begins with, where one hazard has several cells.
_CELLS: Final = {
    "co": "Carbon monoxide",
    "h2s": "Hydrogen sulfide",
    "voc": "Organic vapour",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """One limit of a channel, in the channel's unit."""

    value: Decimal
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One figure of one entry, and what its own findings say of it.

    `value` is None where the instrument was over range.
    """

    chart: str  # which chart: "lel", "gas/ammonia", "container/drum 6", "dose_rate"
    at: datetime
    team: str
    place: str
    instrument: str
    value: Decimal | None
    action: Action
    unit: str = ""  # where the chart's own does not say it


_ORDER: Final = ("lel", "oxygen", "co", "h2s", "voc")


def rank(chart: str) -> tuple[int, str]:
    """The order of charts: the cells of a four-gas meter first."""
    return (_ORDER.index(chart) if chart in _ORDER else len(_ORDER), chart)


def figures_of(entry: Entry, findings: Iterable[Finding]) -> Iterator[Figure]:
    """Every figure that an entry has for a chart; none for most kinds."""
    findings = tuple(findings)
    if isinstance(entry, GasMeter):
        yield from _gas_figures(entry, findings)
    elif isinstance(entry, ThermalImager):
        chart = f"container/{entry.container or 'unnamed target'}"
        hazards = (Hazard.CONTAINER_HEATING, Hazard.HOT_RELIEF_DISCHARGE)
        action = _strictest(findings, hazards)
        value, unit = _as_read(entry)
        yield replace(_figure(entry, chart, value, action), unit=unit)
    elif isinstance(entry, Dosimeter) and entry.dose_rate_rem_per_hour is not None:
        action = _strictest(findings, (Hazard.GAMMA_RADIATION,))
        value = entry.dose_rate_rem_per_hour * 1000
        yield _figure(entry, "dose_rate", value, action)


def _as_read(entry: ThermalImager) -> tuple[Decimal, str]:
    """The surface in the unit that the imager showed; in °F where that is not known."""
    value, _, unit = entry.shown.get("surface", "").partition(" ")
    if unit in ("°C", "°F"):
        return Decimal(value), unit
    return entry.surface_degf, "°F"


def _gas_figures(entry: GasMeter, findings: Iterable[Finding]) -> Iterator[Figure]:
    channels: tuple[tuple[str, Decimal | None, tuple[Hazard, ...]], ...] = (
        ("lel", entry.lel_percent, (Hazard.FLAMMABLE_ATMOSPHERE,)),
        ("oxygen", entry.oxygen_percent, _OXYGEN),
        ("co", entry.co_ppm, (Hazard.TOXIC_GAS,)),
        ("h2s", entry.h2s_ppm, (Hazard.TOXIC_GAS,)),
        ("voc", entry.voc_ppm, (Hazard.TOXIC_GAS,)),
    )
    for cell, value, hazards in channels:
        if value is not None or cell in entry.over_range:
            action = _strictest(findings, hazards, _CELLS.get(cell, ""))
            shown = None if cell in entry.over_range else value
            yield _figure(entry, cell, shown, action)
    named = dict(entry.gases)
    for gas in sorted(named.keys() | (entry.over_range - set(SENSOR_LABELS))):
        action = _strictest(findings, (Hazard.TOXIC_GAS,), gas.capitalize())
        shown = None if gas in entry.over_range else named[gas]
        yield _figure(entry, f"gas/{gas}", shown, action)


def _figure(entry: Entry, chart: str, value: Decimal | None, action: Action) -> Figure:
    return Figure(
        chart=chart,
        at=entry.at,
        team=entry.team,
        place=entry.place,
        instrument=entry.instrument,
        value=value,
        action=action,
    )


def _strictest(
    findings: Iterable[Finding], hazards: tuple[Hazard, ...], begins: str = ""
) -> Action:
    return max(
        (
            f.action
            for f in findings
            if f.hazard in hazards and f.because.startswith(begins)
        ),
        default=Action.CONTINUE,
    )


def title_of(chart: str) -> tuple[str, str]:
    """What a channel is called, and its unit where the figure has none of its own."""
    kind, _, which = chart.partition("/")
    if kind == "gas":
        return which.capitalize(), "ppm"
    if kind == "container":
        return f"Surface of {which}", "°F"
    if kind == "dose_rate":
        return "Dose rate", "mrem/h"
    if kind == "voc":
        return "VOC", "ppm as the detector shows it"
    if kind == "oxygen":
        return "Oxygen", "%"
    return SENSOR_LABELS[kind], "%" if kind == "lel" else "ppm"


def limits_of(chart: str, profile: Profile) -> Iterator[Limit]:
    """The limits of a channel: those of the SOP edition, or of the table of substances."""
    kind, _, which = chart.partition("/")
    if kind == "gas":
        yield from _substance_limits(which)
        return
    for key, label, factor in _PROFILE_LIMITS.get(kind, ()):
        value = profile.get(key)
        if value is not None:
            yield Limit(value=value * factor, label=label)


_PROFILE_LIMITS: Final = {
    "lel": (
        ("lel_caution_percent", "caution", 1),
        ("lel_withdraw_percent", "withdraw", 1),
    ),
    "oxygen": (
        ("oxygen_deficient_percent", "deficient below", 1),
        ("oxygen_enriched_percent", "enriched above", 1),
    ),
    "co": (("co_ceiling_ppm", "ceiling", 1), ("co_idlh_ppm", "IDLH", 1)),
    "h2s": (("h2s_ceiling_ppm", "ceiling", 1), ("h2s_idlh_ppm", "IDLH", 1)),
    "voc": (("voc_caution_ppm", "caution", 1), ("voc_ceiling_ppm", "ceiling", 1)),
    "dose_rate": (
        ("dose_rate_background", "background", 1000),
        ("dose_rate_hot_line", "hot line", 1000),
        ("dose_rate_turn_back", "turn back", 1000),
    ),
}


def _substance_limits(gas: str) -> Iterator[Limit]:
    substance = find_substance(gas)
    if substance is None:
        return
    if substance.ceiling_ppm is not None:
        yield Limit(value=substance.ceiling_ppm, label="ceiling")
    if substance.idlh_ppm is not None:
        yield Limit(value=substance.idlh_ppm, label="IDLH")
