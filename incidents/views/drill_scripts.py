"""Scripts of drills and planned days, for who reviews the agency's incidents."""

from collections.abc import Callable
from functools import wraps
from typing import Any, cast
from uuid import UUID

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from incidents import selectors, services
from incidents.drill_keys import script_of
from incidents.forms.drills import FromIncidentForm, PlanForm, ScriptForm, StartForm
from incidents.models import Agency, DrillScript, Person, PlannedDrill
from incidents.selectors import drills as read
from incidents.selectors.profiles import today_of
from incidents.services import drill_scripts as keep
from incidents.services import drills as write
from incidents.services import permissions
from incidents.views.access import HtmxRequest, View, page
from incidents.views.exports import calendar_file
from incidents.views.sending import refuse
from reports import icalendar
from reports.words import describe
from review import scoring
from review.disguise import members_of, places_of
from screening.worksheet import DocumentError


def reviewer_view(*methods: str) -> Callable[[View], View]:
    """Give the view the agency of who reviews its incidents; 403 for everybody else."""

    def decorate(view: View) -> View:
        @require_http_methods(list(methods))
        @wraps(view)
        def wrapped(request: HtmxRequest, **kwargs: Any) -> HttpResponse:
            person = request.user
            if person.agency is None or not permissions.may_review(person):
                raise PermissionDenied(
                    "The training officer of the agency runs drills."
                )
            return view(request, person.agency, **kwargs)

        return cast(View, wrapped)

    return decorate


@require_GET
def drills(request: HtmxRequest) -> HttpResponse:
    """Running, planned and past drills; the scripts for who runs them."""
    person, now = request.user, timezone.now()
    if person.agency is None:
        raise PermissionDenied("Only people of an agency take part in its drills.")
    runs = permissions.may_review(person)
    rows = list(read.drills_of(person)[:100])
    return page(
        request,
        "drill/list.html",
        runs=runs,
        running=[row for row in rows if not row.is_over],
        past=[row for row in rows if row.is_over],
        planned=read.planned_for(person, today_of(person.agency, now)),
        scripts=list(read.scripts_of(person.agency)) if runs else [],
        people=_people(person.agency) if runs else [],
    )


def _people(agency: Agency, without: Person | None = None) -> list[Person]:
    rows = agency.people.filter(is_active=True).order_by("display_name", "username")
    return [one for one in rows if without is None or one.pk != without.pk]


@reviewer_view("GET", "POST")
def script_new(request: HtmxRequest, agency: Agency) -> HttpResponse:
    """A script from a file or as text: all of its errors at once, or the script."""
    form = ScriptForm(
        request.POST if request.method == "POST" else None, request.FILES or None
    )
    errors: tuple[DocumentError, ...] = ()
    if form.is_bound and form.is_valid():
        try:
            script = keep.add_script(
                person=request.user, file=form.content(), at=timezone.now()
            )
        except services.EntryRefusedError as refusal:
            errors = refusal.errors
        else:
            return redirect("incidents:drill-script", script.pk)
    status = 422 if form.is_bound else 200
    return page(
        request, "drill/script_new.html", status=status, form=form, errors=errors
    )


@reviewer_view("GET", "POST")
def script_from(request: HtmxRequest, agency: Agency, pk: UUID) -> HttpResponse:
    """A script made from a past incident, with nobody's name in it."""
    incident = selectors.get_incident_for(request.user, pk)
    if incident.agency_id != agency.pk:
        raise Http404("No such incident of your agency.")
    document = selectors.worksheet_document(incident)
    teams = {team.key: team for team in incident.teams.prefetch_related("members")}
    people = [
        (f"{team}/{one}", {m.key: m.name for m in teams[team].members.all()}[one])
        for team, one in members_of(document)
    ]
    form = FromIncidentForm(
        request.POST if request.method == "POST" else None,
        places=places_of(document),
        people=people,
    )
    if form.is_bound and form.is_valid():
        try:
            script = keep.script_from_incident(
                incident=incident,
                person=request.user,
                name=form.cleaned_data["name"],
                place=form.cleaned_data["place"],
                goals=form.goal_lines(),
                briefing=form.cleaned_data["briefing"],
                places=form.other_places(),
                people=form.other_people(),
                at=timezone.now(),
            )
        except services.RefusalError as refusal:
            refuse(form, refusal)
        else:
            return redirect("incidents:drill-script", script.pk)
    status = 422 if form.is_bound else 200
    return page(
        request, "drill/script_from.html", status=status, form=form, source=incident
    )


