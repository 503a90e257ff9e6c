"""What stands for every team now, also when the engine itself fails.

A fault of the program never lets a team seem better off: no team is then at less than
caution, and the page says why.
"""

import logging
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from typing import Final, Protocol

from django.db.models import Max

from command import readiness
from command.plan import Plan
from command.scene import Lack, Scene
from incidents import commands, plans
from incidents.held import held_back
from incidents.models import Incident, StoredFinding
from incidents.moments import moment_of
from screening.assess import assess
from screening.incident import Context
from screening.state import State
from screening.verdicts import (
    CAUTION,
    Action,
    Assessment,
    Clocks,
    Finding,
    Hazard,
    TeamAssessment,
)

log = logging.getLogger(__name__)

NOT_COMPUTED: Final = "not_computed"


class Judged(Protocol):
    """What of `engine.Live` is needed here."""

    @property
    def context(self) -> Context: ...
    @property
    def state(self) -> State: ...
    @property
    def head_seq(self) -> int: ...
    @property
    def last(self) -> tuple[datetime, str] | None: ...
    @property
    def not_judged(self) -> tuple[str, ...]: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """What people wrote beside readings, fetched once for many moments."""

    said: commands.Commands
    plan: Plan


def judge(
    incident: Incident, now: Judged, at: datetime, beside: Beside | None = None
) -> Assessment:
    """Every team at a moment, as `moments.moment_of` has it of this incident.

    With `beside` given, no query and the verdicts alone; `at` is then a moment of the
    incident. Never raises. Where an entry was not judged no team is at less than caution;
    where the engine fails altogether each team is held at what was found and not cleared.
    Orders and a Mayday stand beside what the engine says.
    """
    moment = _moment(incident, now, at, beside)
    view = _by_the_engine(incident, now, moment, beside)
    said = beside.said if beside else commands.standing(incident, up_to=now.head_seq)
    teams = tuple(commands.with_commands(team, said) for team in view.teams)
    return replace(view, teams=teams)


def _moment(
    incident: Incident, now: Judged, at: datetime, beside: Beside | None
) -> datetime:
    if beside is None:
        return moment_of(incident, now, at)
    return max(at, now.last[0]) if now.last else at


def _by_the_engine(
    incident: Incident, now: Judged, moment: datetime, beside: Beside | None
) -> Assessment:
    try:
        view = assess(now.state, now.context, moment, verdicts_only=beside is not None)
    except Exception:
        log.exception("Incident %s was not assessed", incident.pk)
        return _held(incident, now.context, moment)
    view = _with_plan(incident, now, view, beside)
    if not now.not_judged:
        return view
    teams = tuple(_at_caution(team, now.not_judged, moment) for team in view.teams)
    return replace(view, teams=teams)


def scene_at(incident: Incident, now: Judged, at: datetime) -> Scene:
    """What readiness looks at, at a moment as `moments.moment_of` has it."""
    moment = moment_of(incident, now, at)
    plan = plans.plan_of(incident, now.head_seq)
    about = plans.around(incident)
    scene = plans.scene_of(about, plan, now.context, now.state, moment)
    return replace(scene, held=tuple(held_back(incident, scene, now.state)))


def _with_plan(
    incident: Incident, now: Judged, view: Assessment, beside: Beside | None
) -> Assessment:
    """What of the plan is not ready, in the verdict of each team that is inside.

    An incident without a plan is judged by its readings alone. A fault here is one of
    the program: no team inside is then at less than caution.
    """
    try:
        plan = beside.plan if beside else plans.plan_of(incident, now.head_seq)
        if not plan.begun or not any(team.clocks.inside for team in view.teams):
            return view
        about = plans.around(incident)
        scene = plans.scene_of(about, plan, now.context, now.state, view.at)
        found = {team.id: standing(scene, team.id) for team in view.teams}
    except Exception:
        log.exception("The plan of %s was not judged", incident.pk)
        teams = (
            _at_caution(team, ("",), view.at) if team.clocks.inside else team
            for team in view.teams
        )
        return replace(view, teams=tuple(teams))
    teams = (joined(team, found[team.id]) for team in view.teams)
    return replace(view, teams=tuple(teams))


