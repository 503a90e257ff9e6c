"""The record of an incident: whether its chain holds, and what is kept of it."""

from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from incidents import selectors, services
from incidents.forms.addendum import AddendumForm
from incidents.models import Incident
from incidents.services import chain
from incidents.views.access import WRITERS, HtmxRequest, incident_view, page
from incidents.views.sending import DEVICE_LENGTH, refuse
from reports import cap, readings_csv
from reports.words import KIND_LABELS


@incident_view("GET", "POST")
def record(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """GET says what is kept; POST walks the whole log first and says what it found.

    Nothing is stored, so a second press does no harm.
    """
    checked = request.method == "POST"
    problem = chain.verify(incident) if checked else None
    incident = selectors.get_incident_for(request.user, incident.pk)
    return page(
        request,
        "record/record.html",
        incident,
        checked=checked,
        problem=problem,
        anchors=list(incident.anchors.select_related("made_by").order_by("-pk")),
        reports=list(incident.reports.defer("pdf")),
        kinds=[(kind, KIND_LABELS[kind]) for kind in readings_csv.KINDS],
        warnings=[word.lower() for word in cap.RESPONSES],
        kept=selectors.kept_until(incident, timezone.now()),
        due=selectors.signing_due(incident),
    )


@incident_view("GET", "POST", roles=WRITERS)
def addendum(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """Say something after the closing; an open incident takes notes."""
    if not incident.is_closed:
        return redirect("incidents:sheet", incident.pk)
    form = AddendumForm(request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid() and _added(request, incident, form):
        return redirect("incidents:record", incident.pk)
    status = 422 if form.is_bound else 200
    return page(request, "record/addendum.html", incident, status=status, form=form)


def _added(request: HtmxRequest, incident: Incident, form: AddendumForm) -> bool:
    now = timezone.now()
    try:
        services.add_addendum(
            incident_id=incident.pk,
            person=request.user,
            client_uuid=form.cleaned_data["client_uuid"],
            text=form.cleaned_data["text"],
            at=now,
            recorded_at=now,
            device=request.headers.get("User-Agent", "")[:DEVICE_LENGTH],
        )
    except services.RefusalError as refusal:
        refuse(form, refusal)
        return False
    return True
