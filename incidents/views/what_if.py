"""What if: one incident under other limits, and the whole archive in the background."""

from contextlib import suppress
from datetime import timedelta
from typing import Any, Final

from django.core.exceptions import PermissionDenied
from django.http import HttpResponse, StreamingHttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import (
    require_GET,
    require_http_methods,
    require_POST,
)

from incidents import selectors, services
from incidents.documents import loads
from incidents.forms.what_if import WhatIfForm
from incidents.models import Agency, Incident, SopProfile, WhatIfRun
from incidents.selectors.one_what_if import incident_what_if
from incidents.services import permissions, what_if_runs
from incidents.views.access import HtmxRequest, incident_view, page
from incidents.views.what_if_lines import entry_lines, move_lines, team_lines
from incidents.views.words import names_of
from review.what_if import Change
from screening.rules.found import minutes
from screening.worksheet import DocumentError, WorksheetErrors, parse_context

# Nobody has touched a run for so long that something may be wrong with the worker.
SILENT: Final = timedelta(seconds=60)


@incident_view("GET")
def what_if(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """One incident both ways, side by side. The address holds what was asked."""
    form = _form_of(request, incident)
    context: dict[str, Any] = {"form": form}
    status = 200
    if form.is_bound and form.is_valid():
        change = form.change()
        context["words"] = form.words()
        if change != Change():
            context |= _both_ways(incident, change)
    elif form.is_bound:
        status = 422
    return page(request, "what_if/incident.html", incident, status=status, **context)


def _form_of(request: HtmxRequest, incident: Incident) -> WhatIfForm:
    setup = loads(incident.setup)
    profile = setup.get("profile", {"name": "Built-in limits", "version": "1"})
    names = names_of(incident)
    here = request.user.agency_id == incident.agency_id
    return WhatIfForm(
        request.GET if request.GET else None,
        own=f"As it was: {profile['name']}, version {profile['version']}",
        editions=_editions(incident.agency) if here else (),
        teams=[
            (team["id"], names.team(team["id"]), team["ensemble"])
            for team in setup["teams"]
        ],
    )


def _both_ways(incident: Incident, change: Change) -> dict[str, Any]:
    try:
        found = incident_what_if(incident, change)
    except WorksheetErrors as errors:
        refused: tuple[DocumentError, ...] = errors.errors
        return {"refused": refused}
    names, outcome = names_of(incident), found.outcome
    return {
        "outcome": outcome,
        "teams": team_lines(found, names),
        "moves": move_lines(found, names),
        "entries": entry_lines(found, names),
        "judged": len(outcome.before.actions),
        "not_judged": {*outcome.before.not_judged, *outcome.after.not_judged},
        "loosened": _loosened(change, incident),
    }


def _loosened(change: Change, incident: Incident) -> tuple[str, ...]:
    """A sentence for each limit asked for that is looser than its published source."""
    changed = change.applied_to(loads(incident.setup))
    return parse_context(changed).profile.loosened()


def _editions(agency: Agency) -> list[SopProfile]:
    return list(agency.sop_profiles.order_by("-created_at", "-pk"))


# --- The archive -------------------------------------------------------------------------


@require_GET
def runs(request: HtmxRequest) -> HttpResponse:
    agency = _agency(request)
    return page(request, "what_if/runs.html", runs=selectors.what_if_runs(agency))


@require_http_methods(["GET", "POST"])
def run_new(request: HtmxRequest) -> HttpResponse:
    """Ask for the whole archive under an edition, or with one limit changed."""
    agency = _agency(request)
    form = WhatIfForm(
        request.POST if request.method == "POST" else None,
        own="As each incident was judged",
        editions=_editions(agency),
    )
    if form.is_bound and form.is_valid():
        document = form.document()
        if document is None:
            form.add_error("limit", "Choose an edition, or a limit and its value.")
        else:
            run = what_if_runs.start_run(
                person=request.user,
                name=form.words(),
                query=form.query(),
                document=document,
                at=timezone.now(),
            )
            return redirect("incidents:what-if-run", run.pk)
    count = selectors.what_if_extent(agency)
    status = 422 if form.is_bound else 200
    return page(request, "what_if/new.html", status=status, form=form, count=count)


@require_GET
def run(request: HtmxRequest, number: int) -> HttpResponse:
    """How far it is, or what came of it."""
    _agency(request)
    found = selectors.what_if_run_for(request.user, number)
    context = _progress(found)
    if found.has_ended:
        context["result"] = selectors.what_if_result(found)
    template = "partials/run.html" if request.htmx else "run.html"
    return page(request, f"what_if/{template}", **context)


def _progress(found: WhatIfRun) -> dict[str, Any]:
    now = timezone.now()
    left = selectors.time_left(found, now)
    beat = found.heartbeat_at or found.asked_at
    is_left = what_if_runs.is_left(found, now)
    return {
        "run": found,
        "percent": 100 * found.done // found.total if found.total else 100,
        "left": minutes(left.total_seconds()) if left is not None else "",
        "silent": not found.has_ended and now - beat > SILENT,
        "silence": minutes((now - beat).total_seconds()),
        "may_go_on": is_left or found.state in ("cancelled", "failed"),
    }


@require_POST
def run_cancel(request: HtmxRequest, number: int) -> HttpResponse:
    return _told(request, number, what_if_runs.cancel_run)


@require_POST
def run_go_on(request: HtmxRequest, number: int) -> HttpResponse:
    return _told(request, number, what_if_runs.take_up)


def _told(request: HtmxRequest, number: int, what: Any) -> HttpResponse:
    """Where it came to an end meanwhile, the page of the run says so."""
    _agency(request)
    found = selectors.what_if_run_for(request.user, number)
    with suppress(services.RunEndedError):
        what(person=request.user, run=found, at=timezone.now())
    return redirect("incidents:what-if-run", found.pk)


@require_GET
def run_document(request: HtmxRequest, number: int) -> StreamingHttpResponse:
    """What was judged so far: the document that `manage.py whatif` prints."""
    _agency(request)
    found = selectors.what_if_run_for(request.user, number)
    pieces = selectors.run_document(found)
    answer = StreamingHttpResponse(pieces, content_type="application/json")
    answer["Content-Disposition"] = f'attachment; filename="what-if-{number}.json"'
    return answer


def _agency(request: HtmxRequest) -> Agency:
    try:
        return permissions.require_reviewer(request.user)
    except services.NotAllowedError as refusal:
        raise PermissionDenied(
            "Who reviews your agency's incidents may ask this of all of them."
        ) from refusal
