"""What a report is made of: plain frozen values, no model and no engine state.

Times are aware; `ReportData.zone` says in which zone they are printed. Every text may come
from people and is printed through `reports.text`. `reports.from_worksheet` makes these
values from a worksheet document.
"""

from dataclasses import dataclass
from datetime import datetime, tzinfo
from decimal import Decimal

from screening.verdicts import Action, Status


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """One labelled line of the front page."""

    label: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingLine:
    """One rule's statement as it stood."""

    action: Action
    hazard: str
    place: str
    because: str
    advice: tuple[str, ...]
    source: str
    number: int = 0  # of the rule; 0 for statements that are no rule
    at: datetime | None = None  # when it was raised last


@dataclass(frozen=True, slots=True, kw_only=True)
class CoverageLine:
    """What is known of one hazard at one place, for one team."""

    hazard: str
    status: Status
    because: str
    next_check: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceCoverage:
    """Coverage of one place; `team` is "" where no team stood there at the end."""

    team: str
    place: str
    lines: tuple[CoverageLine, ...]

    @property
    def untouched(self) -> bool:
        """Whether nobody looked for anything there."""
        return all(line.status is Status.NOT_CHECKED for line in self.lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class TeamLine:
    """One team: who, in what, and what stood for it when the report was made."""

    name: str
    role: str
    ensembles: tuple[str, ...]  # in the order worn, the last is the present one
    members: tuple[str, ...]  # name and cylinder in words
    place: str
    inside: bool
    action: Action
    findings: tuple[FindingLine, ...]
    look_next: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TimelineRow:
    """One record of the log, a reading, a decision or a record of the application itself."""

    seq: int
    at: datetime  # when it was observed
    recorded_at: datetime | None = None  # when the server had it; None if not known
    team: str = ""
    place: str = ""
    words: str = ""
    note: str = ""
    action: Action | None = None  # the strictest finding it raised; None if it cannot
    because: tuple[str, ...] = ()  # one sentence for each finding, strictest first
    author: str = ""
    late: bool = False
    superseded: tuple[str, ...] = ()  # sentences shown that day that no longer hold
    struck_by: str = ""  # "record 23, R. Lee, 14:12:10"; "" if it stands
    struck_reason: str = ""
    heard: str = ""  # who acknowledged its findings, and when


@dataclass(frozen=True, slots=True, kw_only=True)
class DecisionLine:
    at: datetime
    seq: int
    by: str
    words: str
    outcome: str = ""  # what the engine answered, e.g. why a clear did not hold


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One figure of a meter. `value` is None where it showed over-range."""

    at: datetime
    value: Decimal | None
    action: Action = Action.CONTINUE  # what this hazard's findings of the entry said


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """The figures of one team at one place with one meter, in order of time."""

    label: str
    points: tuple[Point, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartLimit:
    value: Decimal
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MeterSeries:
    """One channel of a meter against its limits: one chart."""

    title: str
    unit: str
    runs: tuple[Run, ...]
    limits: tuple[ChartLimit, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class VerdictChanges:
    """How one team's verdict went: each change, from the first."""

    team: str
    changes: tuple[tuple[datetime, Action], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleLine:
    number: int
    title: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitRow:
    label: str
    value: str  # with its unit
    default: str
    source: str
    changed: bool = False
    loosened: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SignOff:
    """Who stands for what, when: name, time, meaning."""

    meaning: str
    name: str
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class ChainHead:
    """The last record of the log's hash chain; `sha256` is 64 lower-case hex digits."""

    seq: int
    sha256: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportData:
    """Everything that is printed. `made_at` is when the report was made."""

    incident: str
    agency: str
    zone: tzinfo
    made_at: datetime
    facts: tuple[Fact, ...]
    started_at: datetime | None  # opened, or the first entry
    closed_at: datetime | None  # None: the report is an interim one
    profile_name: str
    profile_version: str
    mission: str = ""
    location: str = ""
    demo: bool = False  # invented data
    drill: bool = False
    teams: tuple[TeamLine, ...] = ()
    coverage: tuple[PlaceCoverage, ...] = ()
    beyond: tuple[str, ...] = ()  # what nothing that was carried would have shown
    timeline: tuple[TimelineRow, ...] = ()
    decisions: tuple[DecisionLine, ...] = ()
    series: tuple[MeterSeries, ...] = ()
    verdicts: tuple[VerdictChanges, ...] = ()
    rules: tuple[RuleLine, ...] = ()
    limits: tuple[LimitRow, ...] = ()
    loosened: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    head: ChainHead | None = None  # None: printed from a file that has no chain
    sign_offs: tuple[SignOff, ...] = ()
    made_by: str = ""
