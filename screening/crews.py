"""What an entry does to a team: in, out, where, air, dose, roll call, clothing."""

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

from screening.ensembles import Ensemble
from screening.incident import Context, Member
from screening.memory import (
    AirState,
    Core,
    DoseState,
    GaugePoint,
    PlaceState,
    Stand,
    TeamState,
    place_key,
)
from screening.planning_numbers import turn_around_psi
from screening.readings import (
    AirCheck,
    ChangeEnsemble,
    Dosimeter,
    Enter,
    Entry,
    Exit,
    Par,
)
from screening.rules import judge
from screening.rules.people import MemberAir
from screening.rules.radiation import turn_back_key
from screening.verdicts import Action, Hazard

GAUGE_POINTS_KEPT = 4


def move(core: Core, entry: Entry, context: Context) -> Core:
    """The entry's own team after it."""
    team = core.teams.get(entry.team)
    if team is None:
        return core
    match entry:
        case Enter():
            team = _enter(team, entry, context)
        case Exit():
            team = _exit(team, entry, context)
            latches = frozenset(x for x in core.latches if x[0] != team.id)
            core = replace(core, latches=latches)
        case Par():
            team = replace(team, last_par=entry.at, unanswered=entry.unanswered)
        case ChangeEnsemble():
            # Said of the whole team: from here on each of them wears it.
            worn = Ensemble(entry.ensemble)
            team = replace(team, ensemble=worn, own_ensembles={})
        case Entry(is_reading=True):
            team = _come_to(team, entry)
            if isinstance(entry, Dosimeter):
                limit = context.profile[turn_back_key(context)]
                dose = _dose(team.dose, entry, team.inside, limit)
                team = replace(team, dose=dose)
            elif isinstance(entry, AirCheck):
                team = _gauge(team, entry, context)
        case _:
            return core
    return core.with_team(team)


def _enter(team: TeamState, entry: Enter, context: Context) -> TeamState:
    """Going in starts the gauges anew: the bottle may be another one. Said again of a
    team that is in already, it only says where the team is now."""
    if team.inside and team.has_entered:
        return replace(team, place=entry.place)
    air = {}
    for member, before in team.air.items():
        read_outside = before.points[-1].pressure if before.points else None
        start = read_outside if team.has_left and read_outside else before.start
        air[member] = AirState(start=start)
    return replace(
        team,
        place=entry.place,
        inside_since=entry.at,
        has_entered=True,
        has_left=False,
        dose=_dose_now(team, entry, context, counting=True),
        air=air,
    )


def _exit(team: TeamState, entry: Exit, context: Context) -> TeamState:
    return replace(
        team,
        inside_since=None,
        has_left=True,
        dose=_dose_now(team, entry, context, counting=False),
        withdrawn_by=frozenset(),
    )


def _dose_now(
    team: TeamState, entry: Entry, context: Context, *, counting: bool
) -> DoseState:
    """The dose as going in or out finds it."""
    dose = team.dose.brought_to(
        entry.at, team.dose.now(entry.at), context.profile[turn_back_key(context)]
    )
    return replace(dose, counting=counting)


def _come_to(team: TeamState, entry: Entry) -> TeamState:
    """A reading puts its team at its place; the first one puts it inside, too, where no
    `enter` is logged. One taken after leaving brings nobody back in."""
    if team.place != entry.place:
        team = replace(team, place=entry.place)
    if team.inside or team.has_entered or team.has_left:
        return team
    dose = replace(team.dose, counting=True)
    return replace(team, inside_since=entry.at, dose=dose)


def _dose(dose: DoseState, entry: Dosimeter, inside: bool, limit: Decimal) -> DoseState:
    """The dose between two rates is taken as the mean of both by the time between."""
    estimate = dose.now(entry.at)
    rate, shown = dose.rate, dose.rate_shown
    new_rate = entry.dose_rate_rem_per_hour
    if new_rate is not None:
        if rate is not None and dose.counting and dose.estimated_at is not None:
            hours = Decimal((entry.at - dose.estimated_at).total_seconds()) / 3600
            rise = max(new_rate - rate, Decimal(0))
            estimate += rise * hours / 2
        rate, shown = new_rate, entry.shown.get("dose_rate", "")
    read = dose.read
    if entry.dose_rem is not None:
        figure = (entry.dose_rem, entry.shown.get("dose", f"{entry.dose_rem} rem"))
        before = read.get(entry.member)
        leads = not read or max(read, key=lambda key: read[key]) == entry.member
        read = {**read, entry.member: max(figure, before) if before else figure}
        highest = max(figure for figure, _ in read.values())
        # Another one's dosimeter says nothing of what has been added to the highest.
        estimate = highest if leads else max(estimate, highest)
    return replace(
        dose.brought_to(entry.at, estimate, limit),
        read=read,
        rate=rate,
        rate_shown=shown,
        counting=inside,
    )


