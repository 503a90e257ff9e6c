"""One log judged twice: as it is, and as it would have been under something else.

Both times the whole log is judged by the same fold, in the engine's own order: by the time
of reading, so that one which came late counts where it was read, and under the set-up that
holds at the end, as the incident itself is judged after a change of its limits. What was
struck is judged until its strike. So the two differ by the change alone. What people were
shown at the time is in the incident's findings, not here.

The cost is two folds and, for each entry, a look at what stands newly: never the log again.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from review.folding import Folded, fold
from review.moves import Move, moves
from screening.incident import Worksheet
from screening.verdicts import Action
from screening.worksheet import parse_context, parse_worksheet

BUILT_IN: Mapping[str, Any] = {"name": "Built-in limits", "version": "1"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What is to be otherwise. All of it in the words of the worksheet document."""

    profile: Mapping[str, Any] | None = None  # takes the place of the incident's own
    limits: Mapping[str, Any] = field(default_factory=dict)  # laid over the profile
    ensembles: Mapping[str, str] = field(default_factory=dict)  # at the start, by team

    def applied_to(self, setup: Mapping[str, Any]) -> dict[str, Any]:
        """The set-up with the change; a team that it has not is left out of account."""
        profile = dict(self.profile or setup.get("profile", BUILT_IN))
        if self.limits:
            profile["limits"] = {**profile.get("limits", {}), **self.limits}
        changed = dict(setup)
        if self.profile is not None or self.limits:
            changed["profile"] = profile
        if self.ensembles:
            changed["teams"] = [
                {**team, "ensemble": self.ensembles.get(team["id"], team["ensemble"])}
                for team in setup["teams"]
            ]
        return changed


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryChange:
    """One entry after which a team was to do something else."""

    index: int  # in the engine's order, from 0
    entry: str
    at: datetime
    team: str
    before: Action
    after: Action


@dataclass(frozen=True, slots=True, kw_only=True)
class TeamOutcome:
    """What one team was told at the strictest, and at the end of the log, both ways."""

    team: str
    strictest_before: Action
    strictest_after: Action
    end_before: Action
    end_after: Action

    @property
    def differs(self) -> bool:
        return (self.strictest_before, self.end_before) != (
            self.strictest_after,
            self.end_after,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """One incident both ways."""

    before: Folded
    after: Folded
    entries: tuple[EntryChange, ...]  # in order, teams in the document's order
    teams: tuple[TeamOutcome, ...]  # every team
    moves: tuple[Move, ...]

    @property
    def differs(self) -> bool:
        """Whether a team's action differs after any entry."""
        return bool(self.entries)

    @property
    def ended_otherwise(self) -> bool:
        """Whether a team's strictest action, or the one at the end, differs."""
        return any(team.differs for team in self.teams)


def what_if(setup: Mapping[str, Any], log: list[Any], change: Change) -> Outcome:
    """Judge a log both ways. `setup` is the worksheet document without its log.

    Raises `WorksheetErrors` where the document is wrong, or cannot be read under the
    change: its limits contradict those of the incident, or the paper chart has no colour
    that was read.
    """
    own = parse_worksheet({**setup, "log": log})
    return compare(own, under(own, setup, log, change))


def under(
    own: Worksheet, setup: Mapping[str, Any], log: list[Any], change: Change
) -> Worksheet:
    """The same log under the change; read anew only where the chart of papers differs."""
    changed = change.applied_to(setup)
    context = parse_context(changed)
    if context.profile.paper_chart == own.context.profile.paper_chart:
        return Worksheet(context=context, log=own.log)
    return parse_worksheet({**changed, "log": log})


def compare(own: Worksheet, other: Worksheet) -> Outcome:
    """Hold a log judged in two ways against each other. Both have the same entries."""
    before = fold(own)
    same = other.context == own.context and other.log == own.log
    after = before if same else fold(other)
    return Outcome(
        before=before,
        after=after,
        entries=tuple(_entries(own, before, after)) if after is not before else (),
        teams=tuple(
            _team(position, name, before, after)
            for position, name in enumerate(before.teams)
        ),
        moves=moves(before, after) if after is not before else (),
    )


def _entries(own: Worksheet, before: Folded, after: Folded) -> list[EntryChange]:
    found = []
    for index, (was, would_be) in enumerate(
        zip(before.actions, after.actions, strict=True)
    ):
        if was == would_be:
            continue
        entry = own.log[index]
        found += [
            EntryChange(
                index=index, entry=entry.id, at=entry.at, team=team,
                before=old, after=new,
            )
            for team, old, new in zip(before.teams, was, would_be, strict=True)
            if old is not new
        ]  # fmt: skip
    return found


def _team(position: int, name: str, before: Folded, after: Folded) -> TeamOutcome:
    return TeamOutcome(
        team=name,
        strictest_before=before.strictest(position),
        strictest_after=after.strictest(position),
        end_before=before.at_end(position),
        end_after=after.at_end(position),
    )
