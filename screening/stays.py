"""How long each team was inside: each time in the suit, from going in to coming out."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from screening.crews import move
from screening.incident import Context
from screening.memory import first_core
from screening.readings import Entry


@dataclass(frozen=True, slots=True, kw_only=True)
class Stay:
    """`until` is None while the team is still inside."""

    since: datetime
    until: datetime | None = None

    def lasted(self, at: datetime) -> timedelta:
        return (self.until or at) - self.since


def stays(entries: Iterable[Entry], context: Context) -> dict[str, tuple[Stay, ...]]:
    """Every team's stays, by the entries that stand in order of time.

    In and out are those of the engine: in by an `enter`, or by the first reading of a team
    that has logged none.
    """
    core = first_core(context)
    found: dict[str, list[Stay]] = {team: [] for team in context.teams}
    for entry in entries:
        core = move(core, entry, context)
        team = core.teams.get(entry.team)
        if team is None:
            continue
        known = found[team.id]
        is_open = bool(known) and known[-1].until is None
        if team.inside_since is not None and not is_open:
            known.append(Stay(since=team.inside_since))
        elif team.inside_since is None and is_open:
            known[-1] = replace(known[-1], until=entry.at)
    return {team: tuple(known) for team, known in found.items()}
