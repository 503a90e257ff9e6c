"""One log entry into what the engine remembers. Pure: a new `Core` comes back."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import timedelta

from screening import clearing, crews
from screening.incident import Context
from screening.looks import Look, LookFacts, looks_of
from screening.memory import (
    ContainerState,
    Core,
    InstrumentState,
    Notice,
    PlaceState,
    SeriesPoint,
    Stand,
    StandKey,
    Told,
    Unable,
    place_key,
)
from screening.methods import reason
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
from screening.rules import Rule, judge, judge_reading
from screening.rules.found import Found, LelPoint, ReadingFacts, ThermalPoint
from screening.rules.gases import SPIKE_FROM
from screening.rules.thermal import is_steady
from screening.verdicts import Action, Hazard

AGE_KEYS: Mapping[str, str] = {
    "ph_paper": "paper_age",
    "ki_starch_paper": "paper_age",
    "fluoride_paper": "paper_age",
    "gas_meter": "meter_age",
    "thermal_imager": "thermal_age",
    "dosimeter": "dosimeter_age",
}
LEL_POINTS_KEPT = 12


def apply(core: Core, entry: Entry, context: Context, *, distrusted: bool) -> Core:
    """`core` with one entry more.

    `distrusted` says that a later bump test of the reading's instrument failed: what the
    reading found counts as ever, what it did not find cannot tell.
    """
    core = replace(core, notices=())
    core = crews.move(core, entry, context)
    match entry:
        case BumpTest():
            core = _bump_test(core, entry)
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


def _bump_test(core: Core, entry: BumpTest) -> Core:
    before = core.instruments.get(entry.instrument, InstrumentState())
    after = InstrumentState(
        passed=entry.at if entry.passed else before.passed,
        known=True,
        failed=not entry.passed,
    )
    return replace(core, instruments=core.instruments.set(entry.instrument, after))


def _reading(core: Core, entry: Entry, context: Context, distrusted: bool) -> Core:
    if isinstance(entry, ThermalImager) and entry.target == "closed_container":
        core, lowest = _read_container(core, entry, context)
    else:
        lowest = None
    place = core.place(entry.place)
    facts = _facts(core, place, entry, context, lowest)
    finds = judge_reading(entry, facts)
    look_facts = LookFacts(
        context=context,
        latched=isinstance(entry, GasMeter) and is_latched(core, entry),
        standing=frozenset((key[0], key[2]) for key in place.stands),
    )
    looks = list(looks_of(entry, look_facts))
    doubt = instrument_doubt(core, entry, context, distrusted)
    place, notices = _settle(place, entry, finds, looks, doubt, context)
    place = _remember_series(_remember_lel(place, entry), entry)
    if isinstance(entry, KiStarchPaper) and entry.sample == "liquid":
        unseen = entry.result == "no_change" and not entry.edge_checked
        place = replace(place, wet_edge_open=unseen)
    core = replace(core, notices=core.notices + notices)
    core = core.with_place(entry.place, place)
    return _latch(core, entry, finds)


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


def is_latched(core: Core, entry: Entry) -> bool:
    """Whether this LEL meter went over range with no exit of that team since.

    A meter without a name may be any that the team carries, and the other way round.
    """
    name = entry.instrument
    return any(
        (team == entry.team and (not latched or not name)) or (name and latched == name)
        for team, latched in core.latches
    )


def _latch(core: Core, entry: Entry, finds: list[tuple[Rule, Found]]) -> Core:
    if not isinstance(entry, GasMeter):
        return core
    spiked = any(rule.number == 26 for rule, _ in finds)
    if "lel" not in entry.over_range and not spiked:
        return core
    return replace(core, latches=core.latches | {(entry.team, entry.instrument)})


def instrument_doubt(
    core: Core, entry: Entry, context: Context, distrusted: bool
) -> str:
    """Why a quiet reading of this instrument cannot tell; "" where nothing is known
    against it. Of an instrument that is not listed nothing is assumed."""
    name = entry.instrument
    if not name:
        return ""
    if distrusted:
        return reason("bump_failed_after", name=name)
    state = core.instruments.get(name)
    if state is None:
        return ""
    if state.failed:
        return reason("bump_failed", name=name)
    item = context.instruments.get(name)
    if item is None:
        return ""
    day = entry.at.date()
    if item.calibration_due is not None and day > item.calibration_due:
        return reason("calibration_overdue", name=name)
    if not state.known:
        return ""
    zone = entry.at.tzinfo
    if state.passed is None or state.passed.astimezone(zone).date() != day:
        return reason("bump_not_today", name=name)
    return ""


def _settle(
    place: PlaceState,
    entry: Entry,
    finds: list[tuple[Rule, Found]],
    looks: list[Look],
    doubt: str,
    context: Context,
) -> tuple[PlaceState, tuple[Notice, ...]]:
    """What the reading ends, replaces, adds and tells at its place."""
    stands = dict(place.stands)
    told, unable = dict(place.told), dict(place.unable)
    notices: list[Notice] = []
    for look in looks:
        action = _strictest(finds, look.hazard)
        if action is None and (doubt or not look.tells):
            because = doubt if look.tells else look.because
            unable[look.hazard] = Unable(
                order=entry.order,
                because=because,
                kind=entry.kind,
                instrument=entry.instrument,
            )
            if look.ends and not doubt:
                _end_cautions(stands, look, entry, context)
            continue
        _end_cautions(stands, look, entry, context)
        if action is None:
            notices += _contradictions(stands, look, entry, context)
        else:
            quiet = (told.get(look.hazard), unable.get(look.hazard))
            for before in quiet:
                notices += _contradicted(before, look, entry, context)
        told[look.hazard] = Told(
            order=entry.order,
            entry=entry.id,
            kind=entry.kind,
            action=action or Action.CONTINUE,
            because=look.because,
            instrument=entry.instrument,
        )
    for rule, found in finds:
        stand = Stand.of(rule, found, entry)
        stands[stand.key] = stand
    place = replace(place, stands=stands, told=told, unable=unable)
    return place, tuple(dict.fromkeys(notices))


def _strictest(finds: Iterable[tuple[Rule, Found]], hazard: Hazard) -> Action | None:
    """The strictest action found on a hazard; None where nothing but doubt was."""
    return max(
        (f.worst for _, f in finds if f.hazard is hazard and not f.doubt), default=None
    )


def _end_cautions(
    stands: dict[StandKey, Stand], look: Look, entry: Entry, context: Context
) -> None:
    """End what ends by itself, unless another instrument in date says otherwise."""
    for key, stand in list(stands.items()):
        if stand.found.hazard is not look.hazard or not stand.found.ends_by_itself:
            continue
        if not _covers(look, stand.found):
            continue
        if _contradicts(stand, entry, context):
            continue
        del stands[key]


def _covers(look: Look, found: Found) -> bool:
    return look.subjects is None or not found.subject or found.subject in look.subjects


def _contradicts(stand: Stand, entry: Entry, context: Context) -> bool:
    """Two named instruments, while the finding one is still in date."""
    if not stand.instrument or not entry.instrument:
        return False
    if stand.instrument == entry.instrument or stand.found.doubt:
        return False
    age = context.profile[AGE_KEYS.get(entry.kind, "meter_age")]
    return entry.at - stand.order[0] <= timedelta(seconds=float(age))


def _contradictions(
    stands: Mapping[StandKey, Stand], look: Look, entry: Entry, context: Context
) -> list[Notice]:
    return [
        Notice(
            name="contradicting_instruments",
            hazard=look.hazard,
            place=entry.place,
            because=f"{entry.instrument} shows nothing where {stand.instrument} found: "
            f"{stand.found.because}. The stricter stands",
            advice=("Compare both instruments in fresh air.",),
        )
        for stand in stands.values()
        if stand.found.hazard is look.hazard
        and _covers(look, stand.found)
        and _contradicts(stand, entry, context)
    ]


def _contradicted(
    before: Told | Unable | None, look: Look, entry: Entry, context: Context
) -> list[Notice]:
    """A find where another instrument, still in date, showed nothing."""
    if before is None or not before.instrument or not entry.instrument:
        return []
    if isinstance(before, Told) and before.action > Action.CONTINUE:
        return []
    age = context.profile[AGE_KEYS[before.kind]]
    in_date = entry.at - before.order[0] <= timedelta(seconds=float(age))
    if entry.instrument == before.instrument or not in_date:
        return []
    return [
        Notice(
            name="contradicting_instruments",
            hazard=look.hazard,
            place=entry.place,
            because=f"{before.instrument} showed nothing ({before.because}) where "
            f"{entry.instrument} finds now. The stricter stands",
            advice=("Compare both instruments in fresh air.",),
        )
    ]


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
