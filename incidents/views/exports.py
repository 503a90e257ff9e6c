"""The open files of an incident, each streamed or small; `docs/exports.md` says what is
in them."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any, Final, cast

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse, StreamingHttpResponse
from django.utils import timezone
from django.views.decorators.http import require_GET

from incidents import selectors
from incidents.models import Incident
from incidents.selectors.calendar import due_in
from incidents.services import permissions
from incidents.views.access import HtmxRequest, file_stem, incident_view, role_in
from reports import cap, icalendar, readings_csv

CSV: Final = "text/csv; charset=utf-8; header=present"


@incident_view("GET")
def readings_file(request: HtmxRequest, incident: Incident, kind: str) -> HttpResponse:
    """One kind of reading as CSV."""
    if kind not in readings_csv.KINDS:
        raise Http404("No such kind of reading.")
    lines = readings_csv.lines(kind, selectors.csv_lines(incident, kind))
    response = StreamingHttpResponse(lines, content_type=CSV)
    return cast(HttpResponse, _as_file(response, incident, f"{kind}.csv"))


@incident_view("GET")
def warning_file(request: HtmxRequest, incident: Incident, action: str) -> HttpResponse:
    """A draft of a warning in CAP 1.2. It is a file and goes nowhere by itself."""
    response = next((r for r in cap.RESPONSES if r.lower() == action), None)
    if response is None:
        raise Http404("No such action.")
    now = timezone.localtime()
    draft = cap.draft(selectors.cap_draft(incident, response, now))
    answer = HttpResponse(draft, content_type="application/cap+xml")
    _as_file(answer, incident, f"draft-{action}.cap.xml")
    return answer


def _as_file(response: Any, incident: Incident, name: str) -> Any:
    stem = file_stem(incident)
    response["Content-Disposition"] = f'attachment; filename="{stem}-{name}"'
    return response


@require_GET
def due_days(request: HtmxRequest) -> HttpResponse:
    """When instruments are to be calibrated and papers expire, as a calendar."""
    agency = request.user.agency
    if agency is None:
        raise PermissionDenied("Only people of an agency see its register.")
    now = timezone.now()
    days = [
        icalendar.Due(
            uid=f"{row.instrument.key}-due@{agency.slug}.worksheet.invalid",
            day=row.due,
            title=f"{row.instrument.label}: {_due_word(row)}",
            words=f"{row.kind}.",
        )
        for row in selectors.register(agency, now)
        if row.due is not None
    ]
    title = f"Instruments of {agency.name}"
    return calendar_file(title, days, now, "instruments-due.ics")


def calendar_file(
    title: str, days: Iterable[icalendar.Due], now: datetime, name: str
) -> HttpResponse:
    """The days as iCalendar, to keep as a file of that name."""
    text = "".join(icalendar.calendar(title, days, now))
    response = HttpResponse(text, content_type="text/calendar; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


@incident_view("GET")
def incident_calendar(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """Calls and follow-ups of one incident, as far as the person's part carries them."""
    now = timezone.now()
    role = role_in(incident)
    days = due_in(
        incident,
        now,
        medical=permissions.may_see_medical(role),
        exposure=permissions.may_see_exposure(role),
    )
    name = f"{file_stem(incident)}-due.ics"
    response = calendar_file(incident.name, days, now, name)
    response["Cache-Control"] = "no-store"
    return response


def _due_word(row: selectors.RegisterRow) -> str:
    return "expires" if row.is_paper else "calibration due"
