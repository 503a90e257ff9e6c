"""One incident over its time: what was read, decided and shown, as plain values.

A mark is one record of the log at its own time; one that was recorded later carries both
times. Bands are the verdicts as they were shown, with what was known then: a reading that
came late changes them from its recording on. Times are aware; nothing here knows now.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import StrEnum
from itertools import zip_longest
from types import MappingProxyType
from typing import Any, Final

from review.answers import Answer, earliest
from review.channels import Figure, Limit, limits_of, rank, title_of
from screening.profile import Profile
from screening.readings import Entry
from screening.verdicts import Action

# Common practice, no source: what reached the record later than this came late.
LATE_AFTER: Final = timedelta(minutes=1)


class Group(StrEnum):
    """What a record is of, as the filter of the page has it."""

    PAPERS = "papers"
    METERS = "meters"
    SIGNS = "signs"
    AIR = "air"
    DECISIONS = "decisions"
    WRITTEN = "written"

    @property
    def label(self) -> str:
        return _GROUP_LABELS[self]


_GROUP_LABELS: Final = {
    Group.PAPERS: "Papers",
    Group.METERS: "Meters",
    Group.SIGNS: "Signs and bump tests",
    Group.AIR: "In, out, air, PAR",
    Group.DECISIONS: "Decisions",
    Group.WRITTEN: "Notes, plan, record",
}
_KINDS: Final[Mapping[Group, tuple[str, ...]]] = MappingProxyType(
    {
        Group.PAPERS: ("ph_paper", "ki_starch_paper", "fluoride_paper"),
        Group.METERS: ("gas_meter", "thermal_imager", "dosimeter"),
        Group.SIGNS: ("sign", "bump_test"),
        Group.AIR: ("enter", "exit", "par", "air_check"),
        Group.DECISIONS: (
            "order", "mayday", "mayday_over", "ventilate", "clear", "change_ensemble",
            "acknowledge", "heard", "strike",
        ),
    }
)  # fmt: skip
_GROUP_OF: Final = {kind: group for group, kinds in _KINDS.items() for kind in kinds}


def group_of(kind: str) -> Group:
    """The group of a kind of record; what is none of the others was written."""
    return _GROUP_OF.get(kind, Group.WRITTEN)


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One record of the log."""

    seq: int
    at: datetime  # when it was observed
    recorded_at: datetime
    kind: str
    words: str  # the whole line
    short: str  # the number or the word that stands beside the mark
    team: str = ""  # id; "" where it is of none
    place: str = ""
    author: str = ""
    action: Action | None = None  # of its own findings; None for what is no reading
    struck: str = ""  # why it was put right, and by whom
    figures: tuple[Figure, ...] = ()

    @property
    def group(self) -> Group:
        return group_of(self.kind)

    @property
    def is_late(self) -> bool:
        return self.recorded_at - self.at > LATE_AFTER


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """One verdict from a moment to another."""

    action: Action
    since: datetime
    until: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class TeamLine:
    """One team over the time."""

    key: str
    name: str
    bands: tuple[Band, ...] = ()
    inside: tuple[tuple[datetime, datetime], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A Stop or a Withdraw of one record to one team, and when it was answered."""

    seq: int
    team: str
    action: Action
    at: datetime  # when it was first shown
    heard_at: datetime | None = None
    acted_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Edition:
    """Which limits held from a moment on, until the next edition."""

    since: datetime
    name: str
    profile: Profile


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One limit over the stretch in which it held."""

    limit: Limit
    since: datetime
    until: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Channel:
    """One channel of an instrument: every figure with its record, and its limits."""

    title: str
    unit: str
    points: tuple[tuple[Mark, Figure], ...]
    lines: tuple[Line, ...]

    @property
    def runs(self) -> tuple[tuple[tuple[Mark, Figure], ...], ...]:
        """The points that one line joins: of one team, place and instrument; no struck
        ones, which stand alone."""
        runs: dict[tuple[str, str, str], list[tuple[Mark, Figure]]] = {}
        for mark, figure in self.points:
            if not mark.struck:
                key = (figure.team, figure.place, figure.instrument)
                runs.setdefault(key, []).append((mark, figure))
        return tuple(tuple(run) for run in runs.values())


@dataclass(frozen=True, slots=True, kw_only=True)
class Timeline:
    """What is drawn and what stands in the table beneath."""

    start: datetime
    end: datetime
    teams: tuple[TeamLine, ...] = ()
    marks: tuple[Mark, ...] = ()  # in order of time
    editions: tuple[Edition, ...] = ()  # the first holds from the beginning
    asked: tuple[Asked, ...] = ()  # in order of time

    def of(self, *groups: Group) -> tuple[Mark, ...]:
        return tuple(mark for mark in self.marks if mark.group in groups)

    @property
    def channels(self) -> tuple[Channel, ...]:
        """Each channel that was read, those of a four-gas meter first."""
        points: dict[str, list[tuple[Mark, Figure]]] = {}
        for mark in self.marks:
            for figure in mark.figures:
                # Two units of one container are two charts.
                points.setdefault(figure.chart + figure.unit, []).append((mark, figure))
        return tuple(_channel(points[key], self) for key in sorted(points, key=rank))


def _channel(points: list[tuple[Mark, Figure]], timeline: Timeline) -> Channel:
    first = points[0][1]
    title, unit = title_of(first.chart)
    return Channel(
        title=title,
        unit=first.unit or unit,
        points=tuple(points),
        lines=tuple(_lines(first.chart, timeline)),
    )


def _lines(chart: str, timeline: Timeline) -> Iterable[Line]:
    """The limits of every edition while it held; one that did not change goes on."""
    open_lines: list[Line] = []
    for edition, later in zip_longest(timeline.editions, timeline.editions[1:]):
        end = later.since if later else timeline.end
        since, until = max(edition.since, timeline.start), min(end, timeline.end)
        if since >= until:
            continue
        for limit in limits_of(chart, edition.profile):
            known = next(
                (
                    number
                    for number, line in enumerate(open_lines)
                    if line.limit == limit and line.until == since
                ),
                None,
            )
            if known is None:
                open_lines.append(Line(limit=limit, since=since, until=until))
            else:
                open_lines[known] = replace(open_lines[known], until=until)
    return open_lines


def bands(
    samples: Iterable[tuple[datetime, Action]], end: datetime
) -> tuple[Band, ...]:
    """One team's verdict at some moments, in order, as stretches up to `end`."""
    changes: list[tuple[datetime, Action]] = []
    for at, action in samples:
        if not changes or changes[-1][1] is not action:
            changes.append((at, action))
    if not changes:
        return ()
    ends = [*(at for at, _ in changes[1:]), max(end, changes[-1][0])]
    return tuple(
        Band(action=action, since=at, until=until)
        for (at, action), until in zip(changes, ends, strict=True)
    )


# --- What asked to be heard -----------------------------------------------------------


def asked_of(answers: Iterable[Answer], seqs: Mapping[str, int]) -> tuple[Asked, ...]:
    """One for each record and team, however many rules spoke: the strictest, and the
    first answer to any. `seqs` are the numbers of the records by their keys."""
    found: dict[tuple[str, str], Asked] = {}
    for answer in answers:
        if answer.entry not in seqs:
            continue
        one = Asked(
            seq=seqs[answer.entry],
            team=answer.team,
            action=answer.action,
            at=answer.said_at,
            heard_at=_after(answer.said_at, answer.heard_after),
            acted_at=_after(answer.said_at, answer.acted_after),
        )
        known = found.get((answer.entry, answer.team))
        found[answer.entry, answer.team] = _joined(known, one) if known else one
    return tuple(sorted(found.values(), key=lambda one: (one.at, one.seq, one.team)))


def _joined(one: Asked, other: Asked) -> Asked:
    return replace(
        one,
        action=max(one.action, other.action),
        at=min(one.at, other.at),
        heard_at=earliest((one.heard_at, other.heard_at)),
        acted_at=earliest((one.acted_at, other.acted_at)),
    )


def _after(at: datetime, seconds: float | None) -> datetime | None:
    return None if seconds is None else at + timedelta(seconds=seconds)


# --- The word beside a mark -----------------------------------------------------------


def short_of(entry: Entry) -> str:
    """The number or the word that says a record on the chart, without its unit's name."""
    writer = _SHORT.get(entry.kind)
    return writer(entry) if writer else entry.kind.replace("_", " ")


def _ph(entry: Any) -> str:
    if entry.bleached:
        return "white"
    if entry.low == entry.high:
        return f"{entry.low}"
    return f"{entry.low}\N{EN DASH}{entry.high}"


def _ki(entry: Any) -> str:
    words = {"no_change": "no change", "blue_black": "blue-black"}
    return words.get(entry.result, "line at edge")


def _fluoride(entry: Any) -> str:
    return "changed" if entry.result == "changed" else "no change"


def _air(entry: Any) -> str:
    shown: str = entry.shown.get("pressure_psi") or entry.shown.get("pressure", "")
    return shown or f"{entry.pressure_psi} psi"


def _par(entry: Any) -> str:
    return f"PAR, {len(entry.unanswered)} missing" if entry.unanswered else "PAR"


_SHORT: Final[Mapping[str, Callable[[Any], str]]] = MappingProxyType(
    {
        "ph_paper": _ph,
        "ki_starch_paper": _ki,
        "fluoride_paper": _fluoride,
        "air_check": _air,
        "par": _par,
        "enter": lambda entry: "in",
        "exit": lambda entry: "out",
        "sign": lambda entry: entry.what.replace("_", " "),
        "bump_test": lambda entry: "passed" if entry.passed else "failed",
        "acknowledge": lambda entry: "heard",
        "strike": lambda entry: "put right",
        "clear": lambda entry: "clear",
        "change_ensemble": lambda entry: "ensemble",
    }
)
