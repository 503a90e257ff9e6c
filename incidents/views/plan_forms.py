"""The plan and the log in the blocks of the public ICS forms, for page and PDF alike."""

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Final

from django.utils import timezone

from command import activity_log, incident_briefing, site_safety_plan
from command.form import Section, some
from command.scene import Lack
from command.words import moment_words
from command.work_parts import POSITIONS
from incidents import selectors
from incidents.models import Incident
from incidents.views import board
from incidents.views.access import ROLE_WORDS, HtmxRequest, role_in, zone_of
from incidents.views.lacks import Missing, missing_of
from incidents.views.words import Line, lines_of, names_of
from reports.forms import Form

SITE_SAFETY_PLAN: Final = "site-safety-plan"
INCIDENT_BRIEFING: Final = "incident-briefing"
ACTIVITY_LOG: Final = "activity-log"


def form_of(request: HtmxRequest, incident: Incident, name: str) -> Form:
    """One form, filled from what is known; `?blank=1` in the address gives it empty.

    Raises KeyError for a name that is none.
    """
    title, standard, fill, blank = _FORMS[name]
    by_hand = "blank" in request.GET
    now = timezone.now()
    stopping = [] if by_hand else not_ready(incident, name, now)
    return Form(
        title=title,
        standard=standard,
        sections=blank() if by_hand else fill(request, incident, now),
        incident=incident.name,
        agency=incident.agency.name,
        made_at=now,
        zone=zone_of(incident),
        notice="; ".join(one.title.lower() for one in stopping),
        by_hand=by_hand,
        drill=incident.is_drill and not by_hand,
    )


def not_ready(incident: Incident, name: str, now: datetime) -> list[Missing]:
    """Each kind of lack once, whichever team it keeps out; on the plan alone."""
    if name != SITE_SAFETY_PLAN:
        return []
    view = selectors.plan_view(incident, now)
    lacks: dict[str, Lack] = {lack.key: lack for lack in view.lacks if lack.blocks}
    return missing_of(lacks.values(), incident)


def _site_safety_plan(
    request: HtmxRequest, incident: Incident, now: datetime
) -> tuple[Section, ...]:
    return site_safety_plan.sections(selectors.plan_view(incident, now).paper)


def _incident_briefing(
    request: HtmxRequest, incident: Incident, now: datetime
) -> tuple[Section, ...]:
    view = selectors.plan_view(incident, now)
    lines = lines_of(selectors.full_log(incident), names_of(incident))
    known = incident_briefing.Known(
        number=str(incident.pk),
        initiated=incident.opened_at,
        standing=tuple(_standing(incident, now)),
        done=tuple((line.at, line.words) for line in lines if line.decided),
        prepared_by=request.user.shown_name,
    )
    return incident_briefing.sections(view.paper, known)


def _standing(incident: Incident, now: datetime) -> list[str]:
    verdicts = [c.verdict for c in board.cards_of(selectors.sheet(incident, now))]
    return [
        " ".join(some(f"{one.name}: {one.label}.", one.because, one.gaps))
        for one in verdicts
    ]


def _activity_log(
    request: HtmxRequest, incident: Incident, now: datetime
) -> tuple[Section, ...]:
    view = selectors.plan_view(incident, now)
    period = view.plan.last("period")
    says = period.says if period is not None else None
    lines = lines_of(selectors.full_log(incident), names_of(incident))
    return activity_log.sections(
        activity_log.Known(
            incident=incident.name,
            since=says.since if says and says.since else incident.opened_at,
            until=says.until if says and says.until else incident.closed_at,
            name=request.user.shown_name,
            position=ROLE_WORDS[role_in(incident)],
            agency=incident.agency.name,
            resources=tuple(_resources(view)),
            activities=tuple(map(_activity, lines)),
            at=now,
            zone=zone_of(incident),
        )
    )


def _activity(line: Line) -> activity_log.Activity:
    words = f"{line.place}: {line.words}" if line.place else line.words
    note = f"({line.note})" if line.note else ""
    word = f"\N{EN DASH} {line.word.upper()}" if line.word else ""
    return activity_log.Activity(
        at=line.at,
        recorded_at=line.recorded_at if line.late else None,
        words=" ".join(some(f"{line.team}," if line.team else "", words, note, word)),
        struck=line.struck,
        by=line.author,
    )


def _resources(view: selectors.PlanView) -> list[tuple[str, str, str]]:
    """Block 6: name, ICS position, home agency and unit, of all who checked in."""
    held: dict[str, str] = {}
    for position in view.plan.positions:
        held.setdefault(position.name.casefold(), POSITIONS[position.position])
    for crew in view.scene.crews:
        for name in crew.members:
            held.setdefault(name.casefold(), crew.name)
    zone = zone_of(view.incident)
    return [
        (
            check.name,
            held.get(check.name.casefold(), ""),
            "; ".join(
                some(
                    check.agency,
                    check.training,
                    f"arrived {moment_words(check.arrived, zone)}"
                    if check.arrived
                    else "",
                )
            ),
        )
        for check in view.plan.checked_in
    ]


_Fill = Callable[[HtmxRequest, Incident, datetime], tuple[Section, ...]]
_Blank = Callable[[], tuple[Section, ...]]
_FORMS: Final[Mapping[str, tuple[str, str, _Fill, _Blank]]] = {
    SITE_SAFETY_PLAN: (
        site_safety_plan.TITLE,
        site_safety_plan.SOURCE,
        _site_safety_plan,
        site_safety_plan.blank,
    ),
    INCIDENT_BRIEFING: (
        incident_briefing.TITLE,
        incident_briefing.SOURCE,
        _incident_briefing,
        incident_briefing.blank,
    ),
    ACTIVITY_LOG: (
        activity_log.TITLE,
        activity_log.SOURCE,
        _activity_log,
        activity_log.blank,
    ),
}
NAMES: Final = tuple(_FORMS)
