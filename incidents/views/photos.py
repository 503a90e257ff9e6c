"""The photo of an entry: shown to who takes part, handed in where it never came."""

from typing import Final

from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from incidents import pictures, selectors, services
from incidents.forms.photos import MissingPhotoForm
from incidents.models import Incident
from incidents.selectors import LogRow
from incidents.services.photos import add_missing_photo
from incidents.views.access import WRITERS, HtmxRequest, incident_view, page
from incidents.views.sending import refuse
from incidents.views.words import line_of, names_of

# Opened by its own address it is a picture and nothing else: no script, no form, no frame.
_POLICY: Final = "default-src 'none'; sandbox"


@incident_view("GET")
def photo(request: HtmxRequest, incident: Incident, seq: int) -> HttpResponse:
    row = _row(incident, seq)
    assert row.photo is not None
    found = incident.photos.filter(sha256=row.photo.sha256).first()
    if found is None:
        raise Http404("The photo of this entry was not received.")
    response = HttpResponse(bytes(found.content), content_type=found.media_type)
    suffix = pictures.SUFFIXES[found.media_type]
    response["Content-Disposition"] = f'inline; filename="entry-{seq}.{suffix}"'
    response["Content-Security-Policy"] = _POLICY
    response["Cache-Control"] = "private, no-store"
    return response


@incident_view("GET", "POST", roles=WRITERS)
def photo_add(request: HtmxRequest, incident: Incident, seq: int) -> HttpResponse:
    """Take the file of a photo that was named and did not come."""
    row = _row(incident, seq)
    posted = request.method == "POST"
    form = MissingPhotoForm(
        request.POST if posted else None, request.FILES if posted else None
    )
    if form.is_bound and form.is_valid() and _add(request, incident, seq, form):
        return redirect("incidents:entry", incident.pk, seq)
    return page(
        request,
        "log/photo_add.html",
        incident,
        status=422 if form.is_bound else 200,
        form=form,
        line=line_of(row, names_of(incident)),
    )


def _row(incident: Incident, seq: int) -> LogRow:
    row = selectors.log_row(incident, seq)
    if row is None or row.photo is None:
        raise Http404("No entry with a photo.")
    return row


def _add(
    request: HtmxRequest, incident: Incident, seq: int, form: MissingPhotoForm
) -> bool:
    try:
        add_missing_photo(
            incident_id=incident.pk,
            person=request.user,
            seq=seq,
            content=form.cleaned_data["photo"],
            at=timezone.now(),
        )
    except services.RefusalError as refusal:
        refuse(form, refusal)
        return False
    return True
