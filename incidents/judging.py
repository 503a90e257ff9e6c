"""What stands for every team now, also when the engine itself fails.

A fault of the program never lets a team seem better off: no team is then at less than
caution, and the page says why.
"""

import logging
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from typing import Final, Protocol

from django.db.models import Max

from incidents.models import Incident, StoredFinding
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
    def last(self) -> tuple[datetime, str] | None: ...
    @property
    def not_judged(self) -> tuple[str, ...]: ...


def judge(incident: Incident, now: Judged, at: datetime) -> Assessment:
    """Every team at a moment, which is never before the last observation.

    Never raises. Where an entry was not judged no team is at less than caution; where
    the engine fails altogether each team is held at what was found and not cleared.
    """
    moment = max(at, now.last[0]) if now.last else at
    try:
        view = assess(now.state, now.context, moment)
    except Exception:
        log.exception("Incident %s was not assessed", incident.pk)
        return _held(incident, now.context, moment)
    if not now.not_judged:
        return view
    teams = tuple(_at_caution(team, now.not_judged, moment) for team in view.teams)
    return replace(view, teams=teams)


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
