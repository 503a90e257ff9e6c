"""What the commander's sheet shows."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.http import Http404
from django.utils import timezone

from incidents import engine, judging
from incidents.models import EntryTeam, Incident, Person
from screening.methods.beyond import beyond_our_tools
from screening.verdicts import Assessment, TeamAssessment

# Some findings come by time alone (no PAR, a first look left out): the sheet is drawn
# anew at least this often although nothing was logged.
SECONDS_PER_TAG = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class TeamRow:
    """One team: its row as set up, and what the engine says of it now."""

    team: EntryTeam  # members prefetched
    now: TeamAssessment


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetView:
    incident: Incident
    at: datetime  # the server's moment of assessment
    teams: tuple[TeamRow, ...]
    cautions: tuple[str, ...]
    beyond: tuple[str, ...]  # what nothing that is carried would show
    assessment: Assessment
    heard: frozenset[str]  # ids of entries whose findings were acknowledged
    not_judged: tuple[str, ...]  # ids of entries that the engine failed on
    tag: str


def sheet(incident: Incident, at: datetime) -> SheetView:
    """Every team at a moment. Three queries, and those of the engine to catch up."""
    now = engine.live(incident)
    view = judging.judge(incident, now, at)
    by_team = view.by_team()
    rows = incident.teams.prefetch_related("members")
    return SheetView(
        incident=incident,
        at=view.at,
        teams=tuple(
            TeamRow(team=row, now=by_team[row.key])
            for row in rows
            if row.key in by_team
        ),
        cautions=view.cautions,
        beyond=tuple(blind.sentence for blind in beyond_our_tools(now.context)),
        assessment=view,
        heard=_heard(incident),
        not_judged=now.not_judged,
        tag=tag_of(incident.revision, at),
    )


def _heard(incident: Incident) -> frozenset[str]:
    rows = incident.findings.filter(events__kind="acknowledged")
    keys = rows.values_list("entry__client_uuid", flat=True).distinct()
    return frozenset(str(key) for key in keys)


def tag_of(revision: int, at: datetime) -> str:
    return f'"{revision}-{int(at.timestamp()) // SECONDS_PER_TAG}"'


def sheet_tag(
    incident_id: UUID, *, person: Person | None = None, at: datetime | None = None
) -> str:
    """The ETag of the sheet now: one indexed query.

    With `person` the same query sees to it that they have a part in the incident.
    Raises 404 otherwise.
    """
    rows = Incident.objects.filter(pk=incident_id)
    if person is not None:
        rows = rows.filter(agency__people=person, roles__person=person)
    revision = rows.values_list("revision", flat=True).first()
    if revision is None:
        raise Http404("No such incident.")
    return tag_of(revision, at or timezone.now())
