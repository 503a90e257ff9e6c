"""Exposure records: who has one, and one person's, to read and to print."""

from typing import Any, Final, cast

from django.http import Http404, HttpResponse
from django.utils import timezone

from command.dose import GUIDANCE
from incidents import selectors
from incidents.models import Incident
from incidents.services import permissions
from incidents.views.access import EVERYONE, HtmxRequest, incident_view, page, role_in
from reports.exposure import RECORD_SOURCE, WATCH_HOURS

SEEING: Final = frozenset(
    role for role in EVERYONE if permissions.may_see_exposure(role)
)


@incident_view("GET", roles=SEEING)
def exposures(request: HtmxRequest, incident: Incident) -> HttpResponse:
    return page(
        request,
        "line/exposures.html",
        incident,
        people=selectors.exposed_people(incident, timezone.now()),
    )


@incident_view("GET", roles=SEEING)
def exposure(request: HtmxRequest, incident: Incident, code: str) -> HttpResponse:
    """One person's record; the names of all others are left out."""
    record = selectors.exposure_record(incident, code, timezone.now())
    if record is None:
        raise Http404("Nobody of this incident has such a record.")
    response = page(
        request,
        "line/exposure.html",
        incident,
        record=record,
        code=code,
        everywhere=request.user.agency_id == incident.agency_id
        and not cast(Any, incident).is_imported,
        guidance=GUIDANCE,
        record_source=RECORD_SOURCE,
        watch=WATCH_HOURS,
        may_tell=permissions.may_plan(role_in(incident), "notice")
        and not incident.is_closed,
    )
    response["Cache-Control"] = "no-store"
    return response
