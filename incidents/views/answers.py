"""What is shown once an entry is stored: the verdict, and the line to say back."""

from dataclasses import dataclass
from datetime import datetime

from incidents import selectors, services
from incidents.documents import loads
from incidents.models import Incident
from incidents.selectors import LogRow
from incidents.services import permissions
from incidents.services.records import UNDOABLE
from incidents.views import board
from incidents.views.access import WRITERS, HtmxRequest, role_in
from incidents.views.words import Names, line_of, names_of, said_back, words_of
from screening.verdicts import Action


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What is shown after saving: the verdict, and the line to say back."""

    seq: int
    kind: str
    at: datetime
    words: str
    teams: tuple[board.Verdict, ...]
    found: tuple[str, ...]  # findings of this entry that the verdict does not show
    may_strike: bool
    may_undo: bool = False
    duplicate: bool = False
    unverified: bool = False  # of a meter that is not along


def answer_of(
    request: HtmxRequest, incident: Incident, appended: services.Appended
) -> Answer:
    row = _row_of(incident, appended)
    names = names_of(incident)
    team = str(row.body.get("team", ""))
    teams = tuple(
        board.verdict_of(now, names.team(now.id))
        for now in appended.assessment.teams
        if now.id == team or (not team and now.action > Action.CONTINUE)
    )
    shown = {verdict.because for verdict in teams}
    own = [f for f in appended.findings if f.team in (team, "") or not team]
    line = line_of(row, names, _pointed_at(incident, row, names))
    return Answer(
        seq=row.entry.seq,
        kind=row.entry.kind,
        at=row.entry.observed_at,
        words=said_back(line),
        teams=teams,
        found=tuple(
            dict.fromkeys(
                f"{f.action.label}: {f.because}" for f in own if f.because not in shown
            )
        ),
        may_strike=may_strike(request, incident, row),
        may_undo=may_undo(request, incident, row),
        duplicate=appended.duplicate,
        unverified=line.unverified,
    )


def _pointed_at(incident: Incident, row: LogRow, names: Names) -> dict[str, str]:
    """The words of the entry that was heard or struck, by its id."""
    key = row.body.get("entry")
    entry = incident.entries.filter(client_uuid=key).first() if key else None
    return {entry.key: words_of(entry, loads(entry.body), names)} if entry else {}


def _row_of(incident: Incident, appended: services.Appended) -> LogRow:
    if appended.duplicate:  # much may have become of it since
        row = selectors.log_row(incident, appended.entry.seq)
        assert row is not None
        return row
    return LogRow(
        entry=appended.entry,
        body=loads(appended.entry.body),
        findings=(),
        struck_by=None,
        strike_reason="",
        acknowledged_by=(),
    )


def may_strike(request: HtmxRequest, incident: Incident, row: LogRow) -> bool:
    if row.struck_by is not None or not row.entry.is_for_engine or incident.is_closed:
        return False
    if row.entry.kind in ("strike", "acknowledge"):
        return False
    role = role_in(incident)
    if permissions.may_command(role):
        return True
    own = row.entry.author_id == request.user.pk
    return own and row.entry.kind in permissions.READING_KINDS and role in WRITERS


def may_undo(request: HtmxRequest, incident: Incident, row: LogRow) -> bool:
    """A decision or a note, by whoever made it or the commander."""
    if row.struck_by is not None or incident.is_closed:
        return False
    undoable = row.is_decision and row.entry.kind != "strike"
    if not undoable and row.entry.kind not in UNDOABLE:
        return False
    if permissions.may_command(role_in(incident)):
        return True
    return row.entry.author_id == request.user.pk and row.entry.kind in UNDOABLE
