"""The list of incidents, a new one, and who takes which part."""

from typing import Any, cast

from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from incidents import selectors, services
from incidents.documents import loads
from incidents.forms.opening import OpeningForms
from incidents.forms.roles import RoleForm
from incidents.forms.team import AddedTeamForm
from incidents.models import Incident, IncidentRole, Person, SopProfile
from incidents.views.access import COMMAND, HtmxRequest, incident_view, page

INCIDENTS_SHOWN = 200
DEFAULT_PROFILE = {"name": "Built-in limits", "version": "1"}


@require_GET
def incident_list(request: HtmxRequest) -> HttpResponse:
    incidents = list(selectors.incidents_for(request.user)[:INCIDENTS_SHOWN])
    for incident in incidents:
        role = cast(Any, incident).role
        cast(Any, incident).part = IncidentRole.Role(role).label
    return page(request, "incident/list.html", incidents=incidents)


@require_http_methods(["GET", "POST"])
def incident_new(request: HtmxRequest) -> HttpResponse:
    person = request.user
    if person.agency is None or not person.may_open:
        raise PermissionDenied(
            "You may not open an incident. Ask who runs your agency."
        )
    profiles = list(person.agency.sop_profiles.all())
    instruments = list(person.agency.instruments.all())
    forms = OpeningForms(
        request.POST if request.method == "POST" else None,
        profiles=[*((str(p.pk), str(p)) for p in profiles), ("", "Built-in limits")],
        instruments=[(i.key, i.label) for i in instruments],
    )
    if request.method == "POST" and forms.is_valid():
        taken = forms.incident.cleaned_data.get("instruments", ())
        incident = _open(
            forms,
            person,
            _profile_document(profiles, forms.incident.cleaned_data["profile"]),
            [loads(i.document) for i in instruments if i.key in taken],
        )
        if incident is not None:
            return redirect("incidents:sheet", incident.pk)
    status = 422 if request.method == "POST" else 200
    return page(request, "incident/new.html", forms=forms, status=status)


def _profile_document(profiles: list[SopProfile], chosen: str) -> dict[str, Any]:
    for profile in profiles:
        if str(profile.pk) == chosen:
            document: dict[str, Any] = loads(profile.document)
            return document
    return dict(DEFAULT_PROFILE)


def _open(
    forms: OpeningForms,
    person: Person,
    profile: dict[str, Any],
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
            profile=profile,
            teams=forms.team_documents(),
            instruments=instruments,
            suspects=forms.incident.suspect_names(),
            background_dose_rate=forms.incident.background_dose_rate(),
            at=timezone.now(),
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


@incident_view("GET", "POST", roles=COMMAND)
def people(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """Who has a part in the incident; the commander gives parts."""
    everyone = list(incident.agency.people.filter(is_active=True).order_by("username"))
    form = RoleForm(
        request.POST if request.method == "POST" else None,
        people=[(str(p.pk), p.shown_name) for p in everyone if p != request.user],
    )
    if request.method == "POST" and form.is_valid():
        chosen = {str(person.pk): person for person in everyone}
        try:
            services.give_role(
                incident_id=incident.pk,
                person=request.user,
                to=chosen[form.cleaned_data["person"]],
                role=form.cleaned_data["role"],
                at=timezone.now(),
            )
        except services.RefusalError as refusal:
            form.add_error(None, str(refusal))
        else:
            return redirect("incidents:people", incident.pk)
    return page(
        request,
        "incident/people.html",
        incident,
        status=422 if form.is_bound else 200,
        form=form,
        roles=incident.roles.select_related("person").order_by(
            "role", "person__username"
        ),
    )