def standing(scene: Scene, team: str) -> tuple[Finding, ...]:
    """What of the plan stands for one team, as findings; none while it is outside."""
    lacks = readiness.standing_inside(scene, team)
    return tuple(not_ready(lack, team) for lack in lacks)


def joined(team: TeamAssessment, more: tuple[Finding, ...]) -> TeamAssessment:
    if not more:
        return team
    findings = sorted((*team.findings, *more), key=lambda finding: -finding.action)
    return replace(team, action=findings[0].action, findings=tuple(findings))


def not_ready(lack: Lack, team: str) -> Finding:
    """A lack as a finding on a team that is inside; it ends with its cause."""
    waived = lack.waived_by
    title = lack.need.title
    words = f"{title}: {lack.words}"
    if waived is not None:
        words = (
            f"Went in without: {title.lower()}: override by {waived.by}: {waived.why}"
        )
    advice = () if waived else ("Mend it in the plan, or say why it goes on.",)
    return Finding(
        rule=lack.key,
        number=0,
        hazard=Hazard.ACCOUNTABILITY,
        team=team,
        place="",
        action=lack.action,
        because=words,
        advice=advice,
        source=lack.source,
        at=None,
    )


def _at_caution(
    team: TeamAssessment, entries: tuple[str, ...], at: datetime
) -> TeamAssessment:
    findings = (*team.findings, *(not_computed(team.id, key, at) for key in entries))
    return replace(
        team,
        action=max(team.action, Action.CAUTION),
        findings=tuple(sorted(findings, key=lambda finding: -finding.action)),
    )


def _held(incident: Incident, context: Context, at: datetime) -> Assessment:
    """What can still be said with no engine: the findings kept and not cleared."""
    kept = (
        StoredFinding.objects.uncleared()
        .filter(incident=incident, superseded=False)
        .values("team_key")
        .annotate(strictest=Max("action"))
        .values_list("team_key", "strictest")
    )
    strictest = dict(kept)
    turn_back = min(
        context.profile[f"dose_turn_back_{mission}"]
        for mission in ("other", "product_control", "rescue")
    )
    return Assessment(
        at=at,
        teams=tuple(
            TeamAssessment(
                id=team.id,
                ensemble=team.ensemble.value,
                place="",
                action=Action(max(strictest.get(team.id, 0), Action.CAUTION)),
                findings=(not_computed(team.id, "", at),),
                coverage=(),
                look_next="Judge by your SOP: the program could not.",
                clocks=_no_clocks(turn_back),
            )
            for team in context.teams.values()
        ),
        cautions=(CAUTION, "The engine could not judge this incident."),
    )


def _no_clocks(turn_back: Decimal) -> Clocks:
    # Held to be inside: nobody is ever thought out on a fault of the program.
    return Clocks(
        inside=True,
        inside_since=None,
        last_par=None,
        par_due=None,
        unanswered=(),
        air=(),
        turn_around_due=None,
        dose_rem=None,
        dose_rate_rem_per_hour=None,
        turn_back_dose_rem=turn_back,
        stay_until=None,
    )


def not_computed(team: str, entry: str, at: datetime) -> Finding:
    return Finding(
        rule=NOT_COMPUTED,
        number=0,
        hazard=Hazard.MONITORING,
        team=team,
        place="",
        action=Action.CAUTION,
        because=(
            "The engine could not judge this entry. It is in the log as it was read."
            if entry
            else "The engine could not judge. The log holds everything that was read."
        ),
        advice=(
            "Judge by your SOP: the verdict leaves this out.",
            "What stood before still stands.",
        ),
        source="no rule: a fault of the program",
        entry=entry,
        at=at,
    )