def _gauge(team: TeamState, entry: AirCheck, context: Context) -> TeamState:
    """One gauge reading: the member's air, and what rule 24 says of it."""
    before = team.air.get(entry.member, AirState())
    point = GaugePoint(
        order=entry.order,
        pressure=entry.pressure_psi,
        shown=entry.shown.get("pressure", f"{entry.pressure_psi} psi"),
    )
    points = before.points
    if points and point.pressure > points[-1].pressure:
        points = ()  # another bottle
    arrival = before.arrival
    if arrival is None or arrival[0] != place_key(entry.place) or not points:
        arrival = (place_key(entry.place), point.pressure)
    start = before.start
    if start is None or point.pressure > start:
        start = point.pressure
    air = AirState(
        points=(*points[1 - GAUGE_POINTS_KEPT :], point), start=start, arrival=arrival
    )
    team = replace(team, air={**team.air, entry.member: air})
    own = dict(team.own)
    member = _member(context, team.id, entry.member)
    now = member_air(team, member, context)
    for rule, found in judge("gauge", now) if now is not None else ():
        stand = Stand.of(rule, found, entry)
        own[stand.key] = stand
    return replace(team, own=own)


def _member(context: Context, team: str, member: str) -> Member:
    for known in context.teams[team].members:
        if known.id == member:
            return known
    return Member(id=member)


def member_air(team: TeamState, member: Member, context: Context) -> MemberAir | None:
    """One member's air as last read; None before the first gauge reading."""
    air = team.air.get(member.id)
    if air is None or not air.points:
        return None
    last = air.points[-1]
    turn_around = alarm = None
    if member.cylinder is not None:
        alarm = context.profile["low_air_fraction"] * member.cylinder.rated_pressure_psi
        start = air.start or member.cylinder.rated_pressure_psi
        way_in = None
        if air.arrival is not None and air.arrival[0] == team.place_key:
            way_in = start - air.arrival[1]
        turn_around = turn_around_psi(start, alarm, way_in)
    return MemberAir(
        member=member.id,
        name=context.name_of(team.id, member.id),
        pressure=last.pressure,
        shown=last.shown,
        read_at=last.order[0],
        turn_around=turn_around,
        alarm=alarm,
        rate=_consumption(air.points),
    )


def _consumption(points: tuple[GaugePoint, ...]) -> Decimal | None:
    """psi per second over the gauge readings kept or over the last two, the faster.

    None from a single reading. Source: arithmetic, common practice.
    """
    last = points[-1]
    rates = [
        (first.pressure - last.pressure)
        / Decimal((last.order[0] - first.order[0]).total_seconds())
        for first in (points[0], *points[-2:-1])
        if last.order[0] > first.order[0]
    ]
    return max(rates, default=None)


def team_air(team: TeamState, context: Context) -> tuple[MemberAir, ...]:
    """Every member whose gauge has been read since going in."""
    members = context.teams[team.id].members
    return tuple(
        air
        for member in members
        if (air := member_air(team, member, context)) is not None
    )


def effective(core: Core, team: TeamState) -> Iterator[tuple[Stand, Action]]:
    """What stands, with what it means for one team where that team is."""
    worn, here = team.worn, team.place_key
    for name, place in core.marked_places():
        yield from meant_at(place, worn, here=name == here)
    for stand in team.own.values():
        yield stand, stand.found.means(worn)


def meant_at(
    place: PlaceState, worn: tuple[Ensemble, ...], *, here: bool
) -> tuple[tuple[Stand, Action], ...]:
    """What stands at a place, with what it means for a team that is there, or is not."""

    def meant() -> tuple[tuple[Stand, Action], ...]:
        pairs = ((stand, _means(stand, worn, here)) for stand in place.stands.values())
        return tuple((stand, means) for stand, means in pairs if means is not None)

    return place.once(("meant", worn, here), meant)


def _means(stand: Stand, worn: tuple[Ensemble, ...], here: bool) -> Action | None:
    """Spec section 4, "Where": in full at its place or everywhere; elsewhere a caution
    where it stops somebody and means something to what is worn; a liquid only there."""
    found = stand.found
    if found.everywhere or here:
        return found.means(worn)
    if found.is_liquid or found.worst < Action.STOP:
        return None
    return Action.CAUTION if found.means(worn) >= Action.CAUTION else None


def mark_withdrawn(core: Core) -> Core:
    """Note for every team inside which hazards have told it to withdraw."""
    for team in core.teams.values():
        if not team.inside:
            continue
        told = {
            (stand.place_key, stand.found.hazard)
            for stand in team.own.values()
            if stand.found.means(team.worn) is Action.WITHDRAW
        }
        for name, place in core.marked_places():
            told |= _withdrawing(place, team.worn, here=name == team.place_key)
        if not told <= team.withdrawn_by:
            withdrawn = team.withdrawn_by | told
            core = core.with_team(replace(team, withdrawn_by=withdrawn))
    return core


def _withdrawing(
    place: PlaceState, worn: tuple[Ensemble, ...], *, here: bool
) -> frozenset[tuple[str, Hazard]]:
    """What at a place makes such a team withdraw."""
    return place.once(
        ("withdrawing", worn, here),
        lambda: frozenset(
            (stand.place_key, stand.found.hazard)
            for stand, action in meant_at(place, worn, here=here)
            if action is Action.WITHDRAW
        ),
    )
