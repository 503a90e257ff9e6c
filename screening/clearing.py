"""The commander's `clear`: when it holds, and why it does not.

Spec section 4, "The rest stands until the commander's clear". No reading lifts a stop or a
withdraw; only a clear that holds does.
"""

from collections.abc import Iterator
from dataclasses import replace

from screening.incident import Context
from screening.memory import Core, Notice, Stand, StandKey, TeamState, Told, place_key
from screening.readings import Clear
from screening.verdicts import Action, Hazard

# Judged anew at every moment from the teams themselves: there is nothing to clear.
_ENDS_WITH_ITS_CAUSE = {
    Hazard.ACCOUNTABILITY: "accountability ends with a PAR that all answer, not by a clear",
    Hazard.MONITORING: "gaps in monitoring end when they are looked for, not by a clear",
}
_LEAVE = "29 CFR 1910.146(c)(5)(ii)(G) by analogy: all out before anyone goes back in"


def clear(core: Core, entry: Clear, context: Context) -> Core:
    """End the hazard at the entry's place, or say why it stands."""
    hazard = Hazard(entry.hazard)
    if hazard in _ENDS_WITH_ITS_CAUSE:
        return _refused(core, entry, hazard, [_ENDS_WITH_ITS_CAUSE[hazard]])
    if hazard is Hazard.LOW_AIR:
        return _clear_low_air(core, entry)
    place = core.place(entry.place)
    standing = [s for s in place.stands.values() if s.found.hazard is hazard]
    told = place.told.get(hazard)
    ending = [stand for stand in standing if not _stays(stand, told)]
    why = list(_reasons(core, entry, hazard, ending))
    if not standing:
        dose = hazard is Hazard.GAMMA_RADIATION
        why.append(
            "nothing of it stands at this place"
            + (", and a dose cannot be cleared" if dose else "")
        )
    elif not ending:
        why.append("it is what the latest reading found: read again first")
    if why:
        return _refused(core, entry, hazard, why)
    ended = {stand.key for stand in ending}
    stands = {key: stand for key, stand in place.stands.items() if key not in ended}
    return core.with_place(entry.place, replace(place, stands=stands))


def _stays(stand: Stand, told: Told | None) -> bool:
    """What the latest reading gives itself, a caution say, stays through a clear."""
    return (
        told is not None
        and stand.entry == told.entry
        and stand.found.worst < Action.STOP
        and not stand.found.by_sign
    )


def _refused(core: Core, entry: Clear, hazard: Hazard, why: list[str]) -> Core:
    notice = Notice(
        name="clear_does_not_hold",
        hazard=hazard,
        place=entry.place,
        because="The clear does not hold: " + "; ".join(why),
        source=_LEAVE,
    )
    return replace(core, notices=(*core.notices, notice))


def _reasons(
    core: Core, entry: Clear, hazard: Hazard, standing: list[Stand]
) -> Iterator[str]:
    """Everything that keeps the hazard standing."""
    inside = sorted(
        team.id
        for team in core.teams.values()
        if (place_key(entry.place), hazard) in team.withdrawn_by
    )
    if inside:
        yield f"withdrawn by it and not out yet: {', '.join(inside)}"
    by_reading = [stand for stand in standing if not stand.found.by_sign]
    if by_reading:
        yield from _evidence(core, entry, hazard, by_reading)


def _evidence(
    core: Core, entry: Clear, hazard: Hazard, standing: list[Stand]
) -> Iterator[str]:
    told = core.place(entry.place).told.get(hazard)
    if told is None or any(stand.order > told.order for stand in standing):
        yield "no reading here that can tell has been taken since it was found"
    elif told.action >= Action.STOP:
        yield f"the latest reading that can tell gives {told.action.word} itself"
    if hazard is Hazard.CONTAINER_HEATING:
        yield from _unsteady(core, entry, standing)


def _unsteady(core: Core, entry: Clear, standing: list[Stand]) -> Iterator[str]:
    """Every container found at the place must be steady (rule 19)."""
    for name in sorted({stand.found.subject for stand in standing}):
        key = f"name {place_key(name)}" if name else f"at {place_key(entry.place)}"
        container = core.containers.get(key)
        if container is None or not container.steady:
            yield f"{name or 'the container'} is not steady over its last three readings"


def _clear_low_air(core: Core, entry: Clear) -> Core:
    """Low air is a team's own: every member found low must read well again, outside."""
    why: list[str] = []
    cleared: list[TeamState] = []
    for team in core.teams.values():
        stands = {
            key: stand
            for key, stand in team.own.items()
            if stand.found.hazard is Hazard.LOW_AIR
            and (stand.place_key == place_key(entry.place) or entry.team == team.id)
            and entry.team in ("", team.id)
        }
        if not stands:
            continue
        reasons = list(_low_air_reasons(team, stands))
        why += reasons
        if not reasons:
            own = {key: stand for key, stand in team.own.items() if key not in stands}
            cleared.append(replace(team, own=own))
    if not why and not cleared:
        why = ["nothing of it stands at this place"]
    for team in cleared:
        core = core.with_team(team)
    return _refused(core, entry, Hazard.LOW_AIR, why) if why else core


def _low_air_reasons(team: TeamState, stands: dict[StandKey, Stand]) -> Iterator[str]:
    if any(hazard is Hazard.LOW_AIR for _, hazard in team.withdrawn_by):
        yield f"withdrawn by it and not out yet: {team.id}"
    for member in sorted({stand.found.subject for stand in stands.values()}):
        points = team.air[member].points if member in team.air else ()
        found = max(s.order for s in stands.values() if s.found.subject == member)
        if not points or points[-1].order <= found:
            yield f"the gauge of {member} has not been read again"
