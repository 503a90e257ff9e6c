"""Log a reading: what was read, what it showed, and the answer in the same place."""

from contextlib import suppress

from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone

from incidents import engine, judging, selectors
from incidents.forms.decisions import StrikeForm
from incidents.forms.entry import EntryForm
from incidents.forms.papers import PaperForm
from incidents.forms.readings import READING_FORMS
from incidents.models import Incident
from incidents.models.log import WRITTEN_KINDS
from incidents.selectors import LogRow
from incidents.services import (
    Appended,
    RefusalError,
    link_correction,
    permissions,
)
from incidents.views import board
from incidents.views.access import WRITERS, HtmxRequest, incident_view, page
from incidents.views.answers import Answer, answer_of, may_strike, may_undo
from incidents.views.carried import Carried, carried_of, last_figures, start_of
from incidents.views.sending import send
from incidents.views.words import Names, line_of, names_of
from reports.words import KIND_LABELS

KINDS = tuple((kind, KIND_LABELS[kind]) for kind in READING_FORMS)


@incident_view("GET", roles=WRITERS)
def log_choose(request: HtmxRequest, incident: Incident) -> HttpResponse:
    rows = selectors.log_rows(incident, limit=20)
    own = next(
        (
            row
            for row in rows
            if row.entry.author_id == request.user.pk
            and row.entry.kind in permissions.READING_KINDS
        ),
        None,
    )
    return page(
        request,
        "log/choose.html",
        incident,
        kinds=KINDS,
        team=request.GET.get("team", ""),
        last=line_of(own, names_of(incident)) if own else None,
    )


@incident_view("GET", "POST", roles=WRITERS)
def log_kind(request: HtmxRequest, incident: Incident, kind: str) -> HttpResponse:
    if kind not in READING_FORMS:
        raise Http404("No such kind of reading.")
    carried = carried_of(incident)
    if request.method != "POST":
        form = _new_form(request, carried, kind)
        return _form_page(request, incident, form, carried)
    form = READING_FORMS[kind](request.POST, choices=carried.choices)
    appended = send(request, incident, form) if form.is_valid() else None
    if appended is None:
        return _form_page(request, incident, form, carried, status=422)
    _link(request, incident, appended)
    if not request.htmx:
        return redirect("incidents:entry", incident.pk, appended.entry.seq)
    answer = answer_of(request, incident, appended)
    carried = carried.and_then(appended.entry)
    form = _new_form(request, carried, kind)
    return _form_page(request, incident, form, carried, answer=answer)


def _link(request: HtmxRequest, incident: Incident, appended: Appended) -> None:
    """Say that what was just logged stands in the place of the entry put right.

    The reading is stored either way; a number that somebody typed into the address
    links nothing.
    """
    rights = _rights(request)
    if rights is None:
        return
    with suppress(RefusalError):
        link_correction(
            incident_id=incident.pk,
            person=request.user,
            wrong=rights,
            right=appended.entry.seq,
            at=timezone.now(),
        )


def _rights(request: HtmxRequest) -> int | None:
    """The number of the entry that the reading is logged in place of."""
    text = request.GET.get("rights", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else None


def _new_form(request: HtmxRequest, carried: Carried, kind: str) -> EntryForm:
    team = request.GET.get("team", "")
    if team not in dict(carried.choices.teams):
        team = ""
    start = start_of(carried, request.user, kind, team)
    return READING_FORMS[kind](choices=carried.choices, initial=start)


def _form_page(
    request: HtmxRequest,
    incident: Incident,
    form: EntryForm,
    carried: Carried,
    *,
    answer: Answer | None = None,
    status: int = 200,
) -> HttpResponse:
    team = str(form["team"].value() or "") if "team" in form.fields else ""
    is_paper = isinstance(form, PaperForm)
    return page(
        request,
        "log/partials/reading.html" if request.htmx else "log/kind.html",
        incident,
        status=status,
        form=form,
        kind=form.kind,
        kind_label=KIND_LABELS[form.kind],
        kind_template=f"log/kinds/{form.kind}.html",
        save_template=f"log/partials/save{'_paper' if is_paper else ''}.html",
        answer=answer,
        rights=None if answer else _rights(request),
        last=last_figures(carried, team) if form.kind == "gas_meter" else {},
    )


@incident_view("GET")
def entry(request: HtmxRequest, incident: Incident, seq: int) -> HttpResponse:
    """One entry: what it said, what was found, what became of it."""
    row = selectors.log_row(incident, seq)
    if row is None:
        raise Http404("No such entry.")
    names = names_of(incident)
    return page(
        request,
        "log/entry.html",
        incident,
        row=row,
        line=line_of(row, names),
        verdicts=_verdicts_after(incident, row, names),
        may_strike=may_strike(request, incident, row),
        profile=names.context.profile,
        may_undo=may_undo(request, incident, row) and not row.entry.is_for_engine,
        is_written=row.entry.kind in WRITTEN_KINDS,
        kind_is_reading=row.entry.kind in permissions.READING_KINDS,
    )


def _verdicts_after(
    incident: Incident, row: LogRow, names: Names
) -> list[board.Verdict]:
    """The team's verdict as it was known once this entry was recorded.

    When an entry of an import was recorded is not known: there its own time counts.
    """
    if not row.body.get("team"):
        return []
    then = engine.as_of(incident, row.entry.seq)
    at = row.entry.observed_at if names.imported else row.entry.recorded_at
    view = judging.judge(incident, then, at)
    return [
        board.verdict_of(team, names.team(team.id))
        for team in view.teams
        if team.id == row.body["team"]
    ]


@incident_view("GET", "POST", roles=WRITERS)
def put_right(request: HtmxRequest, incident: Incident, seq: int) -> HttpResponse:
    """Strike an entry with a reason; both stay to be seen."""
    row = selectors.log_row(incident, seq)
    if row is None or not row.entry.is_for_engine:
        raise Http404("No such entry.")
    carried = carried_of(incident)
    form = StrikeForm(
        request.POST if request.method == "POST" else None,
        choices=carried.choices,
        by=request.user.shown_name,
        struck=row.entry.key,
    )
    if request.method == "POST" and form.is_valid() and send(request, incident, form):
        if row.entry.kind in READING_FORMS:
            again = reverse("incidents:log-kind", args=(incident.pk, row.entry.kind))
            return redirect(f"{again}?rights={seq}")
        return redirect("incidents:sheet", incident.pk)
    return page(
        request,
        "log/put_right.html",
        incident,
        status=422 if form.is_bound else 200,
        form=form,
        row=row,
        line=line_of(row, names_of(incident)),
        may_strike=may_strike(request, incident, row),
    )
