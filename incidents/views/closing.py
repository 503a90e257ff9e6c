"""Close the incident, open it again, and its reports."""

from collections.abc import Callable

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.text import slugify

from incidents import selectors, services
from incidents.documents import dumps
from incidents.forms.decisions import ReasonForm
from incidents.models import Incident
from incidents.views import board
from incidents.views.access import COMMAND, HtmxRequest, incident_view, page
from screening.verdicts import Action


@incident_view("GET", "POST", roles=COMMAND)
def close(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """One page: what stands, who is inside; a reason where either is not nothing."""
    if incident.is_closed:
        return redirect("incidents:reports", incident.pk)
    cards = board.cards_of(selectors.sheet(incident, timezone.now()))
    inside = [card for card in cards if card.clocks.inside]
    standing = [card for card in cards if card.verdict.action > Action.CONTINUE]
    needed = "Teams are inside or hazards stand: say why it is closed all the same."
    form = ReasonForm(
        request.POST if request.method == "POST" else None,
        needed=needed if inside or standing else "",
    )
    if _done(services.close_incident, form, request, incident):
        return redirect("incidents:reports", incident.pk)
    return page(
        request,
        "incident/close.html",
        incident,
        status=422 if form.is_bound else 200,
        form=form,
        cards=cards,
        inside=inside,
        standing=standing,
    )


@incident_view("GET", "POST", roles=COMMAND)
def reopen(request: HtmxRequest, incident: Incident) -> HttpResponse:
    if not incident.is_closed:
        return redirect("incidents:sheet", incident.pk)
    form = ReasonForm(
        request.POST if request.method == "POST" else None,
        needed="Say why it is opened again.",
    )
    if _done(services.reopen_incident, form, request, incident):
        return redirect("incidents:sheet", incident.pk)
    return page(
        request,
        "incident/reopen.html",
        incident,
        status=422 if form.is_bound else 200,
        form=form,
    )


def _done(
    service: Callable[..., Incident],
    form: ReasonForm,
    request: HtmxRequest,
    incident: Incident,
) -> bool:
    """Whether the form was sent, held, and the service did it; else the form says why."""
    if not form.is_bound or not form.is_valid():
        return False
    try:
        service(
            incident_id=incident.pk,
            person=request.user,
            at=timezone.now(),
            reason=form.cleaned_data["reason"],
        )
    except services.RefusalError as refusal:
        form.add_error(None, str(refusal))
        return False
    return True


@incident_view("GET")
def reports(request: HtmxRequest, incident: Incident) -> HttpResponse:
    return _reports(request, incident)


def _reports(request: HtmxRequest, incident: Incident, fault: str = "") -> HttpResponse:
    rows = incident.reports.defer("pdf").select_related("created_by")
    return page(
        request,
        "incident/reports.html",
        incident,
        status=503 if fault else 200,
        reports=list(rows),
        fault=fault,
    )


@incident_view("POST")
def report_make(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """Make and seal a report of the log as it stands."""
    from reports.keys import SigningError  # brings the seal's libraries: only when used

    try:
        services.make_report(
            incident_id=incident.pk, person=request.user, at=timezone.now()
        )
    except services.NotAllowedError as refusal:
        raise PermissionDenied(str(refusal)) from refusal
    except SigningError as fault:
        return _reports(request, incident, f"The report was not sealed: {fault}")
    return redirect("incidents:reports", incident.pk)


@incident_view("GET")
def report_file(request: HtmxRequest, incident: Incident, number: int) -> HttpResponse:
    report = incident.reports.filter(pk=number).first()
    if report is None:
        raise Http404("No such report.")
    stem = slugify(incident.name)[:60] or "incident"
    return _download(
        bytes(report.pdf), "application/pdf", f"{stem}-{report.head_seq}.pdf"
    )


@incident_view("GET")
def worksheet_json(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """The whole worksheet, as `python -m screening` reads it."""
    document = dumps(selectors.worksheet_document(incident))
    stem = slugify(incident.name)[:60] or "incident"
    return _download(document.encode(), "application/json", f"{stem}.json")


def _download(data: bytes, kind: str, name: str) -> HttpResponse:
    response = HttpResponse(data, content_type=kind)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
