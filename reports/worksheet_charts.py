"""The series of a report's charts: every figure that a meter, imager or dosimeter gave."""

from collections.abc import Callable, Mapping, Sequence

from reports.data import MeterSeries, Point, Run
from review.channels import Figure, figures_of, limits_of, rank, title_of
from screening.incident import Worksheet
from screening.profile import Profile
from screening.verdicts import Finding


def meter_series(
    worksheet: Worksheet,
    struck: frozenset[str],
    findings: Mapping[str, Sequence[Finding]],
    name: Callable[[str], str],
) -> tuple[MeterSeries, ...]:
    """One series for each channel that was read; what was put right is left out."""
    charts: dict[str, list[Figure]] = {}
    for entry in worksheet.log:
        if entry.id in struck:
            continue
        for figure in figures_of(entry, findings[entry.id]):
            # Two units of one container are two charts.
            charts.setdefault(figure.chart + figure.unit, []).append(figure)
    profile = worksheet.context.profile
    return tuple(
        _series(charts[chart][0].chart, charts[chart], profile, name)
        for chart in sorted(charts, key=rank)
    )


def _series(
    chart: str, figures: Sequence[Figure], profile: Profile, name: Callable[[str], str]
) -> MeterSeries:
    runs: dict[tuple[str, str, str], list[Point]] = {}
    for one in figures:
        key = (one.team, one.place, one.instrument)
        runs.setdefault(key, []).append(
            Point(at=one.at, value=one.value, action=one.action)
        )
    title, unit = title_of(chart)
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
        limits=tuple(limits_of(chart, profile)),
    )
