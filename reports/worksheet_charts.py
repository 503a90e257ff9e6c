"""The series of a report's charts: every figure that a meter, imager or dosimeter gave."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from typing import Final

from reports.data import ChartLimit, MeterSeries, Point, Run
from reports.words import SENSOR_LABELS
from screening.incident import Worksheet
from screening.profile import Profile
from screening.readings import Dosimeter, Entry, GasMeter, ThermalImager
from screening.substances import find as find_substance
from screening.verdicts import Action, Finding, Hazard

_OXYGEN: Final = (Hazard.OXYGEN_DEFICIENT, Hazard.OXYGEN_ENRICHED)
# What a finding's sentence begins with, where one hazard has several cells.
_CELLS: Final = {
    "co": "Carbon monoxide",
    "h2s": "Hydrogen sulfide",
    "voc": "Organic vapour",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Figure:
    """One figure of one entry, before it has its place on a chart."""

    chart: str  # which chart: "lel", "gas/ammonia", "container/drum 6", "dose_rate"
    at: datetime
    team: str
    place: str
    instrument: str
    value: Decimal | None
    action: Action
    unit: str = ""  # where the chart's own does not say it


def meter_series(
    worksheet: Worksheet,
    struck: frozenset[str],
    findings: Mapping[str, Sequence[Finding]],
    name: Callable[[str], str],
) -> tuple[MeterSeries, ...]:
    """One series for each channel that was read; what was put right is left out."""
    charts: dict[str, list[_Figure]] = {}
    for entry in worksheet.log:
        if entry.id in struck:
            continue
        for figure in _figures(entry, findings[entry.id]):
            # Two units of one container are two charts.
            charts.setdefault(figure.chart + figure.unit, []).append(figure)
    profile = worksheet.context.profile
    return tuple(
        _series(charts[chart][0].chart, charts[chart], profile, name)
        for chart in sorted(charts, key=_rank)
    )


_ORDER: Final = ("lel", "oxygen", "co", "h2s", "voc")


def _rank(chart: str) -> tuple[int, str]:
    return (_ORDER.index(chart) if chart in _ORDER else len(_ORDER), chart)


def _figures(entry: Entry, findings: Sequence[Finding]) -> Iterator[_Figure]:
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


def _gas_figures(entry: GasMeter, findings: Sequence[Finding]) -> Iterator[_Figure]:
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


def _figure(entry: Entry, chart: str, value: Decimal | None, action: Action) -> _Figure:
    return _Figure(
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


def _series(
    chart: str, figures: Sequence[_Figure], profile: Profile, name: Callable[[str], str]
) -> MeterSeries:
    runs: dict[tuple[str, str, str], list[Point]] = {}
    for one in figures:
        key = (one.team, one.place, one.instrument)
        runs.setdefault(key, []).append(
            Point(at=one.at, value=one.value, action=one.action)
        )
    title, unit = _title(chart)
    unit = figures[0].unit or unit
    return MeterSeries(
        title=title,
        unit=unit,
        runs=tuple(
            Run(
                label=", ".join(name(part) for part in key if part),
                points=tuple(points),
            )
            for key, points in runs.items()
        ),
        limits=tuple(_limits(chart, profile)),
    )


def _title(chart: str) -> tuple[str, str]:
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


def _limits(chart: str, profile: Profile) -> Iterator[ChartLimit]:
    kind, _, which = chart.partition("/")
    if kind == "gas":
        yield from _substance_limits(which)
        return
    for key, label, factor in _PROFILE_LIMITS.get(kind, ()):
        value = profile.get(key)
        if value is not None:
            yield ChartLimit(value=value * factor, label=label)


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


def _substance_limits(gas: str) -> Iterator[ChartLimit]:
    substance = find_substance(gas)
    if substance is None:
        return
    if substance.ceiling_ppm is not None:
        yield ChartLimit(value=substance.ceiling_ppm, label="ceiling")
    if substance.idlh_ppm is not None:
        yield ChartLimit(value=substance.idlh_ppm, label="IDLH")
