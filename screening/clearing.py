"""The commander's `clear`: when it holds, and why it does not.

Spec section 4, "The rest stands until the commander's clear". No reading lifts a stop or a
withdraw; only a clear that holds does.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from screening.incident import Context
from screening.memory import (
    Core,
    Notice,
    PlaceState,
    Stand,
    StandKey,
    TeamState,
    place_key,
)
from screening.methods import next_step
from screening.nextcheck import how_to_look
from screening.reach import (
    Covered,
    Need,
    latest,
    latest_on,
    met_by,
    needs_after,
    open_reasons,
)
from screening.readings import Clear
from screening.verdicts import Action, Hazard, Status

# Judged anew at every moment from the teams themselves: there is nothing to clear.
_ENDS_WITH_ITS_CAUSE = {
    Hazard.ACCOUNTABILITY: "accountability ends with a PAR that all answer, not by a clear",
    Hazard.MONITORING: "gaps in monitoring end when they are looked for, not by a clear",
}
_NOT_READ = "no reading here that can tell has been taken since it was found"
_GIVES = "the latest reading that can tell gives"
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
    ending = [stand for stand in standing if not _stays(stand, place)]
    why = list(_reasons(core, entry, hazard, ending, context))
    if not standing:
        dose = hazard is Hazard.GAMMA_RADIATION
        why.append(
            "nothing of it stands at this place"
            + (", and a dose cannot be cleared" if dose else "")
        )
    elif not ending:
        why.append("it is what the latest reading found: read again first")
    if why:
        return _refused(core, entry, hazard, why, _steps(place, hazard, why))
    ended = {stand.key for stand in ending}
    stands = {key: stand for key, stand in place.stands.items() if key not in ended}
    return core.with_place(entry.place, replace(place, stands=stands))


def _stays(stand: Stand, place: PlaceState) -> bool:
    """What the latest reading gives itself, a caution say, stays through a clear."""
    if stand.found.worst >= Action.STOP or stand.found.by_sign:
        return False
    told = latest(stand, place.covered)
    return told is not None and stand.entry == told.entry


def _steps(place: PlaceState, hazard: Hazard, why: list[str]) -> list[str]:
    """What would let the clear hold, where a reading would."""
    steps = [next_step(reason) for reason in why]
    if any(reason == _NOT_READ or reason.startswith(_GIVES) for reason in why):
        unable, last = place.unable.get(hazard), latest_on(hazard, place.covered)
        newer = unable and (last is None or unable.order > last.order)
        doubted = next_step(unable.because) if unable and newer else ""
        steps.append(doubted or how_to_look(hazard, Status.NOT_CHECKED, ""))
    return [step for step in dict.fromkeys(steps) if step]


def _refused(
    core: Core, entry: Clear, hazard: Hazard, why: list[str], steps: Iterable[str] = ()
) -> Core:
    notice = Notice(
        name="clear_does_not_hold",
        hazard=hazard,
        place=entry.place,
        because="The clear does not hold: " + "; ".join(why),
        advice=tuple(steps),
        source=_LEAVE,
    )
    return replace(core, notices=(*core.notices, notice))


def _reasons(
    core: Core, entry: Clear, hazard: Hazard, standing: list[Stand], context: Context
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
        yield from _evidence(core.place(entry.place), hazard, by_reading, context)
        if hazard is Hazard.CONTAINER_HEATING:
            yield from _unsteady(core, entry, by_reading)


def _evidence(
    place: PlaceState, hazard: Hazard, standing: list[Stand], context: Context
) -> Iterator[str]:
    """What readings since it was found leave open: all of it, or a height, a suspect."""
    covered = place.covered
    last = latest_on(hazard, covered)
    if last is None or any(stand.order > last.order for stand in standing):
        yield _NOT_READ
        return
    reasons: list[str] = []
    for stand in standing:
        told = latest(stand, covered)
        if told is not None and told.action >= Action.STOP and told.order >= last.order:
            reasons.append(f"{_GIVES} {told.action.word} itself")
            continue
        needs = needs_after(
            hazard, context.suspects, stand.found.subject, stand.height, to_clear=True
        )
        unmet = [need for need in needs if not _met(need, covered, stand)]
        reasons += open_reasons(unmet, covered, stand.order)
    yield from dict.fromkeys(reasons)


def _met(need: Need, covered: Covered, stand: Stand) -> bool:
    """By a reading since, which gave no stop itself."""
    told = met_by(need, covered, stand.order)
    return told is not None and told.action < Action.STOP


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
    for team in (core.teams[team_id] for team_id in sorted(core.teams)):
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
