"""The commander's page of the warm zone's phones."""

import io
from typing import Any
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.safestring import mark_safe

from incidents import services
from incidents.documents import loads
from incidents.forms.devices import HandedOverForm, HeldForm, OfferForm
from incidents.forms.field import BatchError, form_of, read_items, sent_of
from incidents.models import Device, DeviceEntry, Incident
from incidents.models.log import NOTE
from incidents.own_words import say
from incidents.selectors.devices import device_in, devices_of, held_entries
from incidents.services.devices import (
    decide_held,
    offer_device,
    revoke_device,
    take_handed_over,
)
from incidents.views.access import COMMAND, HtmxRequest, incident_view, page
from incidents.views.carried import carried_of
from incidents.views.sending import refuse
from incidents.views.words import names_of
from reports.words import describe
from screening.worksheet import WorksheetErrors, parse_entry


@incident_view("GET", "POST", roles=COMMAND)
def devices(request: HtmxRequest, incident: Incident) -> HttpResponse:
    names = names_of(incident)
    form = OfferForm(
        request.POST if request.method == "POST" else None,
        teams=tuple(names.teams.items()),
    )
    code = None
    if form.is_bound and form.is_valid():
        try:
            device, secret = offer_device(
                incident_id=incident.pk,
                person=request.user,
                team=form.cleaned_data["team"],
                name=form.cleaned_data["name"],
                at=timezone.now(),
            )
        except services.RefusalError as refusal:
            refuse(form, refusal)
        else:
            code = {"device": device, **_code(request, secret)}
    return page(
        request,
        "incident/devices.html",
        incident,
        status=422 if form.is_bound and code is None else 200,
        form=form,
        code=code,
        devices=[(each, names.team(each.team_key)) for each in devices_of(incident)],
        held=[_held(incident, each) for each in held_entries(incident)],
    )


def _code(request: HttpRequest, secret: str) -> dict[str, str]:
    """The address with the secret behind the #, which no server is ever sent, and its
    picture, drawn into the page: it lies in no file and no cache."""
    import segno

    address = request.build_absolute_uri(f"{reverse('incidents:field')}#join={secret}")
    drawing = io.BytesIO()
    segno.make(address, error="m").save(
        drawing, kind="svg", xmldecl=False, svgns=True, omitsize=True, border=4,
        dark="#000", light="#fff", svgclass="qr", lineclass=None,
    )  # fmt: skip
    # Drawn by the library from the address alone, which is ours.
    return {"address": address, "drawing": mark_safe(drawing.getvalue().decode())}


def _held(incident: Incident, held: DeviceEntry) -> dict[str, Any]:
    """What a held entry says, in words where it can be read."""
    sent = loads(held.sent)
    names = names_of(incident)
    whole = {
        **sent["body"],
        "id": str(held.client_uuid),
        "at": sent["observed_at"],
        "team": sent["body"].get("team", held.device.team_key),
    }
    if whole["kind"] == NOTE:
        words = say(NOTE, whole, names.teams)
        return {"row": held, "words": words, "place": whole.get("place", "")}
    try:
        entry = parse_entry(whole, names.context)
    except WorksheetErrors:
        return {"row": held, "words": str(sent["body"].get("kind", "")), "place": ""}
    words = describe(entry, names.of(entry.team))
    return {"row": held, "words": words, "place": entry.place, "at": entry.at}


@incident_view("POST", roles=COMMAND)
def device_revoke(
    request: HtmxRequest, incident: Incident, device: UUID
) -> HttpResponse:
    found = device_in(incident, device)
    if found is None:
        raise Http404("No such phone.")
    revoke_device(
        incident_id=incident.pk,
        person=request.user,
        device_id=found.pk,
        at=timezone.now(),
    )
    return redirect("incidents:devices", incident.pk)


@incident_view("GET", "POST", roles=COMMAND)
def held(request: HtmxRequest, incident: Incident, held: int) -> HttpResponse:
    row = next((each for each in held_entries(incident) if each.pk == held), None)
    if row is None:
        raise Http404("Nothing waits here.")
    form = HeldForm(request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid():
        try:
            decide_held(
                held_id=row.pk,
                person=request.user,
                take=form.cleaned_data["take"] == "yes",
                reason=form.cleaned_data["reason"],
                at=timezone.now(),
            )
        except services.RefusalError as refusal:
            refuse(form, refusal)
        else:
            return redirect("incidents:devices", incident.pk)
    return page(
        request,
        "incident/held.html",
        incident,
        status=422 if form.is_bound else 200,
        form=form,
        held=_held(incident, row),
    )


@incident_view("GET", "POST", roles=COMMAND)
def handed_over(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """Take in the file of a phone that could not send; each entry waits for a decision."""
    form = HandedOverForm(
        request.POST if request.method == "POST" else None,
        request.FILES if request.method == "POST" else None,
    )
    if form.is_bound and form.is_valid():
        try:
            _take_file(request, incident, form.cleaned_data["file"])
        except (BatchError, services.RefusalError) as error:
            form.add_error("file", f"Not taken: {error}.")
        else:
            return redirect("incidents:devices", incident.pk)
    return page(
        request,
        "incident/handed_over.html",
        incident,
        status=422 if form.is_bound else 200,
        form=form,
    )


def _take_file(
    request: HtmxRequest, incident: Incident, entries: list[dict[str, Any]]
) -> None:
    """All of the file, or nothing of it."""
    choices = carried_of(incident).choices
    now = timezone.now()
    sent = []
    for number, (item, raw) in enumerate(
        zip(read_items(entries), entries, strict=True)
    ):
        device = _device_of(incident, raw, number)
        form = form_of(item, device.team_key, choices)
        if not form.is_valid():
            words = "; ".join(str(each) for of in form.errors.values() for each in of)
            raise BatchError(f"/entries/{number}: {words}")
        sent.append((device, sent_of(item, form, now, now)))
    take_handed_over(
        incident_id=incident.pk, person=request.user, sent=sent, received_at=now
    )


def _device_of(incident: Incident, raw: dict[str, Any], number: int) -> Device:
    try:
        found = device_in(incident, UUID(str(raw.get("device"))))
    except ValueError:
        found = None
    if found is None:
        raise BatchError(f"/entries/{number}/device: expected a phone of this incident")
    return found
