"""What is said beside the verdict and never changes it: trends, heat, numbers of people."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Final

from screening.ensembles import Ensemble
from screening.incident import Context, Weather
from screening.memory import ContainerState, Core, SeriesPoint, TeamState
from screening.planning.heat import (
    FULL_SUN_DEGF,
    HEAT_INDEX_CATEGORIES,
    ORAL_NO_SUIT_DEGF,
    ORAL_SHORTER_DEGF,
    PULSE_AT_REST_LIMIT,
    category_of_degf,
    heat_index_degf,
    minutes_to_first_check,
)
from screening.rules.found import figure, minutes
from screening.trends import forecast, trend
from screening.verdicts import HeatClock

# The recent window of a trend. Source: common practice, no source.
WINDOW: Final = timedelta(minutes=10)
# Source: arithmetic: two points always lie on a line.
FEWEST: Final = 3

FOUR_AGENCIES: Final = "four-agency guidance manual 1985"
LOWEST_CATEGORY_DEGF: Final = HEAT_INDEX_CATEGORIES[-1][0]
AT_REST: Final = (
    f"At the start of rest: pulse over {PULSE_AT_REST_LIMIT} or {ORAL_SHORTER_DEGF} °F in "
    f"the mouth, next work a third shorter; over {ORAL_NO_SUIT_DEGF} °F no suit for now "
    f"({FOUR_AGENCIES}, on an archived OSHA page)"
)

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
    reach = forecast(
        times, [sign * value for value in values], sign * limit, watched.resolution
    )
    if reach is None:
        return ""
    shown = f", {figure(Decimal(str(limit)))} {watched.unit}"
    if sign * values[-1] >= sign * limit:
        return f"{shown} is passed"
    low, _best, high = reach
    early = minutes(max(low, 0.0))
    late = "no known time" if high == float("inf") else minutes(max(high, 0.0))
    return f"{shown} in {early} to {late}"


def _container(key: str, container: ContainerState, at: datetime) -> str:
    if len(container.points) < 2:
        return ""
    first, last = container.points[0], container.points[-1]
    name = key.removeprefix("name ") if key.startswith("name ") else "Container"
    seconds = Decimal((last.at - first.at).total_seconds())
    state = "steady" if container.steady else f"{first.shown} → {last.shown}"
    span = minutes(seconds)
    if not container.steady and seconds > 0:
        # The rate alone: when or at what temperature it fails nobody can tell.
        rate = (last.surface_degf - first.surface_degf) * 60 / seconds
        span += f" ({_signed(rate)} °F a minute)"
    age = minutes((at - last.at).total_seconds())
    return f"{name[:1].upper()}{name[1:]}: {state} over {span}, read {age} ago"


def _signed(rate: Decimal) -> str:
    """Such as "+0.75" or "−1.2"; two decimals are more than an imager knows."""
    text = figure(rate.quantize(Decimal("0.01")))
    return text.replace("-", "\N{MINUS SIGN}") if rate < 0 else f"+{text}"


def heat_clock(team: TeamState, at: datetime, context: Context) -> HeatClock | None:
    """None outside, and where the air temperature is not known."""
    since = team.inside_since
    temperature = None if since is None else _warmest(context, since, at)
    if since is None or temperature is None:
        return None
    # The weather of an incident gives no cloud: the hotter of the two is taken.
    adjusted = temperature + FULL_SUN_DEGF
    every = _soonest(adjusted, team.worn)
    due = came_due = None
    if every is not None:
        passed = (at - since) // timedelta(minutes=every)
        due = since + timedelta(minutes=every) * (passed + 1)
        came_due = due - timedelta(minutes=every) if passed else None
    return HeatClock(
        adjusted_degf=adjusted,
        heat_index_degf=_index(context.under(at).weather),
        check_every_minutes=every,
        check_due=due,
        came_due=came_due,
        because=f"{FOUR_AGENCIES}, full sun taken, fit and used to heat; "
        "a suit adds heat that the heat index does not count",
    )


def _soonest(adjusted: Decimal, worn: Iterable[Ensemble]) -> int | None:
    """Minutes to the first look at people; of several ensembles the soonest."""
    known = [minutes_to_first_check(adjusted, each) for each in worn]
    return min((each for each in known if each is not None), default=None)


def _warmest(
    context: Context, since: datetime | None = None, until: datetime | None = None
) -> Decimal | None:
    """The warmest air of a time: a look that was due does not go when it cools."""
    known = [each.air_temperature_degf for each in context.weathers(since, until)]
    return max((each for each in known if each is not None), default=None)


def _index(weather: Weather) -> Decimal | None:
    """The heat index; None where temperature or humidity is not known."""
    air, humidity = weather.air_temperature_degf, weather.relative_humidity_percent
    if air is None or humidity is None:
        return None
    return heat_index_degf(air, humidity)


def heat_notes(team: TeamState, at: datetime, context: Context) -> tuple[str, ...]:
    """Heat index, when to look at people, and the rule for their rest, each with its source.

    Notes, no findings: no rule of the specification is about heat. A team that came out
    is told the rule for its rest alone, one that was never in nothing.
    """
    clock = heat_clock(team, at, context)
    if clock is None:
        if team.inside:
            return ("No air temperature is given: nothing can be said of heat",)
        due = team.has_left and look_interval(context, team.worn) is not None
        return (AT_REST,) if due else ()
    return tuple(_heat(clock, team, at))


def _heat(clock: HeatClock, team: TeamState, at: datetime) -> Iterator[str]:
    every = clock.check_every_minutes
    if every is not None and team.inside_since is not None:
        yield _looks_due(clock, every, at - team.inside_since)
    index = clock.heat_index_degf
    if index is not None and index >= LOWEST_CATEGORY_DEGF:
        yield heat_index_in_words(index)
    if every is not None:
        yield AT_REST


def _looks_due(clock: HeatClock, every: int, inside: timedelta) -> str:
    """Looks at people that were due since going in: the log has no entry for them."""
    due, since_last = divmod(inside, timedelta(minutes=every))
    left = timedelta(minutes=every) - since_last
    ago = minutes(since_last.total_seconds())
    counted = f"{due} due by now, the last {ago} ago, next" if due else "next"
    return ("Due now. " if due else "") + (
        f"Look at people after each {every} min of work, adjusted "
        f"{figure(clock.adjusted_degf)} °F with full sun ({FOUR_AGENCIES}): in for "
        f"{minutes(inside.total_seconds())}, {counted} in {minutes(left.total_seconds())}"
        + ("; this log keeps none" if due else "")
    )


def heat_index_in_words(index: Decimal) -> str:
    """The heat index with the weather service's category, and what it leaves out."""
    category = category_of_degf(index)
    word = (
        f'"{category}"' if category else f"under the lowest category of "
        f"{LOWEST_CATEGORY_DEGF} °F"
    )  # fmt: skip
    return (
        f"Heat index {index:.0f} °F, {word} (National Weather Service), with no suit and "
        "no sun in it"
    )


