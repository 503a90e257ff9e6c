"""What is known of each hazard at a team's place: found, not found, or why it is not known.

Spec section 6. The first status that fits, in the order of `Status`, whichever team took
the readings.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Final

from screening.crews import effective
from screening.incident import Context
from screening.memory import Core, Order, PlaceState, Stand, TeamState, Told, Unable
from screening.methods import reason
from screening.methods.doubts import of_wet_strip
from screening.nextcheck import Situation, how_to_look, look_next
from screening.reach import Need, latest_on, met_by, needs_of, open_reasons
from screening.rules.found import ago, minutes
from screening.rules.radiation import turn_back_key
from screening.settling import AGE_KEYS
from screening.verdicts import Action, CoverageRow, Hazard, Status

COVERED: Final = (
    Hazard.ACID_VAPOUR,
    Hazard.BASE_VAPOUR,
    Hazard.OXIDISER_VAPOUR,
    Hazard.FLUORIDE_VAPOUR,
    Hazard.FLAMMABLE_ATMOSPHERE,
    Hazard.OXYGEN_ENRICHED,
    Hazard.OXYGEN_DEFICIENT,
    Hazard.TOXIC_GAS,
    Hazard.GAMMA_RADIATION,
)
# What a reading of the same kind can answer.
_READ_AGAIN: Final = frozenset({*COVERED, Hazard.CONTAINER_HEATING})
# What rule 33 asks for in the first minutes.
FIRST_LOOK: Final = (
    Hazard.FLAMMABLE_ATMOSPHERE,
    Hazard.OXYGEN_DEFICIENT,
    Hazard.OXYGEN_ENRICHED,
    Hazard.ACID_VAPOUR,
    Hazard.BASE_VAPOUR,
    Hazard.GAMMA_RADIATION,
)


def coverage(
    core: Core, team: TeamState, at: datetime, context: Context
) -> tuple[CoverageRow, ...]:
    """One row a hazard; `container_heating` once a container has been read."""
    rows, frost = [], bool(of_wet_strip(context.weather))
    for hazard, status, because in statuses(core, team, at, context, _hazards(core)):
        check = ""
        if status is not Status.NOT_FOUND:
            check = how_to_look(hazard, status, because, frost=frost)
        rows.append(
            CoverageRow(hazard=hazard, status=status, because=because, next_check=check)
        )
    return tuple(rows)


def next_for(
    rows: tuple[CoverageRow, ...],
    core: Core,
    team: TeamState,
    at: datetime,
    context: Context,
    action: Action,
) -> str:
    """The one check that tells most next for what the team wears."""
    standing = list(effective(core, team))
    place = core.place(team.place)
    edge = place.wet_edge_open
    held = _held_by(standing, place, team, at, context)
    situation = Situation(
        ensemble=team.weakest,
        action=action,
        inside=team.inside,
        acid_found=any(_is_acid(stand, team) for stand, _ in standing),
        wet_edge=edge is not None
        and _seconds(edge, at) <= context.profile[AGE_KEYS["ki_starch_paper"]],
        held_by=None if held is None else held.found.hazard,
        held_at="" if held is None or _is_here(held, team) else held.place,
        suspects=context.suspects,
        frost=bool(of_wet_strip(context.weather)),
    )
    return look_next(rows, situation)


def _is_here(stand: Stand, team: TeamState) -> bool:
    return stand.place_key == team.place_key


def _is_acid(stand: Stand, team: TeamState) -> bool:
    acid = stand.found.acid_side or stand.found.hazard is Hazard.ACID_VAPOUR
    return acid and _is_here(stand, team)


def _held_by(
    standing: list[tuple[Stand, Action]],
    place: PlaceState,
    team: TeamState,
    at: datetime,
    context: Context,
) -> Stand | None:
    """What keeps a team out, and is to be read again: what made it leave, wherever that
    is; else what stops it here, unless it has been read since. A container is read from
    afar, so for a team inside too, once its reading is old."""
    held = sorted(
        (pair for pair in standing if pair[1] >= Action.STOP and pair[0].entry),
        key=lambda pair: (-pair[1], not _is_here(pair[0], team), pair[0].order),
    )
    for stand, action in held:
        hazard = stand.found.hazard
        if hazard not in _READ_AGAIN:
            continue
        if action is Action.WITHDRAW:
            return stand
        afar = hazard is Hazard.CONTAINER_HEATING
        if not _is_here(stand, team) or (team.inside and not afar):
            continue
        told = place.told.get(hazard)
        if told is None or _is_stale(told, place, at, context):
            return stand
        if not team.inside and told.order <= stand.order:
            return stand
    return None


def _hazards(core: Core) -> tuple[Hazard, ...]:
    if core.containers:
        return (*COVERED, Hazard.CONTAINER_HEATING)
    return COVERED


def first_look_gaps(
    core: Core, team: TeamState, at: datetime, context: Context
) -> list[tuple[str, Status]]:
    """The hazards of rule 33 that are not known at the team's place, with their status."""
    gaps: dict[str, Status] = {}
    found, place = _found(core, team, context), core.place(team.place)
    for hazard in FIRST_LOOK:
        if hazard in found:
            continue
        status = _weigh(place, hazard, at, context).status
        if status is Status.NOT_FOUND:
            continue
        oxygen = hazard in (Hazard.OXYGEN_DEFICIENT, Hazard.OXYGEN_ENRICHED)
        gaps.setdefault("oxygen" if oxygen else hazard.label.lower(), status)
    return list(gaps.items())


