"""The commander's decisions: heard, PAR, in, out, ventilate, clear, ensemble, bump test."""

import uuid
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django_htmx.http import trigger_client_event

from incidents import selectors
from incidents.forms.decisions import (
    DECISION_FORMS,
    AcknowledgeForm,
    ClearForm,
)
from incidents.forms.entry import EntryForm
from incidents.models import Incident
from incidents.services import permissions
from incidents.views.access import WRITERS, HtmxRequest, incident_view, page, role_in
from incidents.views.answers import answer_of
from incidents.views.carried import carried_of, start_of
from incidents.views.sending import send
from reports.words import KIND_LABELS
from screening.verdicts import Action, Finding

TITLES = {
    "enter": "A team goes in",
    "exit": "A team is out",
    "par": "PAR: who has answered",
    "ventilate": "Ventilate",
    "clear": "Clear a hazard",
    "change_ensemble": "Change ensemble",
    "acknowledge": "Heard",
    "bump_test": "Bump test",
}
SAVES = {
    "enter": "Save: team in",
    "exit": "Save: team out",
    "par": "Save PAR",
    "ventilate": "Save ventilation",
    "clear": "Clear this hazard",
    "change_ensemble": "Save ensemble",
    "acknowledge": "Heard",
    "bump_test": "Save bump test",
}


@incident_view("GET", "POST", roles=WRITERS)
def decision(request: HtmxRequest, incident: Incident, kind: str) -> HttpResponse:
    if kind not in DECISION_FORMS:
        raise Http404("No such decision.")
    if not permissions.may_log(role_in(incident), kind):
        raise PermissionDenied("This is a decision of the incident commander.")
    data = request.POST.copy() if request.method == "POST" else None
    if data is not None and kind == "acknowledge":
        # Two taps on Heard are one acknowledgement, whichever page they come from.
        data["client_uuid"] = str(
            uuid.uuid5(incident.pk, f"heard {request.user.pk} {data.get('entry', '')}")
        )
    form = _form(request, incident, kind, data)
    appended = (
        send(request, incident, form) if form.is_bound and form.is_valid() else None
    )
    if appended is None:
        return _form_page(request, incident, form, status=422 if form.is_bound else 200)
    if not request.htmx:
        return redirect("incidents:sheet", incident.pk)
    response = page(
        request,
        "sheet/partials/decided.html",
        incident,
        answer=answer_of(request, incident, appended),
        kind=kind,
    )
    return trigger_client_event(response, "entry-saved")


def _form(request: HtmxRequest, incident: Incident, kind: str, data: Any) -> EntryForm:
    carried = carried_of(incident)
    team = request.GET.get("team", "")
    start = {} if data is not None else start_of(carried, request.user, kind, team)
    arguments: dict[str, Any] = {"choices": carried.choices, "initial": start}
    if kind in ("acknowledge", "clear"):
        arguments["by"] = request.user.shown_name
    view = selectors.sheet(incident, carried.choices.now)
    if kind == "acknowledge":
        arguments["open_entries"] = _to_hear(incident, view)
    if kind == "clear":
        arguments["standing"] = _standing(view)
    return DECISION_FORMS[kind](data, **arguments)


def _to_hear(incident: Incident, view: selectors.SheetView) -> list[tuple[str, str]]:
    """Entries whose Stop or Withdraw stands; the unanswered first."""
    found = {
        finding.entry: f"{finding.action.label}: {finding.because}"
        for row in view.teams
        for finding in reversed(row.now.findings)
        if finding.entry and finding.action >= Action.STOP
    }
    return sorted(found.items(), key=lambda pair: pair[0] in view.heard)


def _standing(view: selectors.SheetView) -> list[tuple[str, str]]:
    """Hazards that stand, each with its place; the commander's `clear` names one."""
    found: dict[tuple[str, str], Finding] = {}
    for finding in (f for row in view.teams for f in row.now.findings):
        if not finding.entry or finding.action < Action.CAUTION:
            continue
        key = (finding.hazard.value, finding.place)
        # Said in the words of the team that it holds for in full.
        if key not in found or finding.action > found[key].action:
            found[key] = finding
    return [
        (f"{hazard}|{place}", _named(finding))
        for (hazard, place), finding in found.items()
    ]


def _named(finding: Finding) -> str:
    where = f", {finding.place}" if finding.place else ""
    return f"{finding.hazard.label}{where}: {finding.because}"


def _form_page(
    request: HtmxRequest, incident: Incident, form: EntryForm, *, status: int
) -> HttpResponse:
    empty = isinstance(form, AcknowledgeForm | ClearForm) and not _has_choices(form)
    return page(
        request,
        "sheet/partials/decide.html" if request.htmx else "sheet/decision.html",
        incident,
        status=status,
        form=form,
        kind=form.kind,
        title=TITLES[form.kind],
        saves=SAVES[form.kind],
        empty=empty,
        url=reverse("incidents:decision", args=(incident.pk, form.kind)),
        label=KIND_LABELS[form.kind],
    )


def _has_choices(form: EntryForm) -> bool:
    name = "entry" if isinstance(form, AcknowledgeForm) else "hazard_at"
    return bool(form.fields[name].choices)  # type: ignore[attr-defined]
