"""The agency's register of instruments, their tests, and what an incident has along."""

from collections.abc import Callable
from functools import partial
from zoneinfo import ZoneInfo

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from incidents import kit, selectors, services
from incidents.documents import loads
from incidents.forms.decisions import ReasonForm
from incidents.forms.register import RegisterForm, TakenForm, TestForm
from incidents.models import Agency, Incident, InstrumentRecord
from incidents.selectors.instruments import RegisterRow
from incidents.services import permissions
from incidents.views.access import HtmxRequest, incident_view, page, role_in
from incidents.views.sending import refuse


@require_GET
def instruments(request: HtmxRequest) -> HttpResponse:
    agency = _agency(request)
    now = timezone.now()
    return page(
        request,
        "kit/register.html",
        rows=selectors.register(agency, now),
        retired=selectors.register(agency, now, retired=True),
        kinds=kit.KINDS.items(),
        may_keep=permissions.may_keep_register(request.user),
    )


@require_http_methods(["GET", "POST"])
def instrument_new(request: HtmxRequest, kind: str) -> HttpResponse:
    _agency(request)
    _require_keeper(request)
    if kind not in kit.KINDS:
        raise Http404("No such kind of instrument.")
    form = RegisterForm(request.POST if request.method == "POST" else None, kind=kind)
    if form.is_bound and form.is_valid():
        try:
            row = services.add_instrument(
                person=request.user,
                kind=kind,
                label=form.cleaned_data["label"],
                about=form.about(),
                facts=form.facts(),
                at=timezone.now(),
            )
        except services.RefusalError as refusal:
            refuse(form, refusal, within="/instruments/0")
        else:
            return redirect("incidents:instrument", row.key)
    return page(
        request,
        "kit/edit.html",
        status=422 if form.is_bound else 200,
        form=form,
        kind_label=kit.KINDS[kind],
        row=None,
    )


@require_GET
def instrument(request: HtmxRequest, key: str) -> HttpResponse:
    """One instrument: what is known, what stands against it, its history."""
    row = _row(request, key)
    known = loads(row.instrument.document)
    return page(
        request,
        "kit/instrument.html",
        row=row,
        known=known,
        factors=known.get("correction_factors", {}).items(),
        lines=selectors.instrument_history(row.instrument),
        may_keep=permissions.may_keep_register(request.user),
    )


@require_http_methods(["GET", "POST"])
def instrument_test(request: HtmxRequest, key: str) -> HttpResponse:
    row = _row(request, key)
    form = TestForm(
        request.POST if request.method == "POST" else None,
        instrument=row.instrument,
        now=timezone.now(),
        zone=ZoneInfo(_agency(request).time_zone),
        kind=request.GET.get("kind", ""),
    )
    if form.is_bound and form.is_valid():
        try:
            result = services.record_test(
                instrument_id=row.instrument.pk,
                person=request.user,
                recorded_at=timezone.now(),
                **form.given(),
            )
        except services.RefusalError as refusal:
            refuse(form, refusal, within="/instruments/0")
        else:
            if not (result.logged_in or result.not_logged_in):
                return redirect("incidents:instrument", key)
            return page(
                request,
                "kit/tested.html",
                row=_row(request, key),
                result=result,
            )
    return page(
        request,
        "kit/test.html",
        status=422 if form.is_bound else 200,
        form=form,
        row=row,
    )


@require_http_methods(["GET", "POST"])
def instrument_change(request: HtmxRequest, key: str) -> HttpResponse:
    row = _row(request, key)
    _require_keeper(request)
    form = RegisterForm(
        request.POST if request.method == "POST" else None,
        kind=row.instrument.kind,
        instrument=row.instrument,
    )
    if form.is_bound and form.is_valid():
        try:
            services.change_instrument(
                instrument_id=row.instrument.pk,
                person=request.user,
                label=form.cleaned_data["label"],
                about=form.about(),
                facts=form.facts(),
                at=timezone.now(),
            )
        except services.RefusalError as refusal:
            refuse(form, refusal, within="/instruments/0")
        else:
            return redirect("incidents:instrument", key)
    return page(
        request,
        "kit/edit.html",
        status=422 if form.is_bound else 200,
        form=form,
        kind_label=row.kind,
        row=row,
    )


