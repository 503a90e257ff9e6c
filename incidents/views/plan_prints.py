"""The plan and the log on paper, in the blocks of the public ICS forms: page and PDF."""

from typing import Final

from django.http import Http404, HttpResponse
from django.utils import timezone

from command.geography import features
from incidents import selectors
from incidents.documents import dumps
from incidents.models import Incident
from incidents.views import plan_forms
from incidents.views.access import HtmxRequest, file_stem, incident_view, page
from reports import forms

PAGE_SIZES: Final = ("A4", "letter")


@incident_view("GET")
def site_safety_plan(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """ICS 208 HM, filled from what is known; `?blank=1` gives it empty."""
    return _printed(request, incident, plan_forms.SITE_SAFETY_PLAN)


@incident_view("GET")
def incident_briefing(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """ICS 201 for whoever takes over, filled from what is known; `?blank=1` empty."""
    return _printed(request, incident, plan_forms.INCIDENT_BRIEFING)


@incident_view("GET")
def activity_log(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """ICS 214, filled from the log; `?blank=1` gives it empty."""
    return _printed(request, incident, plan_forms.ACTIVITY_LOG)


def _printed(request: HtmxRequest, incident: Incident, name: str) -> HttpResponse:
    template = f"plan/{name.replace('-', '_')}.html"
    form = plan_forms.form_of(request, incident, name)
    return page(request, template, incident, form=form, form_name=name)


@incident_view("GET")
def form_file(request: HtmxRequest, incident: Incident, form: str) -> HttpResponse:
    """The same form as a PDF; `?paper=letter` for the other size, `?blank=1` empty."""
    paper = request.GET.get("paper", PAGE_SIZES[0])
    if form not in plan_forms.NAMES or paper not in PAGE_SIZES:
        raise Http404("No such form.")
    made = plan_forms.form_of(request, incident, form)
    answer = HttpResponse(
        forms.build(made, page_size=paper), content_type="application/pdf"
    )
    stem = "blank" if made.by_hand else file_stem(incident)
    answer["Content-Disposition"] = f'attachment; filename="{stem}-{form}.pdf"'
    return answer


@incident_view("GET")
def zones_file(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """The zones that have corners, for any map that reads GeoJSON."""
    view = selectors.plan_view(incident, timezone.now())
    found = features(view.plan) | ({"drill": True} if incident.is_drill else {})
    response = HttpResponse(dumps(found), content_type="application/geo+json")
    name = f"{file_stem(incident)}-zones.geojson"
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


@incident_view("GET")
def page_head(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """The incident's name at the head of each printed page, outside of what is printed.

    A sheet of its own: the policy of the site lets no style stand in a page.
    """
    said = f"Drill: {incident.name}" if incident.is_drill else incident.name
    name = "".join(f"\\{ord(letter):x} " for letter in said)
    rule = f'@page {{ @top-center {{ content: "{name}"; font: 9pt sans-serif; }} }}\n'
    return HttpResponse(rule, content_type="text/css; charset=utf-8")
