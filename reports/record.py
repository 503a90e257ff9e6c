"""What is known of an incident beside its worksheet document; only a database knows it.

Plain values, filled by whoever holds the log: who logged a record and when it arrived,
what was shown that day, the chain's head.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, tzinfo

from reports.data import ChainHead, PhotoLine, SignOff
from screening.verdicts import Action, Finding


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryRecord:
    """What is known of one entry beside the worksheet document."""

    seq: int
    recorded_at: datetime
    author: str
    late: bool = False
    # As they were shown. None: as the engine finds them now.
    findings: tuple[Finding, ...] | None = None
    superseded: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnRecord:
    """A record of the log that is no entry of the worksheet: opened, amended, closed."""

    seq: int
    at: datetime
    recorded_at: datetime
    words: str
    author: str
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class IncidentRecord:
    """What is known of an incident beside its worksheet document.

    `names` maps "team", "team/member" and instrument ids to what people call them.
    `entries` is by entry id. `zone` is where times are printed in; None takes the offset
    of the first entry.
    """

    agency: str = ""
    location: str = ""
    zone: tzinfo | None = None
    opened_at: datetime | None = None
    opened_by: str = ""
    closed_at: datetime | None = None
    demo: bool = False
    drill: bool = False
    names: Mapping[str, str] = field(default_factory=dict)
    entries: Mapping[str, EntryRecord] = field(default_factory=dict)
    own: Sequence[OwnRecord] = ()
    photos: tuple[PhotoLine, ...] = ()
    # What was not ready for a team inside, beside what its readings say: the strictest
    # action from each moment on, and what stands at the end. Both by team.
    plan_actions: Mapping[str, Sequence[tuple[datetime, Action]]] = field(
        default_factory=dict
    )
    plan_standing: Mapping[str, tuple[Finding, ...]] = field(default_factory=dict)
    head: ChainHead | None = None
    sign_offs: tuple[SignOff, ...] = ()
    missing_sign_offs: tuple[str, ...] = ()
    made_by: str = ""
    # Of the version of the SOP, which the document has no place for.
    approval: str = ""  # "approved by …, in force from …"
    reasons: Mapping[str, str] = field(
        default_factory=dict
    )  # for looser limits, by key
    looser: tuple[str, ...] = ()  # sentences on what the engine has no limit for
