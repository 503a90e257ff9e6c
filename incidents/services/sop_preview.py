"""What another version of the SOP would change in a running incident, before it does.

Nothing is stored: the log is judged once more in memory under the other limits, by the
same functions that the change itself uses.
"""

from dataclasses import dataclass
from datetime import datetime

from incidents import engine, judging
from incidents.documents import dumps, loads
from incidents.models import Incident, SopProfile
from incidents.services import findings, profiles
from incidents.services.setup import still_readable
from screening.verdicts import TeamAssessment
from screening.worksheet import load_json


@dataclass(frozen=True, slots=True, kw_only=True)
class TeamChange:
    """One team's verdict now, and as it would be."""

    team: str
    before: TeamAssessment
    after: TeamAssessment

    @property
    def changes(self) -> bool:
        return self.before.action is not self.after.action

    @property
    def is_milder(self) -> bool:
        return self.after.action < self.before.action


@dataclass(frozen=True, slots=True, kw_only=True)
class Preview:
    """Every team, and how many findings of the log would be said no more or anew."""

    teams: tuple[TeamChange, ...]
    no_longer_said: int  # shown so far; they stay in the log as judged anew
    said_anew: int

    @property
    def changed_teams(self) -> tuple[TeamChange, ...]:
        return tuple(team for team in self.teams if team.changes)


def preview_change(incident: Incident, sop: SopProfile | None, at: datetime) -> Preview:
    """Judge the log under `sop` in memory and hold it against what stands.

    Raises `EntryRefusedError` where the log could not be read under it.
    """
    setup = loads(incident.setup)
    setup["profile"] = profiles.document_of(sop)
    still_readable(incident, setup)
    reasons = sop.reasons_given if sop else {}
    context = engine.context_of(load_json(dumps(setup)), reasons)
    rows = list(incident.entries.order_by("seq"))
    then, found = engine.replay(rows, context)
    difference = findings.compare(incident, found)
    now = judging.judge(incident, engine.live(incident), at)
    after = judging.judge(incident, then, at).by_team()
    teams = tuple(
        TeamChange(team=team.id, before=team, after=after[team.id])
        for team in now.teams
    )
    return Preview(
        teams=teams,
        no_longer_said=len(difference.surplus),
        said_anew=len(difference.missing),
    )
