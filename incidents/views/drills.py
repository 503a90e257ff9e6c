"""A drill while it runs, and what came of it.

The crew has this page and no other of the drill: every page of an incident sends them here
until it is over (`selectors.access`).
"""

import hashlib
import logging
from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import Any, Final, cast
from uuid import UUID

from django.http import Http404, HttpResponse
from django.middleware.csrf import get_token
from django.shortcuts import get_object_or_404, redirect
from django.template.loader import render_to_string
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from incidents import services
from incidents.drill_keys import script_of
from incidents.models import Person
from incidents.selectors import drills as read
from incidents.services import drills as write
from incidents.views.access import ROLE_WORDS, HtmxRequest, View, page, zone_of
from incidents.views.words import Names, names_of, words_of
from reports.words import KIND_LABELS
from review.scoring import LOOKS, Outcome
from screening.ensembles import Ensemble
from screening.verdicts import Action

log = logging.getLogger(__name__)

LIVE: Final = "drill/partials/live.html"
ACTIONS: Final = {action.word: action for action in Action}
LOOK_WORDS: Final = {"": "Nothing more now"} | {
    kind: KIND_LABELS[kind] for kind in LOOKS
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """One inject in words, beside what may be known of it."""

    inject: read.Inject
    team: str
    place: str
    words: str
    ensemble: str  # what the team wears, in words; "" while hidden


def drill_view(*methods: str) -> Callable[[View], View]:
    """Give the view a drill that the person is in or runs; 404 for everybody else.

    What has come due is stored before anything is looked at.
    """

    def decorate(view: View) -> View:
        @require_http_methods(list(methods))
        @wraps(view)
        def wrapped(request: HtmxRequest, pk: UUID, **kwargs: Any) -> HttpResponse:
            read.drill_for(request.user, pk)
            try:
                write.give_due(incident_id=pk, at=timezone.now())
            except services.RefusalError:
                # The page shows what is there; who asks next tries again.
                log.exception("What is due in the drill %s was not stored", pk)
            seen = read.drill_for(request.user, pk)
            with timezone.override(zone_of(seen.drill.incident)):
                return view(request, seen, **kwargs)

        return cast(View, wrapped)

    return decorate


@drill_view("GET")
def drill(request: HtmxRequest, seen: read.DrillSeen) -> HttpResponse:
    """What the crew, or who leads it, has before them."""
    return _page(request, seen, _live(request, seen))


@drill_view("GET")
def drill_live(request: HtmxRequest, seen: read.DrillSeen) -> HttpResponse:
    """The part that changes; 204 where that page has it already (`seen`)."""
    live = _live(request, seen)
    if request.GET.get("seen") == live["digest"]:
        return HttpResponse(status=204)
    return HttpResponse(render_to_string(LIVE, live))


def _page(
    request: HtmxRequest, seen: read.DrillSeen, live: dict[str, Any], status: int = 200
) -> HttpResponse:
    name = seen.drill.incident.name
    return page(request, "drill/drill.html", status=status, drill_name=name, **live)


def _live(
    request: HtmxRequest, seen: read.DrillSeen, error: str = ""
) -> dict[str, Any]:
    """What the fragment shows this person, with its digest; the token is no part of it."""
    rows = read.injects(seen, request.user, timezone.now())
    names, script = names_of(seen.drill.incident), script_of(seen.drill.script)
    live = {
        "seen": seen,
        "drill": seen.drill,
        "script": script,
        "shown": [_shown(row, names) for row in rows],
        "actions": list(ACTIONS.values()),
        "looks": LOOK_WORDS,
        "all_given": len(rows) == len(script.worksheet.log),
        "error": error,
    }
    html = render_to_string(LIVE, live)
    digest = hashlib.sha256(html.encode()).hexdigest()[:20]
    return live | {"digest": digest, "token": get_token(request)}


def _shown(row: read.Inject, names: Names) -> Shown:
    words, team = words_of(row.entry, row.body, names), row.body.get("team", "")
    if row.entry.kind in ("enter", "exit"):
        words = f"{names.team(str(team))} {words.lower()}"
    wears = row.verdict.ensemble if row.verdict else ""
    return Shown(
        inject=row,
        team=names.team(str(team)),
        place=str(row.body.get("place", "")),
        words=words,
        ensemble=Ensemble(wears).label if wears else "",
    )


@drill_view("POST")
def drill_answer(request: HtmxRequest, seen: read.DrillSeen, seq: int) -> HttpResponse:
    """One decision of one of the crew; the first counts."""
    action = ACTIONS.get(request.POST.get("action", ""))
    look = request.POST.get("look", "")
    if action is None or look not in LOOK_WORDS:
        return _after(request, seen, "Choose one of the four decisions.")
    return _done(
        request,
        seen,
        write.answer,
        seq=seq,
        action=action,
        look=look,
    )


@drill_view("POST")
def drill_next(request: HtmxRequest, seen: read.DrillSeen) -> HttpResponse:
    """The next inject, where the training officer steps by hand."""
    return _done(request, seen, write.give_next)


@drill_view("POST")
def drill_end(request: HtmxRequest, seen: read.DrillSeen) -> HttpResponse:
    return _done(request, seen, write.end_drill)


def _done(
    request: HtmxRequest, seen: read.DrillSeen, act: Callable[..., Any], **given: Any
) -> HttpResponse:
    """Do it as this person, now; say a refusal on the page."""
    pk = seen.drill.pk
    try:
        act(incident_id=pk, person=request.user, at=timezone.now(), **given)
    except services.RefusalError as refusal:
        return _after(request, seen, str(refusal))
    return _after(request, read.drill_for(request.user, pk))


def _after(request: HtmxRequest, seen: read.DrillSeen, error: str = "") -> HttpResponse:
    status = 422 if error else 200
    live = _live(request, seen, error)
    if request.htmx:
        return HttpResponse(render_to_string(LIVE, live), status=status)
    if not error:
        return redirect("incidents:drill", seen.drill.pk)
    return _page(request, seen, live, status)


@drill_view("GET")
def drill_results(request: HtmxRequest, seen: read.DrillSeen) -> HttpResponse:
    """After the end: one's own score; that of each for who runs the drills."""
    if not seen.drill.is_over:
        raise Http404("This drill is not over.")
    found = [
        one
        for one in read.results(seen.drill)
        if read.may_see_results(request.user, one.member.person)
    ]
    return page(
        request,
        "drill/results.html",
        seen=seen,
        drill_name=seen.drill.incident.name,
        people=[_scored(one) for one in found],
        unchecked=read.left_unchecked(seen.drill) if not seen.role else (),
        script=script_of(seen.drill.script),
    )


def _scored(one: read.PersonResult) -> dict[str, Any]:
    """A score with its injects in words."""
    names = names_of(one.drill.incident)
    rows = {row.key: row for row in read.rows_of(one.drill)}
    marks = []
    for mark in one.score.marks:
        entry, body = rows[mark.verdict.entry].entry, rows[mark.verdict.entry].body
        marks.append(
            {
                "mark": mark,
                "words": words_of(entry, body, names),
                "place": str(body.get("place", "")),
                "team": names.team(str(body.get("team", ""))),
                "wears": Ensemble(mark.verdict.ensemble).label,
            }
        )
    part = ROLE_WORDS[one.member.role]
    return {"result": one, "marks": marks, "part": part, "delay": _seconds(one)}


def _seconds(one: read.PersonResult) -> str:
    delay = one.score.delay
    return "" if delay is None else f"{round(delay.total_seconds())} s"


@require_GET
def own_results(request: HtmxRequest) -> HttpResponse:
    return redirect("incidents:drill-person", request.user.pk)


@require_GET
def person_results(request: HtmxRequest, number: int) -> HttpResponse:
    """One person's drills over time, for that person and who runs the drills."""
    person = get_object_or_404(Person, pk=number)
    if not read.may_see_results(request.user, person):
        raise Http404("Nobody whose results you may see has this address.")
    found = read.results_of(person)
    return page(
        request,
        "drill/person.html",
        person=person,
        drill_name=f"results of {person.shown_name}",
        outcomes=list(Outcome),
        rows=[{"result": one, "delay": _seconds(one)} for one in found],
    )
