"""Who takes which part, and people of other agencies who are invited to one."""

from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from incidents import selectors, services
from incidents.forms.roles import InvitationCodeForm, InviteForm, RoleForm
from incidents.models import Incident, SignInRecord
from incidents.services import signing_in
from incidents.services.signing_in import Try
from incidents.views.access import COMMAND, HtmxRequest, incident_view, page
from incidents.views.addresses import client_address
from incidents.views.signing_in import refusal


@incident_view("GET", "POST", roles=COMMAND)
def people(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """Who has a part in the incident; the commander gives parts."""
    rows = selectors.people_of(incident)
    known = {str(p.pk): p for p in selectors.people_to_choose(incident, request.user)}
    form = RoleForm(
        request.POST if request.method == "POST" else None,
        people=[
            (key, person.shown_name)
            if person.agency_id == incident.agency_id
            else (key, f"{person.shown_name}, {person.agency}")
            for key, person in known.items()
        ],
    )
    if form.is_bound and form.is_valid():
        try:
            services.give_role(
                incident_id=incident.pk,
                person=request.user,
                to=known[form.cleaned_data["person"]],
                role=form.cleaned_data["role"],
                at=timezone.now(),
            )
        except services.RefusalError as refused:
            form.add_error(None, str(refused))
        else:
            return redirect("incidents:people", incident.pk)
    return page(
        request,
        "incident/people.html",
        incident,
        status=422 if form.is_bound else 200,
        form=form,
        rows=rows,
        invitations=selectors.invitations_of(incident, timezone.now()),
    )


@incident_view("GET", "POST", roles=COMMAND)
def part_end(request: HtmxRequest, incident: Incident, number: int) -> HttpResponse:
    """Take back the part of the person of this number."""
    rows = {row.person_id: row for row in selectors.people_of(incident)}
    if number not in rows:
        raise Http404("Nobody of this number has a part.")
    links = []
    if request.method == "POST":
        try:
            services.end_role(
                incident_id=incident.pk,
                person=request.user,
                of=rows[number].person,
                at=timezone.now(),
            )
        except services.RefusalError as refused:
            links = [("", str(refused))]
        else:
            return redirect("incidents:people", incident.pk)
    return page(
        request,
        "incident/part_end.html",
        incident,
        status=422 if links else 200,
        row=rows[number],
        links=links,
    )


@incident_view("GET", "POST", roles=COMMAND)
def invite(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """Offer a part to someone of another agency; the answer shows the code, once."""
    form = InviteForm(request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid():
        try:
            invitation, code = services.invite(
                incident_id=incident.pk,
                person=request.user,
                at=timezone.now(),
                **form.cleaned_data,
            )
        except services.RefusalError as refused:
            form.add_error(None, str(refused))
        else:
            return page(
                request,
                "incident/invited.html",
                incident,
                invitation=invitation,
                code=code,
            )
    status = 422 if form.is_bound else 200
    return page(request, "incident/invite.html", incident, status=status, form=form)


@incident_view("POST", roles=COMMAND)
def invitation_withdraw(
    request: HtmxRequest, incident: Incident, number: int
) -> HttpResponse:
    services.withdraw_invitation(
        incident_id=incident.pk, person=request.user, number=number, at=timezone.now()
    )
    return redirect("incidents:people", incident.pk)


@require_http_methods(["GET", "POST"])
def join(request: HtmxRequest) -> HttpResponse:
    """Take the part that another agency's commander offers; wrong codes are counted."""
    form = InvitationCodeForm(request.POST if request.method == "POST" else None)
    held = None
    if form.is_bound and form.is_valid():
        attempt = Try(
            name=request.user.username,
            address=client_address(request),
            at=timezone.now(),
            what="invitation",
        )
        try:
            signing_in.refuse_if_held(attempt)
            role = services.accept_invitation(
                code=form.cleaned_data["code"], person=request.user, at=attempt.at
            )
        except signing_in.HeldBackError as error:
            held = error
            form.add_error("code", str(error))
        except services.NoSuchInvitationError as error:
            outcome = SignInRecord.Outcome.WRONG_INVITATION
            signing_in.keep(attempt, outcome, request.user)
            form.add_error("code", str(error))
        except services.RefusalError as error:
            form.add_error(None, str(error))
        else:
            return redirect("incidents:sheet", role.incident_id)
    response = page(request, "incident/join.html", form=form)
    return refusal(response, held) if form.is_bound else response
