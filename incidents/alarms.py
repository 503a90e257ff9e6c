"""What has to be heard: one alarm for each cause and place, whatever number of readings.

After the principles of ISA-18.2 and IEC 62682 (from memory of public summaries): an alarm
asks for an answer; ten readings of one cause are one alarm that counts them; hearing it
hears all of them; what is worse, or of something else, or holds for another team, is to be
heard anew; an alarm ends with its cause and not by being heard.

Only Stop and Withdraw are alarms. What an entry raised is heard by an `acknowledge` of
that entry; what time alone raised has no entry and is heard by a record of its own.
"""

import hashlib
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import Final, TypeAlias

from incidents.commands import MAYDAY_STANDS
from screening.memory import place_key
from screening.verdicts import (
    Action,
    Assessment,
    Clocks,
    Finding,
    Hazard,
    TeamAssessment,
)

ROLL_CALL: Final = "roll_call_overdue"
_NEVER: Final = datetime.min.replace(tzinfo=UTC)
# A bottle is one team's own, wherever that team stands.
OF_ONE_TEAM: Final = frozenset({Hazard.LOW_AIR.value})
Cause: TypeAlias = tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One thing to be heard: for whom, of what, how severe."""

    team: str
    rule: str
    subject: str
    action: Action
    since: str = (
        ""  # for what time raised: what it counts from, so that it can come anew
    )


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Hearing:
    """Who heard it, when; the later is the greater."""

    at: datetime
    by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A finding that is kept: not superseded, not cleared, at Stop or more."""

    pk: int
    entry: str
    hazard: str
    place: str
    item: Item
    observed_at: datetime
    raised_at: datetime
    heard: Hearing | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """What the database has of findings and of who heard them."""

    rows: tuple[Row, ...] = ()
    by_time: Mapping[Item, Hearing] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Alarm:
    """All that stands of one cause at one place."""

    key: str
    action: Action
    hazard: Hazard
    place: str
    teams: tuple[str, ...]
    because: str  # the latest figure of the most severe
    advice: tuple[str, ...]
    entries: tuple[
        str, ...
    ]  # ids of the readings, oldest first; () where time raised it
    first_at: datetime | None
    last_at: datetime | None
    items: tuple[Item, ...]
    unheard: tuple[Item, ...]
    unheard_since: datetime | None
    heard: Hearing | None  # the last time that any of it was heard
    is_mayday: bool

    @property
    def count(self) -> int:
        return len(self.entries)

    @property
    def order(self) -> tuple[object, ...]:
        """By urgency; what came first stays first, so that nothing moves."""
        since = self.unheard_since or self.last_at or _NEVER
        return (not self.unheard, not self.is_mayday, -self.action, since, self.key)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """One finding that is part of an alarm."""

    item: Item
    finding: Finding
    clocks: Clocks


def alarms_of(view: Assessment, kept: Kept) -> tuple[Alarm, ...]:
    """The alarms that stand, the most urgent first."""
    found: dict[Cause, list[_Found]] = defaultdict(list)
    for team in view.teams:
        for one in _of_team(team):
            found[cause_of(one.finding)].append(one)
    rows: dict[Cause, list[Row]] = defaultdict(list)
    for row in kept.rows:
        rows[_cause_of_row(row)].append(row)
    alarms = (
        _timed(cause, of, kept, view.at)
        if cause[0] in ("time", "mayday")
        else _read(cause, of, rows[cause], kept)
        for cause, of in found.items()
    )
    return tuple(sorted(alarms, key=lambda alarm: alarm.order))


def _of_team(team: TeamAssessment) -> Iterable[_Found]:
    mayday = next((f.at for f in team.findings if f.rule == MAYDAY_STANDS), None)
    for finding in team.findings:
        if finding.action < Action.STOP:
            continue
        unanswered = finding.rule == ROLL_CALL and finding.subject == "unanswered"
        if unanswered and mayday is not None and team.clocks.last_par == mayday:
            continue  # the PAR of the Mayday itself: that is the alarm
        yield _Found(
            item=item_of(finding, team.clocks), finding=finding, clocks=team.clocks
        )


def cause_of(finding: Finding) -> Cause:
    """What makes findings one alarm."""
    if finding.rule == MAYDAY_STANDS:
        return ("mayday",)
    if not finding.entry:
        return ("time", finding.team, finding.rule, finding.subject)
    return _placed(finding.hazard.value, finding.place, finding.team)


def _placed(hazard: str, place: str, team: str) -> Cause:
    if hazard in OF_ONE_TEAM:
        return ("team", hazard, team)
    return ("place", hazard, place_key(place))


def _cause_of_row(row: Row) -> Cause:
    return _placed(row.hazard, row.place, row.item.team)


