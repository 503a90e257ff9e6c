"""One log folded once, and what is kept of each step: actions, and when a finding stood."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import TypeAlias

from screening.incident import Worksheet
from screening.judgement import Token, subject_of
from screening.memory import place_key
from screening.readings import Strike
from screening.state import State, initial_state, step
from screening.verdicts import Action, Finding, Hazard

# What makes a finding the same one in both editions: team, rule, hazard, place.
Key: TypeAlias = tuple[str, int, Hazard, str]


@dataclass(slots=True, kw_only=True)
class Episode:
    """From the entry after which a finding stands to the one after which it does not."""

    key: Key
    first: int  # index of the entry
    entry: str
    at: datetime
    finding: Finding | None  # as it was said first
    strictest: Action
    end: int | None = None  # index of the first entry without it; None to the end

    def meets(self, other: "Episode") -> bool:
        """Whether both stood after one and the same entry."""
        starts_in_time = other.end is None or self.first < other.end
        return starts_in_time and (self.end is None or other.first < self.end)


@dataclass(frozen=True, slots=True, kw_only=True)
class Folded:
    """A whole log, judged once."""

    teams: tuple[str, ...]  # in the document's order
    actions: tuple[tuple[Action, ...], ...]  # after each entry, by team
    episodes: tuple[Episode, ...]  # by their beginning
    not_judged: tuple[str, ...]  # entries that the engine failed on, and still count

    def strictest(self, position: int) -> Action:
        """The strictest action of a team, by its place in `teams`, over the whole log."""
        return max((each[position] for each in self.actions), default=Action.CONTINUE)

    def at_end(self, position: int) -> Action:
        return self.actions[-1][position] if self.actions else Action.CONTINUE


@dataclass(slots=True)
class _Standing:
    """What stands now, entry by entry."""

    said: Mapping[str, frozenset[Token]] = field(default_factory=dict)
    here: dict[str, dict[Key, Episode]] = field(default_factory=dict)
    episodes: list[Episode] = field(default_factory=list)

    def take(
        self,
        index: int,
        entry: str,
        at: datetime,
        state: State,
        found: Iterable[Finding],
    ) -> None:
        """Begin and end episodes by what stands after one entry."""
        for team, tokens in state.said.items():
            if tokens == self.said.get(team):
                continue
            now = _strictest_by_key(team, tokens)
            known = self.here.setdefault(team, {})
            for key in [key for key in known if key not in now]:
                known.pop(key).end = index
            for key, action in now.items():
                if key in known:
                    known[key].strictest = max(known[key].strictest, action)
                    continue
                known[key] = Episode(
                    key=key, first=index, entry=entry, at=at,
                    finding=_said_of(key, found), strictest=action,
                )  # fmt: skip
                self.episodes.append(known[key])
        self.said = state.said


def fold(worksheet: Worksheet) -> Folded:
    """Judge the log once, in its order.

    A fault of the engine at an entry is one of the program: the entry counts as not
    judged, as in a live incident, and no team is at less than caution while it does.
    """
    context = worksheet.context
    state, standing = initial_state(context), _Standing()
    teams = tuple(context.teams)
    actions: list[tuple[Action, ...]] = []
    failed: list[str] = []
    for index, entry in enumerate(worksheet.log):
        try:
            state, found = step(state, entry, context)
        except Exception:
            failed.append(entry.id)
        else:
            standing.take(index, entry.id, entry.at, state, found)
            if failed and isinstance(entry, Strike):
                failed = [each for each in failed if each != entry.entry]
        least = Action.CAUTION if failed else Action.CONTINUE
        actions.append(tuple(max(state.standing[team], least) for team in teams))
    return Folded(
        teams=teams,
        actions=tuple(actions),
        episodes=tuple(standing.episodes),
        not_judged=tuple(failed),
    )


def _strictest_by_key(team: str, tokens: Iterable[Token]) -> dict[Key, Action]:
    found: dict[Key, Action] = {}
    for token in tokens:
        number, hazard, place, action = subject_of(token)
        key = (team, number, hazard, place)
        found[key] = max(found.get(key, action), action)
    return found


def _said_of(key: Key, found: Iterable[Finding]) -> Finding | None:
    """The strictest sentence that was newly said of it at this entry."""
    team, number, hazard, place = key
    said = [
        finding
        for finding in found
        if finding.team == team
        and finding.number == number
        and finding.hazard is hazard
        and place_key(finding.place) == place
    ]
    return max(said, key=lambda finding: finding.action, default=None)
