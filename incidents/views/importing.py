"""A worksheet of another agency, from its file to an incident that is only read."""

from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from incidents.forms.importing import WorksheetFileForm
from incidents.services.errors import EntryRefusedError
from incidents.services.importing import import_worksheet
from incidents.views.access import HtmxRequest, page
from screening.worksheet import DocumentError


@require_http_methods(["GET", "POST"])
def worksheet_import(request: HtmxRequest) -> HttpResponse:
    """Every error of the file at once, or the incident; nothing in between."""
    person = request.user
    if person.agency is None or not person.may_open:
        raise PermissionDenied("You may not import an incident.")
    form = WorksheetFileForm(
        request.POST if request.method == "POST" else None, request.FILES or None
    )
    errors: tuple[DocumentError, ...] = ()
    if form.is_bound and form.is_valid():
        try:
            incident = import_worksheet(
                file=form.cleaned_data["file"],
                person=person,
                agency=person.agency,
                at=timezone.now(),
            )
        except EntryRefusedError as refusal:
            errors = refusal.errors
        else:
            return redirect("incidents:sheet", incident.pk)
    status = 422 if form.is_bound else 200
    return page(request, "record/import.html", status=status, form=form, errors=errors)
