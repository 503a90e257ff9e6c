"""The fold: one entry after another, each step at the same cost however long the log.

Order. Entries are judged by `at`, then by `id`, whatever their order of arrival: one that
comes late is put in its place and what came after it is judged again. The past is a linked
list; every sixteenth link keeps the state before it, so that going back is cheap.

Put right. From a `strike` on, everything is judged without the struck entry, and from a
failed bump test on, without trust in that instrument's quiet readings since it last
passed. Both go back to the first entry concerned and judge on from there; what stood
before is not rewritten.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import TypeAlias

from immutables import Map

from screening.apply import apply
from screening.incident import Context
from screening.judgement import Standing, Token, findings_of, standing_for, strictest
from screening.memory import Core, Notice, Order, first_core
from screening.readings import AirCheck, BumpTest, Dosimeter, Entry, Strike
from screening.verdicts import Action, Finding, Hazard

KEEP_EVERY = 16
FIRST: Order = (datetime(1, 1, 2, tzinfo=UTC), "")

# Instrument, after which order, up to which order: quiet readings between cannot tell.
Distrust: TypeAlias = frozenset[tuple[str, Order, Order]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """One entry of the past."""

    entry: Entry
    index: int
    before: "Core | None"  # the state before the entry, on every sixteenth link
    older: "Link | None"


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """All that the engine knows after some entries. Immutable."""

    core: Core
    past: Link | None = None
    orders: Map[str, Order] = field(default_factory=Map)  # of every entry, by id
    strikes: tuple[Strike, ...] = ()  # in order
    bump_tests: tuple[BumpTest, ...] = ()  # in order
    struck: frozenset[str] = frozenset()
    distrust: Distrust = frozenset()
    said: Mapping[str, frozenset[Token]] = field(default_factory=dict)
    standing: Mapping[str, Action] = field(default_factory=dict)

    @property
    def last(self) -> Order:
        """The order of the newest entry; long ago where there is none."""
        return self.past.entry.order if self.past is not None else FIRST


def initial_state(context: Context) -> State:
    """Before the first entry."""
    core = first_core(context)
    return State(core=core, standing=dict.fromkeys(core.teams, Action.CONTINUE))


def step(
    state: State, entry: Entry, context: Context
) -> tuple[State, tuple[Finding, ...]]:
    """The state after one entry, and what is newly found by it, for every team.

    Pure. A finding is given again where the entry found it again; what merely goes on
    standing is not. An entry that comes late is judged at its place in time, and its
    findings are those that stand newly at the end. Raises ValueError for an id seen before.
    """
    if entry.id in state.orders:
        raise ValueError(f"an entry with id {entry.id!r} is there already")
    if entry.order < state.last:
        state = _insert(state, entry, context)
        at = state.last[0]
    else:
        state = _append(state, entry, context)
        at = entry.at
    return _say(state, entry, at, context)


def replay(log: Iterable[Entry], context: Context) -> State:
    """The state after a whole log."""
    state = initial_state(context)
    for entry in sorted(log, key=lambda item: item.order):
        state, _ = step(state, entry, context)
    return state


def _append(state: State, entry: Entry, context: Context) -> State:
    state = _push(_note(state, entry), entry, context)
    if isinstance(entry, Strike | BumpTest):
        state = _revise(state, context)
    return state


def _note(state: State, entry: Entry) -> State:
    """What the state keeps of every entry beside the past itself."""
    state = replace(state, orders=state.orders.set(entry.id, entry.order))
    if isinstance(entry, Strike):
        return replace(state, strikes=_in_order(state.strikes, entry))
    if isinstance(entry, BumpTest):
        return replace(state, bump_tests=_in_order(state.bump_tests, entry))
    return state


def _in_order(known: tuple, entry: Entry) -> tuple:  # type: ignore[type-arg]
    return tuple(sorted((*known, entry), key=lambda item: item.order))


def _push(state: State, entry: Entry, context: Context) -> State:
    """The entry applied, unless it is struck, and kept in the past."""
    index = state.past.index + 1 if state.past is not None else 0
    link = Link(
        entry=entry,
        index=index,
        before=state.core if index % KEEP_EVERY == 0 else None,
        older=state.past,
    )
    if entry.id in state.struck:
        core = replace(state.core, notices=())
    else:
        then = context.under(entry.at)
        core = apply(state.core, entry, then, distrusted=distrusted(state, entry))
    return replace(state, core=core, past=link)


def distrusted(state: State, entry: Entry) -> bool:
    return any(
        name == entry.instrument and after < entry.order < until
        for name, after, until in state.distrust
    )


def _back_to(state: State, order: Order, context: Context) -> tuple[State, list[Entry]]:
    """The state before the first entry at or after `order`, and the entries from there."""
    later: list[Entry] = []
    link = state.past
    while link is not None and link.entry.order >= order:
        later.append(link.entry)
        link = link.older
    again: list[Entry] = []
    base = first_core(context)
    while link is not None:
        again.append(link.entry)
        if link.before is not None:
            base, link = link.before, link.older
            break
        link = link.older
    state = replace(state, core=base, past=link)
    for entry in reversed(again):
        state = _push(state, entry, context)
    later.reverse()
    return state, later


def _insert(state: State, entry: Entry, context: Context) -> State:
    """A late entry at its place, and everything after it judged again."""
    state, later = _back_to(state, entry.order, context)
    state = _note(state, entry)
    for item in (entry, *later):
        state = _push(state, item, context)
    return _revise(state, context)


def _revise(state: State, context: Context) -> State:
    """Judge again from the first entry that a strike or a bump test now concerns."""
    struck = _struck(state.strikes)
    distrust = _intervals(state.bump_tests, struck, context)
    changed = [
        state.orders[name] for name in struck ^ state.struck if name in state.orders
    ]
    changed += [after for _, after, _ in distrust ^ state.distrust]
    state = replace(state, struck=struck, distrust=distrust)
    if not changed:
        return state
    notices = state.core.notices
    state, later = _back_to(state, min(changed), context)
    for entry in later:
        state = _push(state, entry, context)
    return replace(state, core=replace(state.core, notices=notices))


def _struck(strikes: tuple[Strike, ...]) -> frozenset[str]:
    """The ids struck by strikes that are not struck themselves; a later one governs."""
    struck: set[str] = set()
    for strike in reversed(strikes):
        if strike.id not in struck:
            struck.add(strike.entry)
    return frozenset(struck)


def _intervals(
    tests: tuple[BumpTest, ...], struck: frozenset[str], context: Context
) -> Distrust:
    """For every failed bump test, from the last passed one before it."""
    passed: dict[str, Order] = {}
    of_set_up = {
        item.id: (item.last_bump_test, "")
        for item in context.instruments.values()
        if item.last_bump_test is not None
    }
    found: set[tuple[str, Order, Order]] = set()
    for test in tests:
        if test.id in struck:
            continue
        if test.passed:
            passed[test.instrument] = test.order
        else:
            after = passed.get(test.instrument, FIRST)
            before = of_set_up.get(test.instrument, FIRST)
            if before < test.order:  # one of afterwards takes no distrust away
                after = max(after, before)
            found.add((test.instrument, after, test.order))
    return frozenset(found)


def _say(
    state: State, entry: Entry, at: datetime, context: Context
) -> tuple[State, tuple[Finding, ...]]:
    """What is new after the entry, team by team, the entry's own team first."""
    said, standing, context = {}, {}, context.under(at)
    findings: list[Finding] = []
    # In the order of the set-up: a map's own order changes from one start to the next.
    order = sorted(context.teams, key=lambda team_id: team_id != entry.team)
    for team in (state.core.teams[team_id] for team_id in order):
        stands = standing_for(state.core, team, at, context)
        standing[team.id] = strictest(stands)
        before = state.said.get(team.id, frozenset())
        new = [
            item
            for item in stands
            if item.token not in before
            or item.entry == entry.id
            or (team.id == entry.team and _is_about(entry, item))
        ]
        said[team.id] = frozenset(item.token for item in stands)
        findings += findings_of(new, team.id, team.place)
        findings += _notices(state.core.notices, entry, team.id, stands)
    return replace(state, said=said, standing=standing), tuple(findings)


def _is_about(entry: Entry, item: Standing) -> bool:
    """Whether a finding on the team itself answers this very reading."""
    if isinstance(entry, Dosimeter):
        return item.found.hazard is Hazard.GAMMA_RADIATION and not item.entry
    if isinstance(entry, AirCheck):
        return item.found.hazard is Hazard.LOW_AIR and not item.entry
    return False


def _notices(
    notices: tuple[Notice, ...], entry: Entry, team: str, stands: list[Standing]
) -> Iterable[Finding]:
    """What is said of the entry itself; it carries the action that stands anyway."""
    for notice in notices:
        if entry.team and team != entry.team:
            continue
        action = max(
            (s.action for s in stands if s.found.hazard is notice.hazard),
            default=Action.CONTINUE,
        )
        yield Finding(
            rule=notice.name,
            number=0,
            hazard=notice.hazard,
            team=team,
            place=notice.place,
            action=action,
            because=notice.because,
            advice=notice.advice,
            source=notice.source,
            entry=entry.id,
            at=entry.at,
        )
