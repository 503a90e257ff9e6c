"""What is said beside the verdict and never changes it: trends, heat, numbers of people."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Final

from screening.incident import Context
from screening.memory import ContainerState, Core, SeriesPoint, TeamState
from screening.planning.heat import heat_index_degf, minutes_to_first_check
from screening.rules.found import figure, minutes
from screening.trends import time_to_limit, trend
from screening.verdicts import HeatClock

WINDOW: Final = timedelta(minutes=10)
FEWEST: Final = 3

BUDDY: Final = "29 CFR 1910.120(q)(3)(v)"
STANDBY: Final = "29 CFR 1910.134(g)(4) and note 2; 29 CFR 1910.120(q)(3)(vi)"


@dataclass(frozen=True, slots=True, kw_only=True)
class Watched:
    """One figure whose trend is told, and the limit that it runs towards."""

    name: str
    label: str
    unit: str
    resolution: float  # of the instrument's display
    limit: str  # key of the profile
    falling: bool = False  # the limit lies below
    scale: int = 1  # from the canonical unit to the one that is shown


WATCHED: Final = (
    Watched(
        name="lel_percent", label="LEL", unit="%", resolution=1.0,
        limit="lel_withdraw_percent",
    ),
    Watched(
        name="oxygen_percent", label="Oxygen", unit="%", resolution=0.1,
        limit="oxygen_deficient_percent", falling=True,
    ),
    Watched(
        name="co_ppm", label="Carbon monoxide", unit="ppm", resolution=1.0,
        limit="co_ceiling_ppm",
    ),
    Watched(
        name="h2s_ppm", label="Hydrogen sulfide", unit="ppm", resolution=1.0,
        limit="h2s_ceiling_ppm",
    ),
    Watched(
        name="dose_rate_rem_per_hour", label="Dose rate", unit="mrem/h", resolution=0.01,
        limit="dose_rate_turn_back", scale=1000,
    ),
)  # fmt: skip


def trends_at(
    core: Core, team: TeamState, at: datetime, context: Context
) -> tuple[str, ...]:
    """One sentence a figure read three times or more at the team's place in ten minutes,
    and one a container: of a container only the rate, never a time of failure."""
    place = core.place(team.place)
    lel = tuple(SeriesPoint(at=p.at, value=p.percent) for p in place.lel)
    series = {**place.series, "lel_percent": lel}
    told = [
        sentence
        for watched in WATCHED
        if (sentence := _trend(watched, series.get(watched.name, ()), at, context))
    ]
    told += [
        sentence
        for key in sorted(core.containers)
        if (sentence := _container(key, core.containers[key], at))
    ]
    return tuple(told)


def _trend(
    watched: Watched, points: Sequence[SeriesPoint], at: datetime, context: Context
) -> str:
    recent = [point for point in points if at - point.at <= WINDOW]
    if len(recent) < FEWEST:
        return ""
    times = [(point.at - recent[0].at).total_seconds() for point in recent]
    values = [float(point.value * watched.scale) for point in recent]
    found = trend(times, values, watched.resolution)
    if found.direction == "cannot_say":
        return f"{watched.label}: {len(recent)} readings, cannot say which way"
    if found.direction == "steady":
        return f"{watched.label}: steady over {minutes(times[-1])}"
    text = (
        f"{watched.label}: {found.direction} {abs(found.slope_per_min):.2g} "
        f"{watched.unit} a minute"
    )
    towards = (found.direction == "falling") == watched.falling
    return text + (_reach(watched, times, values, context) if towards else "")


def _reach(
    watched: Watched, times: list[float], values: list[float], context: Context
) -> str:
    """The time to the limit as an interval; a falling figure is turned upside down."""
    limit = float(context.profile[watched.limit] * watched.scale)
    sign = -1 if watched.falling else 1
    reach = time_to_limit(times, [sign * value for value in values], sign * limit)
    if reach is None:
        return ""
    low, _best, high = reach
    early = minutes(max(low, 0.0))
    late = "no known time" if high == float("inf") else minutes(max(high, 0.0))
    return f", {figure(Decimal(str(limit)))} {watched.unit} in {early} to {late}"


def _container(key: str, container: ContainerState, at: datetime) -> str:
    if len(container.points) < 2:
        return ""
    first, last = container.points[0], container.points[-1]
    name = key.removeprefix("name ") if key.startswith("name ") else "Container"
    state = "steady" if container.steady else f"{first.shown} → {last.shown}"
    span = minutes((last.at - first.at).total_seconds())
    age = minutes((at - last.at).total_seconds())
    return f"{name[:1].upper()}{name[1:]}: {state} over {span}, read {age} ago"


def heat_clock(team: TeamState, at: datetime, context: Context) -> HeatClock | None:
    """None outside, and where the air temperature is not known."""
    temperature = context.weather.air_temperature_degf
    if team.inside_since is None or temperature is None:
        return None
    adjusted = temperature + 13  # full sun: the weather of an incident gives no cloud
    every = minutes_to_first_check(adjusted, team.ensemble)
    humidity = context.weather.relative_humidity_percent
    due = None
    if every is not None:
        passed = (at - team.inside_since) // timedelta(minutes=every)
        due = team.inside_since + timedelta(minutes=every) * (passed + 1)
    return HeatClock(
        adjusted_degf=adjusted,
        heat_index_degf=(
            None if humidity is None else heat_index_degf(temperature, humidity)
        ),
        check_every_minutes=every,
        check_due=due,
        because="four-agency guidance manual 1985, full sun taken, fit and used to heat; "
        "a suit adds heat that the heat index does not count",
    )


def crew_notes(core: Core, team: TeamState, context: Context) -> tuple[str, ...]:
    """Two in, two out: what the numbers on the worksheet say, with the rescue exception."""
    return tuple(_crew(core, team, context)) if team.inside else ()


def _crew(core: Core, team: TeamState, context: Context) -> Iterator[str]:
    members = context.teams[team.id].members
    if len(members) < 2:
        yield f"Fewer than two named in this team: go in by twos ({BUDDY})"
    outside = sum(
        len(other.members)
        for other in context.teams.values()
        if other.role == "backup" and not core.teams[other.id].inside
    )
    if outside < 2:
        exception = (
            "; a rescue of people in danger need not wait for them"
            if context.mission == "rescue"
            else ""
        )
        yield f"Fewer than two named as backup outside ({STANDBY}){exception}"