def look_interval(context: Context, worn: Iterable[Ensemble]) -> timedelta | None:
    """How long people who go together work until they are looked at, by whoever is to be
    first; None where it is not known or the table asks for none. In full sun and the
    warmest air, as all of it."""
    temperature = _warmest(context)
    if temperature is None:
        return None
    every = _soonest(temperature + FULL_SUN_DEGF, worn)
    return None if every is None else timedelta(minutes=every)


def heat_facts(context: Context, ensembles: Iterable[Ensemble]) -> tuple[str, ...]:
    """The same for a whole incident, at its warmest: one sentence an ensemble worn, for
    the report."""
    temperature = _warmest(context)
    if temperature is None:
        return ("No air temperature is given: nothing can be said of heat",)
    adjusted = temperature + FULL_SUN_DEGF
    facts = []
    indices = [index for each in context.weathers() if (index := _index(each))]
    if indices:
        facts.append(heat_index_in_words(max(indices)))
    by_interval: dict[int | None, list[str]] = {}
    for worn in dict.fromkeys(ensembles):
        every = minutes_to_first_check(adjusted, worn)
        by_interval.setdefault(every, []).append(worn.label)
    for every, labels in by_interval.items():
        look = (
            f"look at people after each {every} min of work"
            if every is not None
            else "the table asks for no look at people"
        )
        facts.append(
            f"{'; '.join(labels)}: {look} (adjusted temperature {figure(adjusted)} °F, full "
            f"sun taken; {FOUR_AGENCIES})"
        )
    return (*facts, AT_REST)


def crew_notes(core: Core, team: TeamState, context: Context) -> tuple[str, ...]:
    """Two in, two out: what the numbers on the worksheet say, with the rescue exception."""
    return tuple(_crew(core, team, context)) if team.inside else ()


def _crew(core: Core, team: TeamState, context: Context) -> Iterator[str]:
    members = context.teams[team.id].members
    if len(members) < 2:
        yield f"Fewer than two named in this team: go in by twos ({BUDDY})"
    backups = [
        other
        for other in context.teams.values()
        if other.role == "backup"
        and other.id != team.id
        and not core.teams[other.id].inside
    ]
    outside = sum(len(other.members) for other in backups)
    if outside < 2:
        exception = (
            "; a rescue of people in danger need not wait for them"
            if context.mission == "rescue"
            else ""
        )
        yield f"Fewer than two named as backup outside ({STANDBY}){exception}"
    most = max(team.worn, key=lambda ensemble: ensemble.rank)
    worn = [core.teams[other.id].weakest for other in backups if other.members]
    best = max(worn, key=lambda ensemble: ensemble.rank, default=most)
    if best.rank < most.rank:
        yield (
            f"The backup outside wears less than this team: {best.label}, against "
            f"{most.label} (common practice, no source)"
        )
