"""One log entry into what the engine remembers. Pure: a new `Core` comes back."""

from dataclasses import replace

from screening import clearing, crews, instruments
from screening.incident import Context
from screening.looks import LookFacts, looks_of
from screening.memory import (
    ContainerState,
    Core,
    PlaceState,
    SeriesPoint,
    Stand,
    place_key,
)
from screening.readings import (
    BumpTest,
    Clear,
    Dosimeter,
    Entry,
    GasMeter,
    KiStarchPaper,
    ThermalImager,
    Ventilate,
)
from screening.rules import judge, judge_reading
from screening.rules.found import LelPoint, ReadingFacts, ThermalPoint
from screening.rules.gases import SPIKE_FROM
from screening.rules.thermal import is_steady
from screening.settling import settle

LEL_POINTS_KEPT = 12


def apply(core: Core, entry: Entry, context: Context, *, distrusted: bool) -> Core:
    """`core` with one entry more.

    `distrusted` says that a later bump test of the reading's instrument failed: what the
    reading found counts as ever, what it did not find cannot tell.
    """
    if core.notices:
        core = replace(core, notices=())
    core = crews.move(core, entry, context)
    match entry:
        case BumpTest():
            core = instruments.note_spoiled(instruments.bump_test(core, entry), entry)
        case Ventilate():
            place = replace(core.place(entry.place), ventilated=entry.order)
            core = core.with_place(entry.place, place)
        case Clear():
            core = clearing.clear(core, entry, context)
        case Entry(is_reading=True):
            core = _reading(core, entry, context, distrusted)
    core = _together(core, entry)
    return crews.mark_withdrawn(core)


def container_key(reading: ThermalImager) -> str:
    """A named container is the same wherever it is read from; an unnamed one is not."""
    if reading.container:
        return f"name {place_key(reading.container)}"
    return f"at {place_key(reading.place)}"


def _reading(core: Core, entry: Entry, context: Context, distrusted: bool) -> Core:
    if isinstance(entry, ThermalImager) and entry.target == "closed_container":
        core, lowest = _read_container(core, entry, context)
    else:
        lowest = None
    place = core.place(entry.place)
    facts = _facts(core, place, entry, context, lowest)
    finds = judge_reading(entry, facts)
    looks = looks_of(entry, look_facts(core, place, entry, context))
    doubt = instruments.doubt(core, entry, context, distrusted)
    place, notices = settle(place, entry, finds, looks, doubt, context)
    place = _remember_series(_remember_lel(place, entry), entry)
    if isinstance(entry, KiStarchPaper) and entry.sample == "liquid":
        unseen = entry.result == "no_change" and not entry.edge_checked
        place = replace(place, wet_edge_open=entry.order if unseen else None)
    core = replace(core, notices=core.notices + notices)
    core = core.with_place(entry.place, place)
    return instruments.latch(instruments.note_spoiled(core, entry), entry, finds)


def look_facts(
    core: Core, place: PlaceState, entry: Entry, context: Context
) -> LookFacts:
    """What bears on a reading from outside it, before it is applied."""
    standing = frozenset((key[0], key[2]) for key in place.stands)
    if not isinstance(entry, GasMeter):
        return LookFacts(context=context, standing=standing)
    bumped, here = instruments.bumped(core, entry)
    return LookFacts(
        context=context,
        latched=instruments.is_latched(core, entry),
        standing=standing,
        spoiled=instruments.spoiled(core, entry),
        bumped=bumped,
        bumped_here=here,
    )


def _facts(
    core: Core,
    place: PlaceState,
    entry: Entry,
    context: Context,
    lowest: ThermalPoint | None,
) -> ReadingFacts:
    if isinstance(entry, ThermalImager) and entry.target == "closed_container":
        container = core.containers[container_key(entry)]
        return ReadingFacts(
            context=context,
            container=container.points,
            container_lowest=lowest,
            container_steady=container.steady,
        )
    if isinstance(entry, Dosimeter):
        return ReadingFacts(
            context=context, dose_rem=core.teams[entry.team].dose.now(entry.at)
        )
    return ReadingFacts(context=context, lel=place.lel, lel_spike=place.lel_spike)


def _read_container(
    core: Core, entry: ThermalImager, context: Context
) -> tuple[Core, ThermalPoint | None]:
    """The container with this reading, and the lowest one before it."""
    key = container_key(entry)
    before = core.containers.get(key, ContainerState())
    point = ThermalPoint(
        at=entry.at,
        surface_degf=entry.surface_degf,
        shown=entry.shown.get("surface", f"{entry.surface_degf} °F"),
        shiny=entry.shiny,
    )
    points = (*before.points[-2:], point)
    lowest = before.lowest
    coolest = point
    if lowest is not None and lowest.surface_degf <= point.surface_degf:
        coolest = lowest
    profile = context.profile
    after = ContainerState(
        points=points,
        lowest=coolest,
        steady=is_steady(
            points, profile["thermal_rise"], profile["thermal_steady_time"]
        ),
    )
    return replace(core, containers=core.containers.set(key, after)), lowest


def _remember_lel(place: PlaceState, entry: Entry) -> PlaceState:
    if not isinstance(entry, GasMeter) or entry.lel_percent is None:
        return place
    point = LelPoint(
        at=entry.at,
        percent=entry.lel_percent,
        team=entry.team,
        instrument=entry.instrument,
    )
    return replace(
        place,
        lel=(*place.lel[1 - LEL_POINTS_KEPT :], point),
        lel_spike=point if point.percent >= SPIKE_FROM else place.lel_spike,
    )


SERIES = ("oxygen_percent", "co_ppm", "h2s_ppm", "dose_rate_rem_per_hour")


def _remember_series(place: PlaceState, entry: Entry) -> PlaceState:
    if not isinstance(entry, GasMeter | Dosimeter):
        return place
    series = dict(place.series)
    for name in SERIES:
        value = getattr(entry, name, None)
        if value is not None:
            point = SeriesPoint(at=entry.at, value=value)
            series[name] = (*series.get(name, ())[1 - LEL_POINTS_KEPT :], point)
    return replace(place, series=series)


def _together(core: Core, entry: Entry) -> Core:
    """Rules 31 and 32, judged on what stands at the entry's place; once raised they
    stand like any other finding."""
    if place_key(entry.place) not in core.marked:
        return core
    place = core.place(entry.place)
    standing = [stand.found for stand in place.stands.values()]
    added = {
        stand.key: stand
        for rule, found in judge("place", standing)
        if (stand := Stand.of(rule, found, entry)).key not in place.stands
    }
    if not added:
        return core
    stands = {**place.stands, **added}
    return core.with_place(entry.place, replace(place, stands=stands))
