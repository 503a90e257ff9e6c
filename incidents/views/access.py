"""Who may open a page of an incident; every such page is loaded here and nowhere else."""

from collections.abc import Callable
from functools import wraps
from typing import Any, cast
from uuid import UUID
from zoneinfo import ZoneInfo

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_http_methods
from django_htmx.middleware import HtmxDetails

from incidents import selectors
from incidents.models import Incident, IncidentRole, Person
from incidents.services import permissions
from screening.verdicts import CAUTION

Role = IncidentRole.Role
EVERYONE = frozenset(role.value for role in Role)
WRITERS = frozenset(permissions.KINDS_OF_ROLE)
ROLE_WORDS = {
    Role.COMMANDER.value: "commander",
    Role.TECHNICIAN.value: "technician",
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
    does not carry the page. Inside, times are those of the agency's zone.
    """

    def decorate(view: View) -> View:
        @require_http_methods(list(methods))
        @wraps(view)
        def wrapped(request: HtmxRequest, pk: UUID, **kwargs: Any) -> HttpResponse:
            incident = selectors.get_incident_for(request.user, pk)
            if role_in(incident) not in roles:
                raise PermissionDenied(
                    f"Your part in this incident, {ROLE_WORDS[role_in(incident)]}, "
                    "does not carry this page."
                )
            with timezone.override(zone_of(incident)):
                return view(request, incident, **kwargs)

        return cast(View, wrapped)

    return decorate


def role_in(incident: Incident) -> str:
    """The role that `get_incident_for` found."""
    return cast(str, incident.role)  # type: ignore[attr-defined]


def zone_of(incident: Incident) -> ZoneInfo:
    return ZoneInfo(incident.agency.time_zone)


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
    zone = agency.time_zone if agency else "UTC"
    context |= {"now": timezone.now(), "caution": CAUTION, "incident": incident}
    context["zone"] = zone
    if incident is not None:
        role = role_in(incident)
        context |= {
            "part": ROLE_WORDS[role],
            "may_log": role in WRITERS,
            "may_command": permissions.may_command(role),
        }
    with timezone.override(ZoneInfo(zone)):
        return render(request, template, context, status=status)
