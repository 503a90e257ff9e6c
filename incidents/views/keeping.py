"""One person's exposure over all incidents of the agency, to read and to print."""

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from command.dose import GUIDANCE
from incidents import selectors, services
from incidents.forms.employment import EmploymentEndForm
from incidents.services.keeping import record_employment_end
from incidents.views.access import HtmxRequest, page
from incidents.views.exposure import SEEING
from incidents.views.sending import refuse
from incidents.working_days import ANSWER_DAYS
from reports.exposure import KEPT_YEARS, RECORD_SOURCE, WATCH_HOURS


@require_GET
def personal_record(request: HtmxRequest, code: str) -> HttpResponse:
    """29 CFR 1910.1020(e): the person, and who answers for exposure in an incident."""
    found = _found(request, code)
    if found is None:
        raise Http404("Nobody whose records you may see has this address.")
    response = page(
        request,
        "line/personal.html",
        found=found,
        guidance=GUIDANCE,
        record_source=RECORD_SOURCE,
        watch=WATCH_HOURS,
        answer_days=ANSWER_DAYS,
    )
    response["Cache-Control"] = "no-store"
    return response


def _found(request: HtmxRequest, code: str) -> selectors.PersonalRecord | None:
    return selectors.personal_record(request.user, code, timezone.now(), seeing=SEEING)


@require_GET
def own_record(request: HtmxRequest) -> HttpResponse:
    """The way to one's own record, which needs no part in any incident."""
    code = selectors.own_code(request.user)
    if _found(request, code) is None:
        return page(request, "line/no_record.html")
    return redirect("incidents:personal-record", code)


@require_http_methods(["GET", "POST"])
def employment(request: HtmxRequest) -> HttpResponse:
    """Who left the agency when: what the thirty years are counted from."""
    person = request.user
    if person.agency is None or not person.is_agency_owner:
        raise PermissionDenied("Who runs the agency records when somebody left it.")
    form = EmploymentEndForm(request.POST if request.method == "POST" else None)
    name = request.POST.get("name", "")
    if form.is_bound and form.is_valid():
        try:
            record_employment_end(
                person=person,
                name=name,
                ended_on=form.cleaned_data["ended_on"],
                at=timezone.now(),
            )
        except services.RefusalError as refusal:
            refuse(form, refusal)
        else:
            return redirect("incidents:employment")
    return page(
        request,
        "line/employment.html",
        status=422 if form.is_bound else 200,
        form=form,
        name=name,
        rows=selectors.employments(person.agency),
        years=KEPT_YEARS,
    )