def rows_to_hear(alarm: Alarm, items: Iterable[Item], kept: Kept) -> list[Row]:
    """The kept findings that are heard with these items of the alarm, oldest first."""
    wanted = tuple(items)
    rows = (
        row
        for row in kept.rows
        if row.heard is None
        and _key(_cause_of_row(row)) == alarm.key
        and any(_same(item, row.item) for item in wanted)
    )
    return sorted(rows, key=lambda row: (row.observed_at, row.pk))


def _key(cause: Cause) -> str:
    return hashlib.sha256("|".join(cause).encode()).hexdigest()[:16]


def item_of(finding: Finding, clocks: Clocks) -> Item:
    return Item(
        team=finding.team,
        rule=finding.rule,
        subject=finding.subject,
        action=finding.action,
        since="" if finding.entry else _counts_from(finding, clocks),
    )


def _counts_from(finding: Finding, clocks: Clocks) -> str:
    """From when time counts: with a new start it is a new alarm."""
    start = finding.at
    if start is None and finding.hazard is Hazard.LOW_AIR:
        start = max((air.read_at for air in clocks.air if air.read_at), default=None)
    if start is None and finding.hazard is Hazard.ACCOUNTABILITY:
        start = _last_answer(clocks)
    start = start or clocks.inside_since
    return start.isoformat() if start else ""


def _last_answer(clocks: Clocks) -> datetime | None:
    return max(filter(None, (clocks.inside_since, clocks.last_par)), default=None)


def _timed(cause: Cause, found: list[_Found], kept: Kept, at: datetime) -> Alarm:
    """An alarm that no entry raised."""
    heard = {one.item: _heard_by_time(one.item, kept) for one in found}
    came = [_came_at(one, at) for one in found if heard[one.item] is None]
    return _alarm(cause, found, heard, (), min(came, default=None))


def _heard_by_time(item: Item, kept: Kept) -> Hearing | None:
    same = (heard for known, heard in kept.by_time.items() if _same(known, item))
    return max(same, default=None)


def _came_at(one: _Found, at: datetime) -> datetime:
    """When it came to stand by time alone, as far as the clocks tell."""
    finding, clocks = one.finding, one.clocks
    if finding.at is not None:
        return finding.at
    if finding.hazard is Hazard.LOW_AIR and clocks.turn_around_due is not None:
        return clocks.turn_around_due
    if finding.rule == ROLL_CALL:
        last = _last_answer(clocks)
        if finding.subject == "par" and clocks.par_due is not None and last is not None:
            return clocks.par_due + (clocks.par_due - last)  # at twice the interval
        return clocks.last_par or at
    return at


def _read(cause: Cause, found: list[_Found], rows: list[Row], kept: Kept) -> Alarm:
    """An alarm that readings raised."""
    heard = {
        one.item: _heard_of_rows(one.item, rows) or _heard_by_time(one.item, kept)
        for one in found
    }
    open_rows = [
        row.raised_at
        for row in rows
        if any(heard[item] is None and _same(row.item, item) for item in heard)
    ]
    causing = {(item.rule, item.subject) for item in heard}
    of = [row for row in rows if (row.item.rule, row.item.subject) in causing]
    return _alarm(cause, found, heard, of, min(open_rows, default=None))


def _same(known: Item, item: Item) -> bool:
    """The same, and no milder."""
    return known.action >= item.action and replace(known, action=item.action) == item


def _heard_of_rows(item: Item, rows: Iterable[Row]) -> Hearing | None:
    same = (row.heard for row in rows if row.heard and _same(row.item, item))
    return max(same, default=None)


def _alarm(
    cause: Cause,
    found: list[_Found],
    heard: Mapping[Item, Hearing | None],
    rows: Iterable[Row],
    since: datetime | None,
) -> Alarm:
    unheard = tuple(item for item, hearing in heard.items() if hearing is None)
    shown = max(
        (one.finding for one in found if not unheard or one.item in unheard),
        key=lambda finding: (finding.action, finding.at or _NEVER),
    )
    entries = {row.entry: row.observed_at for row in rows}
    last = max((hearing for hearing in heard.values() if hearing), default=None)
    return Alarm(
        key=_key(cause),
        action=shown.action,
        hazard=shown.hazard,
        place=shown.place,
        teams=tuple(dict.fromkeys(item.team for item in heard)),
        because=shown.because,
        advice=shown.advice,
        entries=tuple(sorted(entries, key=lambda key: (entries[key], key))),
        first_at=min(entries.values(), default=shown.at),
        last_at=max(entries.values(), default=shown.at),
        items=tuple(heard),
        unheard=unheard,
        unheard_since=since,
        heard=last,
        is_mayday=shown.rule == MAYDAY_STANDS,
    )


def named(alarm: Alarm) -> str:
    """Such as "Acid vapour, tank room"."""
    if alarm.is_mayday:
        return "Mayday"
    return f"{alarm.hazard.label}, {alarm.place}" if alarm.place else alarm.hazard.label
