"""Close the incident, open it again, and its reports."""

from collections.abc import Callable
from uuid import uuid4

from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from incidents import selectors, services
from incidents.forms.decisions import ReasonForm
from incidents.forms.signing import DISSENT, SignOffForm
from incidents.models import Incident
from incidents.plans import plan_of
from incidents.services import permissions
from incidents.sign_offs import missing_of, sign_offs_of
from incidents.views import board
from incidents.views.access import (
    COMMAND,
    HtmxRequest,
    file_stem,
    incident_view,
    page,
    role_in,
)
from screening.verdicts import Action


@incident_view("GET", "POST", roles=COMMAND)
def close(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """One page: what stands, who is inside; a reason where either is not nothing."""
    if incident.is_closed:
        return redirect("incidents:reports", incident.pk)
    cards = board.cards_of(selectors.sheet(incident, timezone.now()))
    inside = [card for card in cards if card.clocks.inside]
    standing = [card for card in cards if card.verdict.action > Action.CONTINUE]
    people = selectors.line(incident, timezone.now()).people
    out = [row for row in people if not row.person.is_in]
    plan = plan_of(incident)
    unnamed = plan.begun and plan.handing_over is None
    form = ReasonForm(
        request.POST if request.method == "POST" else None,
        needed=_why_closed(bool(out), bool(inside or standing), unnamed),
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
        handing_over=plan.handing_over,
        unnamed=unnamed,
        out=out,
    )


def _why_closed(out: bool, standing: bool, unnamed: bool) -> str:
    """What has to be given a reason for; 29 CFR 1910.120(q)(11) on what comes after."""
    if out:
        return (
            "Somebody is not in the cold zone and not gone: say why it is closed all "
            "the same, or first where they are."
        )
    if standing:
        return "Teams are inside or hazards stand: say why it is closed all the same."
    if unnamed:
        return "Nobody is named who takes over the site: name them in the plan, or say why."
    return ""


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


def _reports(
    request: HtmxRequest,
    incident: Incident,
    fault: str = "",
    form: SignOffForm | None = None,
) -> HttpResponse:
    rows = incident.reports.defer("pdf").select_related("created_by")
    signed = sign_offs_of(incident)
    refused = form is not None and form.is_bound and bool(form.errors)
    return page(
        request,
        "incident/reports.html",
        incident,
        status=503 if fault else 422 if refused else 200,
        reports=list(rows),
        fault=fault,
        signed=signed,
        missing=missing_of(incident, signed),
        may_sign=permissions.may_sign_off(role_in(incident)),
        server=settings.TIMESTAMP_URL,
        form=form or SignOffForm(initial={"client_uuid": uuid4()}),
    )


@incident_view("POST")
def sign_off(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """Stand for the log so far, in one's own part; or dissent, in one's own words."""
    form = SignOffForm(request.POST)
    if not permissions.may_sign_off(role_in(incident)):
        raise PermissionDenied("Your part in this incident is to read only.")
    if form.is_valid():
        try:
            services.sign_off(
                incident_id=incident.pk,
                person=request.user,
                client_uuid=form.cleaned_data["client_uuid"],
                at=timezone.now(),
                dissents=form.cleaned_data["answer"] == DISSENT,
                dissent=form.cleaned_data["dissent"],
            )
        except services.EntryRefusedError as refused:
            form.add_error("dissent", f"Say {refused.errors[0].expected}.")
        except services.AlreadyDoneError as done:
            form.add_error(None, str(done))
        else:
            return redirect("incidents:reports", incident.pk)
    return _reports(request, incident, form=form)


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
    stem = file_stem(incident)
    return _download(
        bytes(report.pdf), "application/pdf", f"{stem}-{report.head_seq}.pdf"
    )


@incident_view("GET")
def worksheet_json(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """The whole worksheet, as `python -m screening` reads it."""
    document = selectors.worksheet_file(incident)
    stem = file_stem(incident)
    return _download(document, "application/json", f"{stem}.json")


def _download(data: bytes, kind: str, name: str) -> HttpResponse:
    response = HttpResponse(data, content_type=kind)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
