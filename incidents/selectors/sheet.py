"""What the commander's sheet shows."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.http import Http404
from django.utils import timezone

from incidents import engine, judging
from incidents.alarms import Alarm, Kept, alarms_of
from incidents.commands import MAYDAY_STANDS
from incidents.house_rules import loosened
from incidents.kept_alarms import kept_alarms
from incidents.models import EntryTeam, Incident, Person
from incidents.selectors.access import lets_in
from incidents.selectors.devices import held_words
from incidents.selectors.instruments import taken_back_words
from incidents.then import Then
from screening.methods.beyond import beyond_our_tools
from screening.verdicts import CAUTION, Assessment, Finding, TeamAssessment

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
    cautions: tuple[str, ...]  # without the standing one, which every page carries
    beyond: tuple[str, ...]  # what nothing that is carried would show
    assessment: Assessment
    alarms: tuple[Alarm, ...]  # the most urgent first
    not_judged: tuple[str, ...]  # ids of entries that the engine failed on
    tag: str
    banners: tuple[str, ...] = ()  # what has to be seen before all else

    @property
    def mayday(self) -> Finding | None:
        """The Mayday that stands, as it stands for any team."""
        found = (f for row in self.teams for f in row.now.findings)
        return next((f for f in found if f.rule == MAYDAY_STANDS), None)


def sheet(incident: Incident, at: datetime) -> SheetView:
    """Every team at a moment. Eight queries, and those of the engine to catch up."""
    return _view(
        incident, at, engine.live(incident), held_words(incident), kept_alarms(incident)
    )


def sheet_then(then: Then) -> SheetView:
    """Every team as it stood at a moment that is over, by what was known then."""
    return _view(
        then.incident,
        then.at,
        then.now,
        held_words(then.incident, then.at),
        kept_alarms(then.incident, then.past),
    )


def _view(
    incident: Incident,
    at: datetime,
    now: engine.Live,
    held: tuple[str, ...],
    kept: Kept,
) -> SheetView:
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
        cautions=(
            *(each for each in view.cautions if each != CAUTION),
            *loosened(incident.sop),
        ),
        beyond=tuple(blind.sentence for blind in beyond_our_tools(now.context)),
        assessment=view,
        alarms=alarms_of(view, kept),
        not_judged=now.not_judged,
        tag=tag_of(incident.revision, at),
        banners=(*held, *taken_back_words(incident, now)),
    )


def tag_of(revision: int, at: datetime) -> str:
    return f'"{revision}-{int(at.timestamp()) // SECONDS_PER_TAG}"'


def sheet_tag(
    incident_id: UUID, *, person: Person | None = None, at: datetime | None = None
) -> str:
    """The ETag of the sheet now: one indexed query.

    With `person` the same query sees to it that they have a part in the incident, or
    review those of its agency. Raises 404 otherwise.
    """
    rows = Incident.objects.filter(pk=incident_id)
    if person is not None:
        rows = rows.filter(lets_in(person))
    revision = rows.values_list("revision", flat=True).first()
    if revision is None:
        raise Http404("No such incident.")
    return tag_of(revision, at or timezone.now())