@require_http_methods(["GET", "POST"])
def instrument_service(request: HtmxRequest, key: str) -> HttpResponse:
    """Take it out of service, or back into it; either needs a reason."""
    row = _row(request, key)
    _require_keeper(request)
    out = row.instrument.retired_at is None
    change = services.retire_instrument if out else services.return_instrument
    return _with_reason(
        request,
        row,
        partial(change, instrument_id=row.instrument.pk),
        needed="Give the reason.",
        title="Out of service" if out else "Back in service",
    )


@require_http_methods(["GET", "POST"])
def instrument_put_right(request: HtmxRequest, key: str, number: int) -> HttpResponse:
    """Strike a test that was recorded wrongly; both stay to be seen."""
    row = _row(request, key)
    line = row.instrument.records.filter(pk=number).first()
    if line is None:
        raise Http404("No such test.")
    return _with_reason(
        request,
        row,
        partial(services.strike_test, record_id=line.pk),
        needed="Say what was wrong with it.",
        title="Put right",
        line=line,
    )


def _with_reason(
    request: HtmxRequest,
    row: RegisterRow,
    change: Callable[..., InstrumentRecord],
    *,
    needed: str,
    title: str,
    line: InstrumentRecord | None = None,
) -> HttpResponse:
    """Ask for the reason, then do it and go back to the instrument."""
    form = ReasonForm(request.POST if request.method == "POST" else None, needed=needed)
    if form.is_bound and form.is_valid():
        try:
            change(
                person=request.user,
                at=timezone.now(),
                reason=form.cleaned_data["reason"],
            )
        except services.RefusalError as refusal:
            form.add_error(None, str(refusal))
        else:
            return redirect("incidents:instrument", row.instrument.key)
    return page(
        request,
        "kit/reason.html",
        status=422 if form.is_bound else 200,
        form=form,
        row=row,
        title=title,
        line=line,
    )


@incident_view("GET", "POST")
def incident_instruments(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """What the incident has along; the commander sets it."""
    now = timezone.now()
    may_set = permissions.may_command(role_in(incident)) and not incident.is_closed
    if request.method == "POST" and not permissions.may_command(role_in(incident)):
        raise PermissionDenied("The incident commander sets what is taken along.")
    view = selectors.kit_of(incident, now)
    form = TakenForm(
        request.POST if request.method == "POST" else None,
        offered=[(one.key, one.label) for one in (*view.along, *view.others)],
        taken=[one.key for one in view.along],
    )
    if form.is_bound and form.is_valid():
        try:
            services.take_instruments(
                incident_id=incident.pk,
                person=request.user,
                keys=form.cleaned_data["instruments"],
                at=now,
            )
        except services.RefusalError as refusal:
            refuse(form, refusal, within="/instruments/0")
        else:
            return redirect("incidents:incident-instruments", incident.pk)
    return page(
        request,
        "kit/incident.html",
        incident,
        status=422 if form.is_bound else 200,
        form=form,
        view=view,
        may_set=may_set,
    )


def _agency(request: HtmxRequest) -> Agency:
    agency = request.user.agency
    if agency is None or not permissions.may_test(request.user):
        raise PermissionDenied("You belong to no agency whose register you could see.")
    return agency


def _require_keeper(request: HtmxRequest) -> None:
    if not permissions.may_keep_register(request.user):
        raise PermissionDenied(
            "The register is kept by those who may open an incident."
        )


def _row(request: HtmxRequest, key: str) -> RegisterRow:
    row = selectors.register_row(_agency(request), key, timezone.now())
    if row is None:
        raise Http404("No such instrument.")
    return row
