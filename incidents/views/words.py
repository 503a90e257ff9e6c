"""Log entries in the words of pages; the line itself is `reports.words.describe`."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.template.loader import render_to_string
from django.utils import timezone

from incidents import engine
from incidents.documents import loads
from incidents.models import (
    EntryTeam,
    ImportedWorksheet,
    Incident,
    Instrument,
    LogEntry,
)
from incidents.models.log import (
    AMENDMENT,
    CLOSING,
    DEVICE,
    OPENING,
    PHOTO_ARRIVED,
    PLAN,
    REOPENING,
    WRITTEN_KINDS,
)
from incidents.own_words import say
from incidents.part_words import say_part
from incidents.photo_claims import Claim
from incidents.plans import words_of_row
from incidents.selectors import LogRow
from incidents.services import profiles
from reports.words import KIND_LABELS, describe
from screening.incident import Context
from screening.trust import METERS
from screening.verdicts import Action
from screening.worksheet import WorksheetErrors, parse_entry

LATE = timedelta(minutes=1)
_APP_WORDS = {
    OPENING: "Incident opened",
    AMENDMENT: "Set-up changed",
    CLOSING: "Incident closed",
    REOPENING: "Incident opened again",
    DEVICE: "Phone",
    PHOTO_ARRIVED: "Photo received",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Names:
    """What people call the ids of one incident."""

    context: Context
    teams: Mapping[str, str]
    members: Mapping[str, Mapping[str, str]]  # team id to (member id to name)
    instruments: Mapping[str, str]  # id to what the register calls it
    imported: bool = False  # its entries came in a file, all at one time

    def team(self, key: str) -> str:
        return self.teams.get(key, key)

    def of(self, team: str) -> dict[str, str]:
        return dict(self.members.get(team, {}))


def names_of(incident: Incident) -> Names:
    return _names(incident.pk, incident.setup)


@lru_cache(maxsize=64)
def _names(incident: UUID, setup: str) -> Names:
    """Teams and their members come with the set-up and change with it alone."""
    rows = EntryTeam.objects.filter(incident=incident).prefetch_related("members")
    return Names(
        context=engine.context_of(loads(setup)),
        teams={row.key: row.name for row in rows},
        members={row.key: {m.key: m.name for m in row.members.all()} for row in rows},
        instruments=dict(
            Instrument.objects.filter(agency__incidents=incident).values_list(
                "key", "label"
            )
        ),
        imported=ImportedWorksheet.objects.filter(incident=incident).exists(),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of the log."""

    seq: int
    key: str
    kind: str
    at: datetime
    recorded_at: datetime
    team: str
    place: str
    words: str
    note: str
    action: Action | None  # of its strictest standing finding; None for a decision
    late: bool
    by: int  # the author's number
    decided: bool  # by a person, not read
    struck: str  # why and by whom, "" where it stands
    heard: str
    author: str
    superseded: bool
    refused: bool  # a clear that did not hold
    unverified: bool  # of a meter that is not along, or not named
    photo: Claim | None  # what its record names
    photo_here: bool  # whether the bytes are here
    photo_gone: bool  # whether they came and are here no more

    @property
    def word(self) -> str:
        """Continue is a team's word, said with what was not looked at; never a line's."""
        if self.action is None:
            return ""
        return self.action.label if self.action else "no finding"


_described: dict[str, str] = {}
MOST_DESCRIBED = 20_000


def words_of(entry: LogEntry, body: Mapping[str, Any], names: Names) -> str:
    """What was read or decided. An entry never changes, so it is worked out once."""
    if entry.kind in WRITTEN_KINDS:
        return say(entry.kind, body, names.teams)
    if entry.kind in _APP_WORDS:
        return _app_words(entry.kind, body)
    known = _described.get(entry.hash)
    if known is None and entry.kind == PLAN:
        known = words_of_row(entry, names.teams, timezone.get_current_timezone())
        _described[entry.hash] = known
    if known is None:
        try:
            read = parse_entry(dict(body), names.context)
        except WorksheetErrors:
            return KIND_LABELS.get(entry.kind, entry.kind)
        known = describe(read, _names_for(read.team, body, names))
        if len(_described) >= MOST_DESCRIBED:
            _described.clear()
        _described[entry.hash] = known
    return known


