"""What the program judges by, whether it lives, what time it is, and how it refuses."""

from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError, connection
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET

from command.needs import NEEDS
from incidents import engine
from incidents.house_rules import loosened
from incidents.models import Incident
from incidents.selectors import profiles as read
from incidents.views.access import HtmxRequest, incident_view, page
from incidents.views.sop_change import other_versions
from screening.profile import LIMITS
from screening.rules import RULES


@require_GET
def rules(request: HtmxRequest) -> HttpResponse:
    """Every rule and every default limit, each with its source."""
    return page(
        request,
        "incident/rules.html",
        rules=RULES,
        limits=LIMITS.values(),
        needs=NEEDS.values(),
    )


@incident_view("GET")
def incident_rules(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """What this incident is judged by, who approved it, and what is loosened."""
    profile = engine.live(incident).context.profile
    sop = incident.sop
    return page(
        request,
        "incident/rules.html",
        incident,
        rules=RULES,
        limits=LIMITS.values(),
        needs=NEEDS.values(),
        profile=profile,
        sop=sop,
        house=read.house_rows(sop),
        loosened=(*profile.loosened(), *loosened(sop)),
        others=other_versions(request, incident),
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
