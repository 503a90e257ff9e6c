"""What the program judges by, whether it lives, what time it is, and how it refuses."""

from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError, connection
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET

from incidents import engine
from incidents.documents import loads
from incidents.models import Incident
from incidents.views.access import HtmxRequest, incident_view, page
from screening.profile import LIMITS, Profile
from screening.rules import RULES


@require_GET
def rules(request: HtmxRequest) -> HttpResponse:
    """Every rule and every default limit, each with its source."""
    return page(request, "incident/rules.html", rules=RULES, limits=LIMITS.values())


@incident_view("GET")
def incident_rules(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """The limits that this incident is judged by, and which of them are loosened."""
    profile: Profile = engine.context_of(loads(incident.setup)).profile
    return page(
        request,
        "incident/rules.html",
        incident,
        rules=RULES,
        limits=LIMITS.values(),
        profile=profile,
        loosened=profile.loosened(),
    )


@login_not_required
@never_cache
@require_GET
def clock(request: HttpRequest) -> JsonResponse:
    """The server's time, by which every device counts."""
    return JsonResponse({"now": timezone.now().isoformat()})


@login_not_required
@never_cache
@require_GET
def health(request: HttpRequest) -> JsonResponse:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
            cursor.fetchone()
    except DatabaseError:
        return JsonResponse({"database": "no answer"}, status=503)
    return JsonResponse({"database": "ok"})
