"""The list of incidents, and a new one."""

from typing import Any, cast

from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from incidents import selectors, services
from incidents.forms.opening import OpeningForms
from incidents.forms.team import AddedTeamForm
from incidents.kit import worksheet_object
from incidents.models import Incident, IncidentRole, Person, SopProfile
from incidents.selectors import profiles as read
from incidents.services.profiles import BUILT_IN
from incidents.views.access import COMMAND, HtmxRequest, incident_view, page

INCIDENTS_SHOWN = 200
DRILLS_SHOWN = 20


@require_GET
def incident_list(request: HtmxRequest) -> HttpResponse:
    mine = selectors.incidents_for(request.user)
    incidents = list(mine.filter(is_drill=False)[:INCIDENTS_SHOWN])
    drills = list(mine.filter(is_drill=True)[:DRILLS_SHOWN])
    for incident in (*incidents, *drills):
        role = cast(Any, incident).role
        cast(Any, incident).part = IncidentRole.Role(role).label
    return page(request, "incident/list.html", incidents=incidents, drills=drills)


@require_http_methods(["GET", "POST"])
def incident_new(request: HtmxRequest) -> HttpResponse:
    person = request.user
    if person.agency is None or not person.may_open:
        raise PermissionDenied(
            "You may not open an incident. Ask who runs your agency."
        )
    in_force = read.in_force(
        person.agency, read.today_of(person.agency, timezone.now())
    )
    rows = selectors.register(person.agency, timezone.now())
    forms = OpeningForms(
        request.POST if request.method == "POST" else None,
        profiles=[*((str(v.pk), _named(v)) for v in in_force), ("", "Built-in limits")],
        instruments=[(row.instrument.key, row.words) for row in rows],
        commander=person.shown_name,
    )
    if request.method == "POST" and forms.is_valid():
        taken = forms.incident.cleaned_data.get("instruments", ())
        chosen = forms.incident.cleaned_data["profile"]
        incident = _open(
            forms,
            person,
            next((v for v in in_force if str(v.pk) == chosen), None),
            [worksheet_object(r.instrument) for r in rows if r.instrument.key in taken],
        )
        if incident is not None:
            return redirect("incidents:sheet", incident.pk)
    status = 422 if request.method == "POST" else 200
    return page(request, "incident/new.html", forms=forms, status=status)


def _named(version: SopProfile) -> str:
    return f"{version}, in force since {version.effective_on:%Y-%m-%d}"


def _open(
    forms: OpeningForms,
    person: Person,
    sop: SopProfile | None,
    instruments: list[dict[str, Any]],
) -> Incident | None:
    """Open it; None, with the reasons in the form, where it was refused."""
    about = forms.incident.cleaned_data
    try:
        return services.open_incident(
            person=person,
            name=about["name"],
            location=about["location"],
            mission=about["mission"],
            weather=forms.incident.weather() or None,
            profile=None if sop else dict(BUILT_IN),
            teams=forms.team_documents(),
            instruments=instruments,
            suspects=forms.incident.suspect_names(),
            background_dose_rate=forms.incident.background_dose_rate(),
            sop=sop,
            at=timezone.now(),
            first_parts=forms.incident.first_parts(person.shown_name),
        )
    except services.EntryRefusedError as refusal:
        for error in refusal.errors:
            forms.incident.add_error(
                None, f"{error.pointer}: expected {error.expected}."
            )
    except services.RefusalError as refusal:
        forms.incident.add_error(None, str(refusal))
    return None


@incident_view("GET", "POST", roles=COMMAND)
def team_new(request: HtmxRequest, incident: Incident) -> HttpResponse:
    form = AddedTeamForm(
        request.POST if request.method == "POST" else None,
        taken=list(incident.teams.values_list("key", flat=True)),
    )
    if form.is_bound and form.is_valid():
        try:
            services.add_team(
                incident_id=incident.pk,
                person=request.user,
                team=form.document(),
                at=timezone.now(),
            )
        except services.RefusalError as refusal:
            form.add_error(None, str(refusal))
        else:
            return redirect("incidents:sheet", incident.pk)
    status = 422 if form.is_bound else 200
    return page(request, "incident/team.html", incident, status=status, form=form)