def _app_words(kind: str, body: Mapping[str, Any]) -> str:
    given = body.get("role")
    if given:
        return say_part(given)
    words = _APP_WORDS.get(kind, "")
    if "sop_before" in body:
        words = profiles.change_words(body)
    reason = body.get("reason")
    if kind == DEVICE:
        words = f"{body['device']}: {body['step']}"
    if kind == PHOTO_ARRIVED:
        words += f", SHA-256 {str(body['sha256'])[:16]}\N{HORIZONTAL ELLIPSIS}"
    out = ", ".join(
        f"{each['name']} ({each['where']})" for each in body.get("not_in", ())
    )
    if out:
        words += f" with {out}"
    return f"{words}: {reason}" if reason else words


def _names_for(team: str, body: Mapping[str, Any], names: Names) -> dict[str, str]:
    pointed = str(body.get("entry", ""))
    known = {**names.instruments, **names.of(team)}
    return known | ({pointed: "an earlier entry"} if pointed else {})


def line_of(row: LogRow, names: Names, others: Mapping[str, str] | None = None) -> Line:
    """`others` gives the words of entries that this one may point to, by id."""
    entry = row.entry
    words = words_of(entry, row.body, names)
    if entry.kind in ("enter", "exit"):
        words = f"{names.team(str(row.body['team']))} {words.lower()}"
    pointed = (others or {}).get(str(row.body.get("entry", "")))
    if pointed:
        words = words.replace("an earlier entry", pointed)
    standing = [finding for finding in row.findings if not finding.superseded]
    strictest = max((Action(f.action) for f in standing), default=Action.CONTINUE)
    is_reading = entry.is_for_engine and not row.is_decision
    return Line(
        seq=entry.seq,
        key=entry.key,
        kind=entry.kind,
        at=entry.observed_at,
        recorded_at=entry.recorded_at,
        team=names.team(str(row.body.get("team", ""))),
        place=str(row.body.get("place", "")),
        words=words,
        note=str(row.body.get("note", "")),
        action=strictest if is_reading or standing else None,
        late=not names.imported and entry.recorded_at - entry.observed_at > LATE,
        by=entry.author_id,
        decided=row.is_decision or entry.kind in WRITTEN_KINDS,
        struck=_struck(row, names),
        heard=", ".join(_by(each, names) for each in row.acknowledged_by),
        author=entry.author_name,
        superseded=any(finding.superseded for finding in row.findings),
        refused=entry.kind == "clear" and bool(standing),
        unverified=entry.kind in METERS
        and row.body.get("instrument") not in names.context.instruments,
        photo=row.photo,
        photo_here=row.photo_here,
        photo_gone=row.photo_gone,
    )


def _by(entry: LogEntry, names: Names) -> str:
    """Who did it: of an import the one whom the file names, not who brought it in."""
    if names.imported:
        return str(loads(entry.body).get("by", entry.author_name))
    return entry.author_name


def _struck(row: LogRow, names: Names) -> str:
    if row.struck_by is None:
        return ""
    stands = f"; entry {row.right_seq} stands in its place" if row.right_seq else ""
    return f"{row.strike_reason} ({_by(row.struck_by, names)}){stands}"


def rows_html(rows: list[LogRow], incident: Incident) -> list[str]:
    zone = incident.agency.time_zone
    lines = lines_of(rows, names_of(incident))
    return [row_html(line, incident.pk, zone) for line in lines]


def lines_of(rows: list[LogRow], names: Names) -> list[Line]:
    plain = {row.entry.key: words_of(row.entry, row.body, names) for row in rows}
    return [line_of(row, names, plain) for row in rows]


@lru_cache(maxsize=20_000)
def row_html(line: Line, incident: UUID, zone: str) -> str:
    """A row of the log. What it says does not change, so it is drawn once."""
    with timezone.override(ZoneInfo(zone)):
        return render_to_string(
            "sheet/partials/line.html", {"line": line, "incident_pk": incident}
        )


def said_back(line: Line) -> str:
    """The reading as it is said over the radio: what, where."""
    return ", ".join(filter(None, (line.words, line.place)))
