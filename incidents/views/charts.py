"""Readings over time: the very drawings that the report prints."""

from django.http import HttpResponse
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe

from incidents import selectors
from incidents.documents import dumps
from incidents.models import Incident
from incidents.moments import ended_at
from incidents.views.access import HtmxRequest, incident_view, page, zone_of


@incident_view("GET")
def charts(request: HtmxRequest, incident: Incident) -> HttpResponse:
    return page(request, "incident/charts.html", incident, charts=_drawn(incident))


def _drawn(incident: Incident) -> list[SafeString]:
    """Each channel of a meter against its limits, and the verdicts of the teams."""
    # Loads the fonts' measures: only this page needs them.
    from reports import drawing, figures
    from reports.from_worksheet import IncidentRecord, report_data
    from screening.worksheet import load_json

    at = ended_at(incident) or timezone.now()
    text = dumps(selectors.worksheet_document(incident))
    zone = zone_of(incident)
    names = dict(incident.teams.values_list("key", "name"))
    record = IncidentRecord(names=names, zone=zone)
    data = report_data(load_json(text), made_at=at, record=record)
    span = figures.span_of(data.series, data.verdicts, at)
    if span is None:
        return []
    drawings = [figures.meter_chart(series, span, zone) for series in data.series]
    drawings.append(figures.verdict_chart(data.verdicts, span, zone))
    # The drawing escapes every text that came from people (reports.drawing).
    return [
        mark_safe(drawing.svg(one, f"chart-{number}"))
        for number, one in enumerate(drawings)
    ]
