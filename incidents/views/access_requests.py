"""The log of requests for records: what came, until when it is to be answered, and how."""

from collections.abc import Callable
from datetime import date

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from incidents import selectors, services
from incidents.forms.access_requests import AccessAnswerForm, AccessRequestForm
from incidents.forms.fields import PlainForm
from incidents.models import Agency
from incidents.selectors.profiles import today_of
from incidents.services.access_requests import answer_request, record_request
from incidents.views.access import HtmxRequest, page
from incidents.views.sending import refuse
from incidents.working_days import ANSWER_DAYS


@require_http_methods(["GET", "POST"])
def requests(request: HtmxRequest) -> HttpResponse:
    """All requests, the overdue first, and the form for the next."""
    agency, today = _agency(request)
    posted = request.POST if request.method == "POST" else None
    form = AccessRequestForm(posted, initial={"received_on": today})
    if form.is_bound and form.is_valid():
        said = form.cleaned_data
        saved = _saved(
            form,
            lambda: record_request(person=request.user, at=timezone.now(), **said),
        )
        if saved:
            return redirect("incidents:access-requests")
    return page(
        request,
        "line/access_requests.html",
        status=422 if form.is_bound else 200,
        form=form,
        rows=selectors.access_requests(agency, today),
        names=[name for name, _ in selectors.employments(agency)],
        answer_days=ANSWER_DAYS,
    )


@require_http_methods(["GET", "POST"])
def request_page(request: HtmxRequest, number: int) -> HttpResponse:
    """One request with its answers, and the form for the next answer."""
    agency, today = _agency(request)
    row = selectors.access_request(agency, number, today)
    if row is None:
        raise Http404("No such request.")
    posted = request.POST if request.method == "POST" else None
    form = AccessAnswerForm(posted, initial={"answered_on": today})
    if form.is_bound and form.is_valid():
        said = form.cleaned_data
        saved = _saved(
            form,
            lambda: answer_request(
                request_id=number, person=request.user, at=timezone.now(), **said
            ),
        )
        if saved:
            return redirect("incidents:access-request", number)
    return page(
        request,
        "line/access_request.html",
        status=422 if form.is_bound else 200,
        form=form,
        row=row,
        answer_days=ANSWER_DAYS,
    )


def _saved(form: PlainForm, save: Callable[[], object]) -> bool:
    try:
        save()
    except services.RefusalError as refusal:
        refuse(form, refusal)
        return False
    return True


def _agency(request: HtmxRequest) -> tuple[Agency, date]:
    """The agency that the person runs, and its day."""
    person = request.user
    if person.agency is None or not person.is_agency_owner:
        raise PermissionDenied("Who runs the agency keeps the log of requests.")
    return person.agency, today_of(person.agency, timezone.now())
