"""What a report is made of: plain frozen values, no model and no engine state.

Times are aware; `ReportData.zone` says in which zone they are printed. Every text may come
from people and is printed through `reports.text`. `reports.from_worksheet` makes these
values from a worksheet document.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from decimal import Decimal

from review.channels import Limit
from screening.fits import Group
from screening.stays import Stay
from screening.suspects import Suspect
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
    source: str = ""  # of the reason, with its mark; "" where none is known
    origin: str = ""  # the row of methods or the rule that it belongs to


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
    stays: tuple[Stay, ...] = ()  # each time inside
    check_every: timedelta | None = None  # a look at people, by what all wear now


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
    unverified: bool = False  # of a meter that is not listed


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
class MeterSeries:
    """One channel of a meter against its limits: one chart."""

    title: str
    unit: str
    runs: tuple[Run, ...]
    limits: tuple[Limit, ...] = ()


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
    """Who stands for what, when: name, time, meaning.

    `covers` is the last record that was there to see, `after` how many came since that
    are more than sign-offs; a dissent has its words. `replaced_by` is the record in which
    the same person answered anew for the same records.
    """

    meaning: str
    name: str
    at: datetime
    covers: int = 0  # 0: not one of the log
    after: int = 0
    dissent: str = ""
    replaced_by: int = 0  # 0: by none

    @property
    def counts(self) -> bool:
        """Whether it is that person's word on the records as they stand."""
        return not self.after and not self.replaced_by


@dataclass(frozen=True, slots=True, kw_only=True)
class ChainHead:
    """The last record of the log's hash chain; `sha256` is 64 lower-case hex digits."""

    seq: int
    sha256: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoLine:
    """A photo that a record names, with what is printed of it.

    `picture` is a JPEG in RGB or grey, without metadata; empty where the bytes never came.
    """

    seq: int
    at: datetime
    author: str
    words: str
    sha256: str  # of the photo as it is kept
    size: int  # of the same, in bytes
    team: str = ""
    place: str = ""
    device: str = ""
    taken_back: str = ""  # why, and by which record
    picture: bytes = b""
    pixels_wide: int = 0
    pixels_high: int = 0
    grey: bool = False
    as_kept: bool = False  # `picture` is the very photo, byte for byte
    broken: bool = False  # the bytes are there, and are no picture any more
    gone: bool = False  # the log has it that they came, and they are not there

    @property
    def state(self) -> str:
        """Why nothing of it is printed; "" where something is."""
        if self.picture:
            return ""
        if self.broken:
            return "What was received is no picture any more"
        return "Photo arrived, and is gone" if self.gone else "Photo not received"


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
    fits: tuple[Group, ...] = ()  # the table of substances against the readings
    suspects: tuple[Suspect, ...] = ()
    heat: tuple[str, ...] = ()
    timeline: tuple[TimelineRow, ...] = ()
    decisions: tuple[DecisionLine, ...] = ()
    photos: tuple[PhotoLine, ...] = ()
    series: tuple[MeterSeries, ...] = ()
    verdicts: tuple[VerdictChanges, ...] = ()
    rules: tuple[RuleLine, ...] = ()
    limits: tuple[LimitRow, ...] = ()
    profile_approval: str = ""  # "approved by …, in force from …"; "" if not known
    loosened: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    taken_back: tuple[
        str, ...
    ] = ()  # what bump tests that failed after use put in doubt
    head: ChainHead | None = None  # None: printed from a file that has no chain
    sign_offs: tuple[SignOff, ...] = ()
    missing_sign_offs: tuple[str, ...] = ()  # who should have and has not
    made_by: str = ""
