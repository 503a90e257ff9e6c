"""What became of each Stop and Withdraw: heard, acted on, lifted, let be.

As the sheet makes alarms: what one rule says to one team of one hazard at one place is
one, however often it is read again, until it ends or grows worse. A team that is outside
answers it by staying there.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Final, TypeAlias

from screening.memory import place_key
from screening.verdicts import Action, Hazard

Stay: TypeAlias = tuple[datetime, datetime | None]  # in, out

RAISED: Final = "raised"
ACKNOWLEDGED: Final = "acknowledged"
ACTED_ON: Final = "acted_on"
CLEARED: Final = "cleared"
# House figure, no source: what was heard and neither answered nor lifted for so long was
# let be.
LET_BE_AFTER: Final = timedelta(minutes=10)
# A bottle is one team's own, wherever that team stands.
_OF_ONE_TEAM: Final = frozenset({Hazard.LOW_AIR.value})


class Outcome(StrEnum):
    """What became of a Stop or a Withdraw."""

    ACTED_ON = "acted_on"  # the team left, changed, ventilated, answered
    LIFTED = "lifted"  # cleared with a reason before anything was done
    # Heard, and nothing of both for `LET_BE_AFTER`; or the team went in while it stood.
    LET_BE = "let_be"
    STAYED_OUT = "stayed_out"  # the team was outside and did not go in
    OPEN = "open"  # none of these by the end


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """One step in the life of a finding."""

    kind: str  # RAISED, ACKNOWLEDGED, ACTED_ON or CLEARED
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingRow:
    """A finding as it was kept, with its life."""

    entry: str  # key of the log's row that raised it
    team: str
    rule: str
    number: int
    hazard: str
    action: Action
    said_at: datetime
    place: str = ""
    subject: str = ""
    superseded: bool = False
    turns: tuple[Turn, ...] = ()  # in the order in which they were kept

    def first(self, kind: str) -> datetime | None:
        return min((turn.at for turn in self.turns if turn.kind == kind), default=None)

    @property
    def cleared_at(self) -> datetime | None:
        """When it was cleared, unless it was raised again since; by the order of turns."""
        ends = [turn for turn in self.turns if turn.kind in (RAISED, CLEARED)]
        return ends[-1].at if ends and ends[-1].kind == CLEARED else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """A Stop or Withdraw that one rule said to one team, and what followed.

    However often it was said again while it stood, it is one. Seconds from when it was
    first said; None where it did not happen.
    """

    entry: str  # that it was first said at
    team: str
    rule: str
    number: int
    hazard: str
    place: str
    action: Action
    said_at: datetime
    findings: int  # how often it was said
    inside: bool  # whether the team was, when it was first said
    heard_after: float | None
    acted_after: float | None
    lifted_after: float | None
    outcome: Outcome


def earliest(times: Iterable[datetime | None]) -> datetime | None:
    """The first of the moments that are known; None where none is."""
    return min((at for at in times if at is not None), default=None)


def _seconds(since: datetime, until: datetime | None) -> float | None:
    return None if until is None else (until - since).total_seconds()


@dataclass(slots=True)
class _Alarm:
    """What one rule has to say to one team of one cause, however often it says it."""

    first: FindingRow
    findings: list[FindingRow]

    def takes(self, one: FindingRow) -> bool:
        """Whether a later finding is of this alarm: no worse, and it has not ended."""
        ended = self.lifted
        return one.action <= self.first.action and (
            ended is None or one.said_at < ended
        )

    def earliest(self, kind: str) -> datetime | None:
        return earliest(one.first(kind) for one in self.findings)

    @property
    def lifted(self) -> datetime | None:
        """When the last of it was cleared; None while any stands."""
        times = [one.cleared_at for one in self.findings]
        known = [at for at in times if at is not None]
        return max(known) if len(known) == len(times) else None


def _alarms(found: Iterable[FindingRow]) -> list[_Alarm]:
    """As the sheet makes alarms: what was heard once is not to be heard again until it
    ends or grows worse. A statement that is no rule (number 0) asks for nothing new.
    """
    asks = (one for one in found if one.action >= Action.STOP and one.number)
    alarms: list[_Alarm] = []
    last: dict[tuple[str, ...], _Alarm] = {}
    for one in sorted(asks, key=lambda each: (each.said_at, each.entry, each.team)):
        where = "" if one.hazard in _OF_ONE_TEAM else place_key(one.place)
        key = (one.hazard, where, one.team, one.rule, one.subject)
        known = last.get(key)
        if known is not None and known.takes(one):
            known.findings.append(one)
        else:
            last[key] = _Alarm(first=one, findings=[one])
            alarms.append(last[key])
    return alarms


def answers_of(
    found: Iterable[FindingRow], stays: Mapping[str, Sequence[Stay]], until: datetime
) -> Iterator[Answer]:
    """One for each alarm, in the order in which they were first said.

    `stays` are each team's, in order; `until` is where the record ends.
    """
    for alarm in _alarms(found):
        one = alarm.first
        inside, entered = _where(one.said_at, stays.get(one.team, ()))
        heard, acted = alarm.earliest(ACKNOWLEDGED), alarm.earliest(ACTED_ON)
        yield Answer(
            entry=one.entry,
            team=one.team,
            rule=one.rule,
            number=one.number,
            hazard=one.hazard,
            place=one.place,
            action=one.action,
            said_at=one.said_at,
            findings=len(alarm.findings),
            inside=inside,
            heard_after=_seconds(one.said_at, heard),
            acted_after=_seconds(one.said_at, acted),
            lifted_after=_seconds(one.said_at, alarm.lifted),
            outcome=(
                _of_inside(heard, acted, alarm.lifted, until)
                if inside
                else _of_outside(entered, acted, alarm.lifted)
            ),
        )


def _of_inside(
    heard: datetime | None,
    acted: datetime | None,
    lifted: datetime | None,
    until: datetime,
) -> Outcome:
    answered = earliest((acted, lifted))
    if heard is not None and (answered or until) - heard >= LET_BE_AFTER:
        return Outcome.LET_BE
    if answered is None:
        return Outcome.OPEN
    return Outcome.ACTED_ON if answered == acted else Outcome.LIFTED


def _where(at: datetime, stays: Sequence[Stay]) -> tuple[bool, datetime | None]:
    """Whether a team is inside at a moment, and when it goes in next."""
    inside = any(came <= at and (left is None or at < left) for came, left in stays)
    later = (came for came, _ in stays if came > at)
    return inside, min(later, default=None)


def _of_outside(
    entered: datetime | None, acted: datetime | None, lifted: datetime | None
) -> Outcome:
    answered = earliest((acted, lifted))
    if entered is not None and (answered is None or entered < answered):
        return Outcome.LET_BE
    if answered is None:
        return Outcome.STAYED_OUT
    return Outcome.ACTED_ON if answered == acted else Outcome.LIFTED
