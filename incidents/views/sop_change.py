"""Other limits for a running incident: what they would change, then the decision."""

from dataclasses import dataclass

from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from incidents import services
from incidents.documents import loads
from incidents.forms.sop import ChangeForm
from incidents.models import Incident, SopProfile
from incidents.selectors import profiles as read
from incidents.services import permissions, profiles
from incidents.services.sop_preview import Preview, preview_change
from incidents.views import board
from incidents.views.access import COMMAND, HtmxRequest, incident_view, page, role_in
from incidents.views.sop import number_of
from incidents.views.words import Names, names_of
from screening.worksheet import DocumentError


@dataclass(frozen=True, slots=True, kw_only=True)
class TeamLine:
    """One team's verdict now and under the other limits, as both are shown."""

    before: board.Verdict
    after: board.Verdict
    changes: bool
    is_milder: bool


def other_versions(
    request: HtmxRequest, incident: Incident
) -> list[tuple[int, SopProfile | None]]:
    """What the commander may change to, each with its number; 0 for the built-in ones."""
    if incident.is_closed or not permissions.may_command(role_in(incident)):
        return []
    today = read.today_of(incident.agency, timezone.now())
    found: list[tuple[int, SopProfile | None]] = [
        (version.pk, version)
        for version in read.usable(incident.agency, today, profiles.used_in(incident))
        if version.pk != incident.sop_id
    ]
    if incident.sop is not None:
        found.append((0, None))
    return found


@incident_view("GET", "POST", roles=COMMAND)
def change(request: HtmxRequest, incident: Incident, number: int) -> HttpResponse:
    """What the other limits would change now, and the decision to judge by them."""
    choices = dict(other_versions(request, incident))
    if number not in choices:
        if incident.is_closed or number == (incident.sop_id or 0):
            return redirect("incidents:incident-rules", incident.pk)
        raise Http404("No such version.")
    sop = choices[number]
    form = ChangeForm(request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid() and _changed(request, incident, sop, form):
        return redirect("incidents:incident-rules", incident.pk)
    return _change_page(request, incident, sop, form)


def _changed(
    request: HtmxRequest, incident: Incident, sop: SopProfile | None, form: ChangeForm
) -> bool:
    try:
        services.change_sop(
            incident_id=incident.pk,
            person=request.user,
            sop=sop,
            seen=number_of(form.cleaned_data["seen"]),
            reason=form.cleaned_data["reason"],
            at=timezone.now(),
        )
    except services.SopChangedError as refusal:
        form.add_error(None, f"{refusal} Look at what stands now, then decide.")
        incident.refresh_from_db(fields=["sop", "setup", "head_seq", "head_hash"])
    except services.RefusalError as refusal:
        form.add_error(None, str(refusal))
    else:
        return True
    return False


def _change_page(
    request: HtmxRequest, incident: Incident, sop: SopProfile | None, form: ChangeForm
) -> HttpResponse:
    preview: Preview | None = None
    refused: tuple[DocumentError, ...] = ()
    try:
        preview = preview_change(incident, sop, timezone.now())
    except services.EntryRefusedError as refusal:
        refused = refusal.errors
    before = loads(incident.setup).get("profile", dict(profiles.BUILT_IN))
    return page(
        request,
        "sop/change.html",
        incident,
        status=422 if form.is_bound else 200,
        form=form,
        seen=incident.sop_id or "",
        before=before,
        after=profiles.document_of(sop),
        changes=_limit_changes(incident, sop),
        preview=preview,
        teams=_teams(preview, names_of(incident)) if preview else [],
        refused=refused,
    )


def _limit_changes(incident: Incident, sop: SopProfile | None) -> list[read.Change]:
    reasons = sop.reasons_given if sop else {}
    return read.changes(read.raw_values_in(incident), read.raw_values(sop), reasons)


def _teams(preview: Preview, names: Names) -> list[TeamLine]:
    return [
        TeamLine(
            before=board.verdict_of(one.before, names.team(one.team)),
            after=board.verdict_of(one.after, names.team(one.team)),
            changes=one.changes,
            is_milder=one.is_milder,
        )
        for one in preview.teams
    ]
