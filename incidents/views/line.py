"""Who is where, the decon line person by person, and what is noted of people."""

from dataclasses import dataclass
from typing import Final

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from command.line_parts import WHERE_IS
from command.parts import PARTS
from command.whereabouts import MAY_LEAVE, Clean
from incidents import selectors, services
from incidents.forms.plan import PartForm
from incidents.models import Incident
from incidents.selectors import LineRow
from incidents.services import permissions
from incidents.views.access import HtmxRequest, incident_view, page, role_in, zone_of

# The order of looking: where people are in danger first.
ORDER: Final = ("hot", "decon", "warm", "medical", "cold", "left")
PAGES: Final = {
    "whereabouts": "Move people",
    "decon_line": "Through decon",
    "decon_check": "Check after decon",
    "exposure_note": "Note an exposure",
    "notice": "Notice given",
    "volunteer": "Volunteers above 25 rem",
}
# Several at once are chosen on these.
_SEVERAL: Final = frozenset(PAGES) - {"decon_check"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Zone:
    """Everyone at one place."""

    key: str
    label: str
    people: tuple[LineRow, ...]


@incident_view("GET")
def line(request: HtmxRequest, incident: Incident) -> HttpResponse:
    view = selectors.line(incident, timezone.now())
    role = role_in(incident)
    return page(
        request,
        "line/line.html",
        incident,
        zones=[
            Zone(key=key, label=WHERE_IS[key], people=people)
            for key in ORDER
            if (people := tuple(r for r in view.people if r.person.where == key))
        ],
        may_write=permissions.may_plan(role, "whereabouts") and not incident.is_closed,
        may_tell=permissions.may_plan(role, "notice") and not incident.is_closed,
        may_see_exposure=permissions.may_see_exposure(role),
        waiting=sum(row.clean not in (*MAY_LEAVE, Clean.IN_HOT) for row in view.people),
    )


@incident_view("GET", "POST")
def line_part(request: HtmxRequest, incident: Incident, part: str) -> HttpResponse:
    """One record of people: choose who, say what, save."""
    if part not in PAGES:
        raise Http404("Nothing of this kind is written down.")
    if not permissions.may_plan(role_in(incident), part):
        raise PermissionDenied("Your part in this incident does not write this down.")
    view = selectors.line(incident, timezone.now())
    names = [row.person.name for row in view.people]
    who = [name for name in request.GET.getlist("who") if name in names]
    start: dict[str, object] = {"where": request.GET.get("where", "")}
    start["who"] = tuple(who) if part in _SEVERAL else "".join(who[:1])
    asked = PARTS[part]
    form = PartForm(
        request.POST if request.method == "POST" else None,
        part=asked,
        now=view.at,
        zone=zone_of(incident),
        start={name: start[name] for name in start if hasattr(asked.shape, name)},
        people=names,
        listeners=[(name, name) for name in names] if part in _SEVERAL else (),
    )
    if form.is_bound and form.is_valid() and _kept(request, incident, form):
        return redirect("incidents:line", incident.pk)
    return page(
        request,
        "line/part.html",
        incident,
        status=422 if form.is_bound else 200,
        form=form,
        title=PAGES[part],
        part=part,
    )


def _kept(request: HtmxRequest, incident: Incident, form: PartForm) -> bool:
    try:
        services.record_part(
            incident_id=incident.pk,
            person=request.user,
            part=form.part.key,
            says=form.says(),
            at=timezone.now(),
            holds_from=form.holds_from(),
            client_uuid=form.cleaned_data["client_uuid"],
        )
    except services.EntryRefusedError as refusal:
        for error in refusal.errors:
            form.refuse(error.pointer, error.expected)
    except services.RefusalError as refusal:
        form.add_error(None, str(refusal))
    return not form.errors
