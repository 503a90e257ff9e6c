from django.contrib.auth.views import LogoutView
from django.urls import path

from incidents.views import (
    about,
    charts,
    closing,
    decisions,
    known,
    opening,
    readings,
    sheet,
)
from incidents.views.signing_in import SignIn

app_name = "incidents"

_ONE = "incidents/<uuid:pk>/"

urlpatterns = [
    path("", opening.incident_list, name="incident-list"),
    path("incidents/new/", opening.incident_new, name="incident-new"),
    path(_ONE, sheet.sheet, name="sheet"),
    path(f"{_ONE}live/", sheet.sheet_live, name="sheet-live"),
    path(f"{_ONE}entries/", sheet.log, name="log"),
    path(f"{_ONE}entries/<int:seq>/", readings.entry, name="entry"),
    path(f"{_ONE}entries/<int:seq>/put-right/", readings.put_right, name="put-right"),
    path(f"{_ONE}log/", readings.log_choose, name="log-choose"),
    path(f"{_ONE}log/<slug:kind>/", readings.log_kind, name="log-kind"),
    path(f"{_ONE}decide/<slug:kind>/", decisions.decision, name="decision"),
    path(f"{_ONE}teams/new/", opening.team_new, name="team-new"),
    path(f"{_ONE}people/", opening.people, name="people"),
    path(f"{_ONE}charts/", charts.charts, name="charts"),
    path(f"{_ONE}fits/", known.fits, name="fits"),
    path(f"{_ONE}rules/", about.incident_rules, name="incident-rules"),
    path(f"{_ONE}close/", closing.close, name="close"),
    path(f"{_ONE}reopen/", closing.reopen, name="reopen"),
    path(f"{_ONE}report/", closing.report_make, name="report-make"),
    path(f"{_ONE}reports/", closing.reports, name="reports"),
    path(
        f"{_ONE}reports/<int:number>/report.pdf",
        closing.report_file,
        name="report-file",
    ),
    path(f"{_ONE}worksheet.json", closing.worksheet_json, name="worksheet-json"),
    path("rules/", about.rules, name="rules"),
    path("sources/", known.sources, name="sources"),
    path("sign-in/", SignIn.as_view(), name="sign-in"),
    path("sign-out/", LogoutView.as_view(), name="sign-out"),
    path("clock/", about.clock, name="clock"),
    path("health/", about.health, name="health"),
]
