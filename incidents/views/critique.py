"""What is said in looking back on an incident, and the list of what is to be followed up."""

from datetime import date
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from incidents import services
from incidents.forms.look_back import (
    DoneForm,
    FollowUpForm,
    NoteForm,
    StepForm,
)
from incidents.models import Agency, CritiqueNote, CritiqueStep, Incident, Person
from incidents.selectors import critique as read
from incidents.selectors.profiles import today_of
from incidents.services import permissions
from incidents.services.critique import Says
from incidents.views.access import (
    HtmxRequest,
    incident_view,
    page,
    role_in,
    zone_of,
    zone_of_agency,
)
from incidents.views.exports import calendar_file
from incidents.views.sop import number_of
from reports import icalendar

CRITICS = frozenset(role.value for role in permissions.CRITICS)
State = CritiqueStep.State


def _people(agency: Agency) -> list[tuple[str, str]]:
    rows = Person.objects.filter(agency=agency, is_active=True).order_by("username")
    return [(str(person.pk), person.shown_name) for person in rows]


@incident_view("GET", "POST", roles=CRITICS)
def note_new(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """Pin a note to a moment: at an entry's own where the address names one."""
    form = NoteForm(
        request.POST if request.method == "POST" else None,
        initial=_first_words(request, incident),
        zone=zone_of(incident),
        since=incident.opened_at,
        people=_people(incident.agency),
    )
    if form.is_bound and form.is_valid() and (note := _pinned(request, incident, form)):
        address = reverse("incidents:look-back", args=(incident.pk,))
        return redirect(f"{address}#note-{note.pk}")
    status = 422 if form.is_bound else 200
    return page(request, "review/note_new.html", incident, status=status, form=form)


def _first_words(request: HtmxRequest, incident: Incident) -> dict[str, Any]:
    number = number_of(request.GET.get("entry", ""))
    entry = incident.entries.filter(seq=number).first() if number else None
    if entry is not None:
        return {"at": entry.observed_at, "entry": entry.seq}
    return {"at": incident.closed_at or timezone.now()}


def _pinned(
    request: HtmxRequest, incident: Incident, form: NoteForm
) -> CritiqueNote | None:
    given = form.cleaned_data
    try:
        return services.pin_note(
            incident_id=incident.pk,
            person=request.user,
            client_uuid=given["client_uuid"],
            record=given["record"],
            kind=given["kind"],
            moment=given["at"],
            entry_seq=given["entry"],
            says=_says(form, state=State.OPEN),
            at=timezone.now(),
        )
    except services.RefusalError as refusal:
        _refused(form, refusal)
        return None


def _says(form: Any, *, state: str) -> Says:
    given = form.cleaned_data
    owner = (
        Person.objects.filter(pk=form.owner_id()).first() if "owner" in given else None
    )
    return Says(
        text=given["text"],
        owner=owner,
        due_on=given.get("due_on"),
        state=state,
        said=given.get("said", ""),
        done_on=given.get("done_on"),
    )


def _refused(form: Any, refusal: services.RefusalError) -> None:
    if not isinstance(refusal, services.EntryRefusedError):
        form.add_error(None, str(refusal))
        return
    for error in refusal.errors:
        field = error.pointer.strip("/")
        form.add_error(
            field if field in form.fields else None, f"Say {error.expected}."
        )


@incident_view("GET", "POST")
def note(request: HtmxRequest, incident: Incident, number: int) -> HttpResponse:
    """One note with all that was ever said of it, and what becomes of it."""
    row = read.note_row(number)
    if row is None or row.note.incident_id != incident.pk:
        raise Http404("No such note.")
    may = role_in(incident) in CRITICS
    if request.method == "POST" and not may:
        raise PermissionDenied("Your part in this incident does not carry this.")
    form = _step_form(request, row, incident) if may else None
    if form is not None and form.is_bound and form.is_valid():
        says = _says(form, state=form.cleaned_data["state"])
        if _changed(request, row, form, says):
            return redirect("incidents:look-back-note", incident.pk, number)
    return page(
        request,
        "review/note.html",
        incident,
        status=422 if form is not None and form.is_bound else 200,
        form=form,
        row=row,
        today=today_of(incident.agency, timezone.now()),
    )


def _step_form(request: HtmxRequest, row: read.NoteRow, incident: Incident) -> StepForm:
    states = [State.OPEN, State.TAKEN_BACK]
    if row.is_improvement:
        states = [State.OPEN, State.DONE, State.DROPPED, State.TAKEN_BACK]
    last = row.last
    return StepForm(
        request.POST if request.method == "POST" else None,
        initial={
            "seen": last.pk,
            "text": last.text,
            "owner": last.owner_id,
            "due_on": last.due_on,
        },
        zone=zone_of(incident),
        people=_people(incident.agency),
        states=states,
        improves=row.is_improvement,
    )


def _changed(request: HtmxRequest, row: read.NoteRow, form: Any, says: Says) -> bool:
    try:
        services.change_note(
            note_id=row.note.pk,
            person=request.user,
            client_uuid=form.cleaned_data["client_uuid"],
            seen=form.cleaned_data["seen"],
            says=says,
            at=timezone.now(),
        )
    except services.RefusalError as refusal:
        _refused(form, refusal)
        return False
    return True


# --- The list over all incidents ------------------------------------------------------


@require_GET
def follow_up(request: HtmxRequest) -> HttpResponse:
    """What is to be done, the open ones first; the whole choice is in the address."""
    now = timezone.now()
    today = now.astimezone(zone_of_agency(request.user.agency)).date()
    owners = [(str(pk), name) for pk, name in read.owners_of(request.user)]
    form = FollowUpForm(request.GET, owners=owners)
    wanted = _wanted(form, today) if form.is_valid() else read.Wanted()
    rows = read.follow_up(request.user, wanted)
    return page(
        request,
        "review/follow_up.html",
        status=422 if form.errors else 200,
        form=form,
        rows=[(row, row.is_overdue(today)) for row in rows],
        overdue=sum(row.is_overdue(today) for row in rows),
        shown=read.SHOWN,
        file_query=request.GET.urlencode(),
    )


def _wanted(form: FollowUpForm, today: date) -> read.Wanted:
    given = form.cleaned_data
    state = given["state"] or "open"
    return read.Wanted(
        state="" if state in ("all", "overdue") else state,
        overdue_on=today if state == "overdue" else None,
        owner=int(given["owner"]) if given["owner"] else None,
        incident=given["incident"],
        drills=given["drills"] == "1",
    )


@require_GET
def follow_up_days(request: HtmxRequest) -> HttpResponse:
    """The days by which open improvements are to be done, as a calendar."""
    agency = request.user.agency
    if agency is None:
        raise PermissionDenied("Only people of an agency follow its improvements up.")
    now = timezone.now()
    owners = [(str(pk), name) for pk, name in read.owners_of(request.user)]
    form = FollowUpForm(request.GET, owners=owners)
    wanted = _wanted(form, today_of(agency, now)) if form.is_valid() else read.Wanted()
    days = [
        icalendar.Due(
            uid=f"improvement-{row.note.pk}@{agency.slug}.worksheet.invalid",
            day=row.last.due_on,
            title=f"{'Drill: ' * wanted.drills}{row.last.text.splitlines()[0][:120]}",
            words=f"{row.last.owner_name}; {row.note.incident.name}.",
        )
        for row in read.follow_up(request.user, wanted)
        if row.is_open and row.last.due_on is not None
    ]
    return calendar_file(f"Follow-up of {agency.name}", days, now, "follow-up.ics")


@require_http_methods(["GET", "POST"])
def follow_up_item(request: HtmxRequest, number: int) -> HttpResponse:
    """One improvement for who owns it, with or without a part in its incident."""
    row = _own_or_reviewed(request.user, number)
    incident = row.note.incident
    owns = row.is_open and row.last.owner_id == request.user.pk
    if request.method == "POST" and not owns:
        raise PermissionDenied("Its owner says that it is done, while it is open.")
    form = DoneForm(
        request.POST if request.method == "POST" else None,
        initial={"seen": row.last.pk},
        zone=zone_of(incident),
    )
    if form.is_bound and form.is_valid():
        given = form.cleaned_data
        last = row.last
        says = Says(
            text=last.text,
            owner=last.owner,
            due_on=last.due_on,
            state=State.DONE,
            said=given["said"],
            done_on=given["done_on"],
        )
        if _changed(request, row, form, says):
            return redirect("incidents:follow-up-item", number)
    return page(
        request,
        "review/follow_up_item.html",
        status=422 if form.is_bound else 200,
        form=form if owns else None,
        row=row,
        reviews=request.user.may_review,
        today=today_of(incident.agency, timezone.now()),
    )


def _own_or_reviewed(person: Person, number: int) -> read.NoteRow:
    """404 for what is of another agency, and for what one neither owns nor reviews."""
    row = read.note_row(number)
    if row is None or not row.is_improvement or person.agency_id is None:
        raise Http404("No such improvement.")
    ours = row.note.incident.agency_id == person.agency_id
    if not ours or not (person.may_review or row.last.owner_id == person.pk):
        raise Http404("No such improvement.")
    return row
