"""What is known of each hazard at a team's place: found, not found, or why it is not known.

Spec section 6. The first status that fits, in the order of `Status`, whichever team took
the readings.
"""

from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal
from typing import Final

from screening.apply import AGE_KEYS
from screening.incident import Context
from screening.memory import Core, PlaceState, TeamState, Told
from screening.methods import reason
from screening.nextcheck import how_to_look, look_next
from screening.rules.found import minutes
from screening.rules.radiation import turn_back_key
from screening.verdicts import CoverageRow, Hazard, Status

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
    rows = []
    for hazard, status, because in statuses(core, team, at, context, _hazards(core)):
        check = (
            "" if status is Status.NOT_FOUND else how_to_look(hazard, status, because)
        )
        rows.append(
            CoverageRow(hazard=hazard, status=status, because=because, next_check=check)
        )
    return tuple(rows)


def next_for(rows: tuple[CoverageRow, ...], core: Core, team: TeamState) -> str:
    """The one check that tells most next for what the team wears."""
    acid = any(
        row.hazard is Hazard.ACID_VAPOUR and row.status is Status.FOUND for row in rows
    ) or any(
        stand.found.acid_side and stand.place_key == team.place_key
        for stand in core.standing()
    )
    wet_edge = core.place(team.place).wet_edge_open
    return look_next(rows, ensemble=team.ensemble, acid_found=acid, wet_edge=wet_edge)


def _hazards(core: Core) -> tuple[Hazard, ...]:
    if core.containers:
        return (*COVERED, Hazard.CONTAINER_HEATING)
    return COVERED


def first_look_gaps(
    core: Core, team: TeamState, at: datetime, context: Context
) -> list[tuple[str, Status]]:
    """The hazards of rule 33 that are not known at the team's place, with their status."""
    known = (Status.FOUND, Status.NOT_FOUND)
    gaps: dict[str, Status] = {}
    for hazard, status, _ in statuses(core, team, at, context, FIRST_LOOK):
        if status in known:
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
            yield hazard, *_not_standing(place, hazard, at, context)


def _found(core: Core, team: TeamState, context: Context) -> dict[Hazard, str]:
    """What stands at the team's place or everywhere, or with the team as a dose."""
    found = {
        stand.found.hazard: stand.found.because
        for stand in core.standing()
        if (stand.place_key == team.place_key or stand.found.everywhere)
        and not stand.found.doubt
    }
    dose = team.dose.highest_read
    half: Decimal = context.profile[turn_back_key(context)] / 2
    if dose is not None and dose[0] >= half:
        found.setdefault(Hazard.GAMMA_RADIATION, f"dose {dose[1]} with this team")
    return found


def _not_standing(
    place: PlaceState, hazard: Hazard, at: datetime, context: Context
) -> tuple[Status, str]:
    told = place.told.get(hazard)
    if told is not None and not _doubted(place, hazard, told):
        return _told(told, place, at, context)
    unable = place.unable.get(hazard)
    if unable is not None:
        return Status.CANNOT_TELL, unable.because
    return Status.NOT_CHECKED, reason("nobody")


def _doubted(place: PlaceState, hazard: Hazard, told: Told) -> bool:
    """A later reading cast doubt (rule 12): the hazard is not known, whatever was read
    before the air changed."""
    return any(
        stand.found.doubt and stand.found.hazard is hazard and stand.order > told.order
        for stand in place.stands.values()
    )


def _told(
    told: Told, place: PlaceState, at: datetime, context: Context
) -> tuple[Status, str]:
    age = Decimal((at - told.order[0]).total_seconds())
    if place.ventilated is not None and told.order < place.ventilated:
        return Status.OUT_OF_DATE, f"ventilated since; {told.because} before that"
    limit = context.profile[AGE_KEYS[told.kind]]
    if age > limit:
        return Status.OUT_OF_DATE, (
            f"{told.because}, {minutes(age)} ago, counts for {minutes(limit)}"
        )
    return Status.NOT_FOUND, f"{told.because}, {minutes(age)} ago"