@reviewer_view("GET")
def script(request: HtmxRequest, agency: Agency, number: int) -> HttpResponse:
    """A script with the engine's verdict at each inject."""
    row = _script(agency, number)
    found = script_of(row)
    sheet = found.worksheet
    said = scoring.verdicts(sheet.context, sheet.log)
    lines = [
        {
            "entry": entry,
            "after": int(found.offset(entry).total_seconds()),
            "words": describe(entry, dict(found.names)),
            "team": found.names.get(entry.team, entry.team),
            "asks": entry.id in found.asks,
            "sees": sorted(found.sees.get(entry.id, ())),
            "verdict": said[entry.id],
        }
        for entry in sheet.log
    ]
    return page(
        request,
        "drill/script.html",
        row=row,
        script=found,
        lines=lines,
        drill_name=row.name,
    )


def _script(agency: Agency, number: int) -> DrillScript:
    return get_object_or_404(read.scripts_of(agency), pk=number)


@reviewer_view("GET")
def script_file(request: HtmxRequest, agency: Agency, number: int) -> HttpResponse:
    """The script as it came."""
    row = _script(agency, number)
    response = HttpResponse(row.document, content_type="application/json")
    name = f"drill-script-{row.pk}.json"
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


@reviewer_view("GET", "POST")
def drill_start(request: HtmxRequest, agency: Agency, number: int) -> HttpResponse:
    """Name the crew, choose the pace, begin."""
    row = _script(agency, number)
    asked = request.GET.get("planned")
    planned = None if asked is None else read.planned_with(row, asked)
    form = StartForm(
        request.POST if request.method == "POST" else None,
        people=_people(agency, without=request.user),
        planned=planned.crew.all() if planned else (),
    )
    if form.is_bound and form.is_valid():
        try:
            drill = write.start_drill(
                person=request.user,
                script=row,
                crew=form.crew(),
                speed=int(form.cleaned_data["speed"]),
                answer_seconds=int(form.cleaned_data["answer_seconds"]),
                at=timezone.now(),
                planned=planned,
            )
        except services.RefusalError as refusal:
            refuse(form, refusal)
        else:
            return redirect("incidents:drill", drill.pk)
    status = 422 if form.is_bound else 200
    return page(
        request,
        "drill/start.html",
        status=status,
        form=form,
        row=row,
        drill_name=row.name,
    )


@reviewer_view("GET", "POST")
def drill_plan(request: HtmxRequest, agency: Agency, number: int) -> HttpResponse:
    """Put a drill on a day."""
    row = _script(agency, number)
    form = PlanForm(
        request.POST if request.method == "POST" else None,
        people=_people(agency, without=request.user),
        today=today_of(agency, timezone.now()),
    )
    if form.is_bound and form.is_valid():
        try:
            keep.plan_drill(
                person=request.user,
                script=row,
                day=form.cleaned_data["day"],
                crew=form.chosen(),
                at=timezone.now(),
            )
        except services.RefusalError as refusal:
            refuse(form, refusal)
        else:
            return redirect("incidents:drills")
    status = 422 if form.is_bound else 200
    return page(
        request,
        "drill/plan.html",
        status=status,
        form=form,
        row=row,
        drill_name=row.name,
    )


@reviewer_view("POST")
def drill_call_off(request: HtmxRequest, agency: Agency, number: int) -> HttpResponse:
    planned = get_object_or_404(
        PlannedDrill.objects.select_related("script"),
        pk=number,
        script__agency=agency,
    )
    keep.call_off(person=request.user, planned=planned, at=timezone.now())
    return redirect("incidents:drills")


@require_GET
def drill_days(request: HtmxRequest) -> HttpResponse:
    """The planned drills as a calendar: one's own, or all for who runs them."""
    person, now = request.user, timezone.now()
    if person.agency is None:
        raise PermissionDenied("Only people of an agency take part in its drills.")
    days = [
        icalendar.Due(
            uid=f"drill-{one.pk}@{person.agency.slug}.worksheet.invalid",
            day=one.day,
            title=f"Drill: {one.script.name}",
            words=f"Drill. Crew: {', '.join(each.shown_name for each in one.crew.all())}.",
        )
        for one in read.planned_for(person, today_of(person.agency, now))
    ]
    title = f"Drills of {person.agency.name}"
    return calendar_file(title, days, now, "drills-planned.ics")