def statuses(
    core: Core,
    team: TeamState,
    at: datetime,
    context: Context,
    hazards: tuple[Hazard, ...],
) -> Iterator[tuple[Hazard, Status, str]]:
    """Status and reason of each hazard at the team's place."""
    found = _found(core, team, context)
    place = core.place(team.place)
    for hazard in hazards:
        if hazard in found:
            yield hazard, Status.FOUND, found[hazard]
        else:
            known = _weigh(place, hazard, at, context)
            yield hazard, known.status, _words(known, place, at, context)


def _found(core: Core, team: TeamState, context: Context) -> dict[Hazard, str]:
    """What stands at the team's place or everywhere, or with the team as a dose."""
    found: dict[Hazard, str] = {}
    for name, place in core.marked_places():
        found |= _found_at(place, here=name == team.place_key)
    dose = team.dose.highest_read
    half: Decimal = context.profile[turn_back_key(context)] / 2
    if dose is not None and dose[0] >= half:
        found.setdefault(Hazard.GAMMA_RADIATION, f"dose {dose[1]} with this team")
    return found


def _found_at(place: PlaceState, *, here: bool) -> Mapping[Hazard, str]:
    """What stands at a place and counts there, or elsewhere too."""
    return place.once(
        ("found", here),
        lambda: {
            stand.found.hazard: stand.found.because
            for stand in place.stands.values()
            if (here or stand.found.everywhere) and not stand.found.doubt
        },
    )


# --- What does not stand --------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class _Known:
    """What the readings at a place come to on one hazard that does not stand there."""

    status: Status
    because: str = ""  # where it is not known
    told: Told | None = None  # the reading that is shown
    met: tuple[tuple[Need, Told], ...] = ()  # what it rests on and can go out of date
    since: tuple[str, ...] = ()  # what was read since, where that is not enough


def _weigh(place: PlaceState, hazard: Hazard, at: datetime, context: Context) -> _Known:
    suspects = context.suspects
    known = place.once(
        ("known", hazard, suspects), lambda: _as_read(place, hazard, suspects)
    )
    stale = [pair for pair in known.met if _is_stale(pair[1], place, at, context)]
    if not stale:
        return known
    need, oldest = min(stale, key=lambda pair: pair[1].order)
    return _Known(
        status=Status.OUT_OF_DATE, told=oldest, since=_read_since(need, oldest, place)
    )


def _as_read(place: PlaceState, hazard: Hazard, suspects: tuple[str, ...]) -> _Known:
    """What the readings come to while they are in date."""
    since = _doubted_since(place, hazard)
    needs = needs_of(hazard, suspects)
    met, unmet = [], []
    for need in needs:
        told = met_by(need, place.covered, since)
        if told is None:
            unmet.append(need)
        else:
            met.append((need, told))
    unable = place.unable.get(hazard)
    last = latest_on(hazard, place.covered, since)
    if last is None and unable is None:
        return _Known(status=Status.NOT_CHECKED, because=reason("nobody"))
    if unable is not None and (last is None or (unmet and _is_news(unable, last))):
        return _Known(status=Status.CANNOT_TELL, because=unable.because)
    if unmet:
        because = "; ".join(open_reasons(unmet, place.covered, since))
        return _Known(status=Status.CANNOT_TELL, because=because)
    aged = tuple((need, told) for need, told in met if not need.ageless)
    return _Known(status=Status.NOT_FOUND, told=aged[0][1], met=aged)


def _read_since(need: Need, told: Told, place: PlaceState) -> tuple[str, ...]:
    """Where it was read after the reading that has gone out of date."""
    last = latest_on(need.piece.hazard, place.covered, told.order)
    if need.piece.what or last is None:
        return ()
    return open_reasons([need], place.covered, told.order)


def _is_news(unable: Unable, last: Told) -> bool:
    """Whether what went wrong last is to be mended before what is still open."""
    return unable.order > last.order and not unable.partly


def _doubted_since(place: PlaceState, hazard: Hazard) -> Order | None:
    """The latest doubt (rule 12): the hazard is not known, whatever was read before the
    air changed."""
    return max(
        (
            stand.order
            for stand in place.stands.values()
            if stand.found.doubt and stand.found.hazard is hazard
        ),
        default=None,
    )


def _is_stale(told: Told, place: PlaceState, at: datetime, context: Context) -> bool:
    if place.ventilated is not None and told.order < place.ventilated:
        return True
    return _age(told, at) > context.profile[AGE_KEYS[told.kind]]


def _age(told: Told, at: datetime) -> Decimal:
    return _seconds(told.order, at)


def _seconds(since: Order, at: datetime) -> Decimal:
    return Decimal((at - since[0]).total_seconds())


def _words(known: _Known, place: PlaceState, at: datetime, context: Context) -> str:
    """The reason, with the age in front where a reading is behind it."""
    told = known.told
    if told is None:
        return known.because
    when = ago(_age(told, at))
    if known.status is Status.OUT_OF_DATE:
        ventilated = place.ventilated is not None and told.order < place.ventilated
        limit = minutes(context.profile[AGE_KEYS[told.kind]])
        when += ", ventilated since" if ventilated else f", counts for {limit}"
    others = dict.fromkeys(
        reason("read_before", part=need.label, when=ago(_age(other, at)))
        for need, other in known.met
        if other.entry != told.entry
    )
    return f"{when}: " + "; ".join((told.because, *others, *known.since))
