"""Who may open a page of an incident; every such page is loaded here and nowhere else."""

from collections.abc import Callable
from functools import wraps
from typing import Any, cast
from uuid import UUID
from zoneinfo import ZoneInfo

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_http_methods
from django_htmx.middleware import HtmxDetails

from incidents import selectors
from incidents.models import Agency, Incident, IncidentRole, Person
from incidents.services import permissions
from incidents.services.errors import DrillError
from screening.verdicts import CAUTION

Role = IncidentRole.Role
EVERYONE = frozenset(role.value for role in Role)
WRITERS = frozenset(permissions.KINDS_OF_ROLE)
ROLE_WORDS = {
    Role.COMMANDER.value: "commander",
    Role.SAFETY_OFFICER.value: "safety officer",
    Role.TECHNICIAN.value: "technician",
    Role.MEDICAL.value: "medical",
    Role.TRAINING_OFFICER.value: "training officer",
    Role.VIEWER.value: "viewer",
}
COMMAND = frozenset({Role.COMMANDER.value})


class HtmxRequest(HttpRequest):
    """For type hints: what the middlewares add."""

    htmx: HtmxDetails
    user: Person


View = Callable[..., HttpResponse]


def incident_view(
    *methods: str, roles: frozenset[str] = EVERYONE
) -> Callable[[View], View]:
    """Give the view an incident that the person has a part in.

    404 for people of another agency and for those without a part; 403 where the part
    does not carry the page. The crew of a running drill is sent to the drill's own page. Inside, times are those of the agency's zone.
    """

    def decorate(view: View) -> View:
        @require_http_methods(list(methods))
        @wraps(view)
        def wrapped(request: HtmxRequest, pk: UUID, **kwargs: Any) -> HttpResponse:
            try:
                incident = selectors.get_incident_for(request.user, pk)
            except selectors.DrillRunningError:
                if request.method != "GET":
                    raise
                return redirect("incidents:drill", pk)
            if role_in(incident) not in roles:
                raise PermissionDenied(
                    f"Your part in this incident, {ROLE_WORDS[role_in(incident)]}, "
                    "does not carry this page."
                )
            try:
                with timezone.override(zone_of(incident)):
                    return view(request, incident, **kwargs)
            except DrillError as refusal:
                raise PermissionDenied(str(refusal)) from refusal

        return cast(View, wrapped)

    return decorate


def role_in(incident: Incident) -> str:
    """The role that `get_incident_for` found."""
    return cast(str, incident.role)  # type: ignore[attr-defined]


def file_stem(incident: Incident) -> str:
    """The incident's name as a file may have it; of a drill it says so."""
    stem = slugify(incident.name)[:60] or "incident"
    return f"drill-{stem}" if incident.is_drill else stem


def zone_of(incident: Incident) -> ZoneInfo:
    return ZoneInfo(incident.agency.time_zone)


def zone_of_agency(agency: Agency | None) -> ZoneInfo:
    return ZoneInfo(agency.time_zone if agency else "UTC")


def page(
    request: HtmxRequest,
    template: str,
    incident: Incident | None = None,
    *,
    status: int = 200,
    **context: Any,
) -> HttpResponse:
    """Render with what every page carries."""
    agency = incident.agency if incident else request.user.agency
    zone = zone_of_agency(agency)
    context |= {"now": timezone.now(), "caution": CAUTION, "incident": incident}
    context["zone"] = zone.key
    if incident is not None and incident.is_drill:
        context["drill_name"] = incident.name
    if incident is not None:
        role, free = role_in(incident), not selectors.is_scripted(incident)
        context |= {
            "part": ROLE_WORDS[role],
            "may_log": free and role in WRITERS,
            "may_command": free and permissions.may_command(role),
            "scripted": not free,
        }
    with timezone.override(zone):
        return render(request, template, context, status=status)
