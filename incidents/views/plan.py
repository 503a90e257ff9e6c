"""The commander's plan: what stands, what is not ready yet, and each part's form."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import uuid4

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone

from command import words
from command.documents import name_key
from command.parts import PARTS, Part
from command.plan import Record
from command.references import differing
from incidents import engine, selectors, services
from incidents.forms.plan import CheckInForm, PartForm, TakeOutForm
from incidents.models import Incident
from incidents.selectors import PlanView
from incidents.services import permissions
from incidents.views.access import HtmxRequest, incident_view, page, role_in, zone_of
from incidents.views.lacks import missing_of
from incidents.views.plan_starts import start_of
from screening.methods.doubts import degrees


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """One part, or one item of it, in words."""

    title: str
    item: str
    rows: tuple[tuple[str, str], ...]
    record: Record

    @property
    def brief(self) -> str:
        """In one paragraph; the title, where there is one, is not said again."""
        rows = [row for row in self.rows if not self.title or row[1] != self.title]
        return "; ".join(f"{label.lower()}: {answer}" for label, answer in rows)


@dataclass(frozen=True, slots=True, kw_only=True)
class PartShown:
    part: Part
    items: tuple[Shown, ...]
    may_write: bool


@incident_view("GET")
def plan(request: HtmxRequest, incident: Incident) -> HttpResponse:
    view = selectors.plan_view(incident, timezone.now())
    return page(
        request,
        "plan/plan.html",
        incident,
        view=view,
        stopping=missing_of((each for each in view.lacks if each.blocks), incident),
        further=missing_of((e for e in view.lacks if not e.blocks), incident),
        parts=[
            _part_shown(request, view, part) for part in PARTS.values() if part.offered
        ],
        teams=[
            (crew, view.of_team(crew.id))
            for crew in view.scene.crews
            if crew.role == "entry"
        ],
    )


def _part_shown(request: HtmxRequest, view: PlanView, part: Part) -> PartShown:
    return PartShown(
        part=part,
        items=tuple(_items(view, part)),
        may_write=permissions.may_plan(role_in(view.incident), part.key)
        and not view.incident.is_closed,
    )


def _items(view: PlanView, part: Part) -> list[Shown]:
    """What stands of a part: one, its items, or the newest of what is kept first."""
    names = {crew.id: crew.name for crew in view.scene.crews}
    if part.many:
        records = list(view.plan.items(part.key).values())
    elif part.kept:
        records = list(view.plan.history(part.key))[::-1][:1]
    else:
        last = view.plan.last(part.key)
        records = [last] if last is not None else []
    return [_shown(view, part, record, names) for record in records]


def _shown(
    view: PlanView, part: Part, record: Record, names: Mapping[str, str]
) -> Shown:
    rows = words.said(record.says, zone_of(view.incident))
    if part.key == "size_up":
        rows = words.rows(record.says, zone_of(view.incident))
    if part.key == "substances" and record.says is not None:
        differ = differing(record.says.name, record.says.facts)
        rows = [*([("References", differ)] if differ else []), *rows]
    if part.key == "weather":
        rows = [row for row in rows if not row[0].startswith(("Wind", "Or blowing"))]
        rows.insert(0, ("Wind", words.wind_words(record.says)))
    return Shown(
        title=words.item_title(part, record.item, record.says, dict(names)),
        item=record.item,
        rows=tuple(rows),
        record=record,
    )


@incident_view("GET", "POST")
def plan_part(request: HtmxRequest, incident: Incident, part: str) -> HttpResponse:
    asked = PARTS.get(part)
    if asked is None or not asked.offered:
        raise Http404("No such part of the plan.")
    may_write = permissions.may_plan(role_in(incident), part)
    if request.method == "POST" and not may_write:
        raise PermissionDenied("This part of the plan is the incident commander's.")
    view = selectors.plan_view(incident, timezone.now())
    if request.method == "POST" and "take_out" in request.POST:
        return _take_out(request, view, asked)
    if request.method == "POST" and "check_in" in request.POST:
        return _check_in(request, view, asked)
    item = _item_of(request, view, asked)
    data = request.POST if request.method == "POST" else None
    form = _form(request, view, asked, item, data)
    theirs: tuple[tuple[str, str], ...] = ()
    if form.is_bound and form.is_valid():
        newer = _save(request, incident, form)
        if newer is not None:
            form, theirs = _against(request, view, form, newer)
        elif not form.errors:
            return _saved(incident, asked)
    status = 409 if theirs else 422 if form.is_bound else 200
    return _page(request, view, asked, form, status=status, theirs=theirs)


def _saved(incident: Incident, part: Part) -> HttpResponse:
    """Back to the list where more of the same follow, else to the plan."""
    if part.many and part.items is None and not part.by_team:
        return redirect("incidents:plan-part", incident.pk, part.key)
    return redirect("incidents:plan", incident.pk)


def _item_of(request: HtmxRequest, view: PlanView, part: Part) -> str:
    if not part.many:
        return ""
    asked = request.POST.get("item") or request.GET.get("item") or ""
    if part.items is not None:
        return asked if asked in part.items else next(iter(part.items))
    if part.by_team:
        teams = [crew.id for crew in view.scene.crews]
        if not teams:
            return ""
        return asked if asked in teams else teams[0]
    return asked or uuid4().hex


def _form(
    request: HtmxRequest, view: PlanView, part: Part, item: str, data: Any
) -> PartForm:
    last = view.plan.last(part.key, item)
    stands = last.says if last is not None else None
    names = [crew_name for crew in view.scene.crews for crew_name in crew.members]
    people = list(dict.fromkeys([*names, *(c.name for c in view.plan.checked_in)]))
    return PartForm(
        data,
        part=part,
        now=view.at,
        zone=zone_of(view.incident),
        start=start_of(part, stands, view, request.user.shown_name),
        based_on=last.seq if last is not None and part.guarded else None,
        item=item,
        people=people,
        listeners=[(name, name) for name in people] if part.key == "briefing" else (),
    )


def _save(request: HtmxRequest, incident: Incident, form: PartForm) -> Record | None:
    """Keep what the form says; the newer record where somebody was quicker."""
    try:
        services.record_part(
            incident_id=incident.pk,
            person=request.user,
            part=form.part.key,
            item=form.cleaned_data["item"] if form.part.many else "",
            says=form.says(),
            based_on=form.cleaned_data["based_on"],
            at=timezone.now(),
            holds_from=form.holds_from(),
            client_uuid=form.cleaned_data["client_uuid"],
        )
    except services.PartConflictError as refusal:
        form.add_error(None, str(refusal))
        return refusal.newer
    except services.EntryRefusedError as refusal:
        for error in refusal.errors:
            form.refuse(error.pointer, error.expected)
    except services.RefusalError as refusal:
        form.add_error(None, str(refusal))
    return None


def _against(
    request: HtmxRequest, view: PlanView, form: PartForm, newer: Record
) -> tuple[PartForm, tuple[tuple[str, str], ...]]:
    """What was typed, now against the newer record; saving again is a choice made."""
    data = request.POST.copy()
    data["based_on"] = str(newer.seq)
    data["client_uuid"] = str(uuid4())
    fresh = _form(request, view, form.part, newer.item, data)
    fresh.is_valid()
    for message in form.non_field_errors():
        fresh.add_error(None, str(message))
    if newer.says is None:
        return fresh, (("Taken out", newer.reason),)
    zone = zone_of(view.incident)
    return fresh, tuple(words.rows(newer.says, zone))


def _take_out(request: HtmxRequest, view: PlanView, part: Part) -> HttpResponse:
    item = request.POST.get("item", "")
    last = view.plan.last(part.key, item)
    if last is None or last.says is None or not part.many:
        raise Http404("No such item.")
    leaving = TakeOutForm(request.POST)
    if leaving.is_valid():
        try:
            services.record_part(
                incident_id=view.incident.pk,
                person=request.user,
                part=part.key,
                item=item,
                says=None,
                based_on=last.seq,
                at=timezone.now(),
                reason=leaving.cleaned_data["take_out"],
            )
        except services.RefusalError as refusal:
            leaving.add_error(None, str(refusal))
        else:
            return redirect("incidents:plan-part", view.incident.pk, part.key)
    form = _form(request, view, part, item, None)
    return _page(request, view, part, form, status=422, leaving=leaving)


def _check_in(request: HtmxRequest, view: PlanView, part: Part) -> HttpResponse:
    arriving = CheckInForm(request.POST, names=_not_here(view))
    if part.key == "check_in" and arriving.is_valid():
        try:
            services.check_in_all(
                incident_id=view.incident.pk,
                person=request.user,
                names={uuid4().hex: name for name in arriving.cleaned_data["arrived"]},
                at=timezone.now(),
            )
        except services.RefusalError as refusal:
            arriving.add_error(None, str(refusal))
        else:
            return redirect("incidents:plan-part", view.incident.pk, part.key)
    form = _form(request, view, part, uuid4().hex if part.many else "", None)
    return _page(request, view, part, form, status=422, arriving=arriving)


def _not_here(view: PlanView) -> list[str]:
    here = {name_key(check.name) for check in view.plan.checked_in}
    named = (name for crew in view.scene.crews for name in crew.members)
    return [name for name in dict.fromkeys(named) if name_key(name) not in here]


def _page(
    request: HtmxRequest,
    view: PlanView,
    part: Part,
    form: PartForm,
    *,
    status: int,
    theirs: tuple[tuple[str, str], ...] = (),
    leaving: TakeOutForm | None = None,
    arriving: CheckInForm | None = None,
) -> HttpResponse:
    item = str(form["item"].value() or "")
    stands = part.many and item in view.plan.items(part.key)
    not_here = _not_here(view) if part.key == "check_in" else []
    if arriving is None and not_here:
        arriving = CheckInForm(names=not_here)
    may_write = permissions.may_plan(role_in(view.incident), part.key)
    return page(
        request,
        "plan/part.html",
        view.incident,
        status=status,
        view=view,
        subject=part,
        form=form,
        theirs=theirs,
        shown=_items(view, part),
        kept=_kept(view, part),
        choices=_choices(view, part),
        item=item,
        leaving=(leaving or TakeOutForm()) if stands else None,
        arriving=arriving,
        may_write=may_write and not view.incident.is_closed,
        title=_title(view, part, item, stands=stands),
        judged_by=_judged_by(view) if part.key == "weather" else "",
        links=[
            *form.error_links(),
            *(leaving.error_links() if leaving else ()),
            *(arriving.error_links() if arriving else ()),
        ],
    )


def _judged_by(view: PlanView) -> str:
    """The weather that readings of now are judged by, in words."""
    weather = engine.live(view.incident).context.under(view.at).weather
    said = []
    if weather.air_temperature_degf is not None:
        said.append(degrees(weather.air_temperature_degf))
    if weather.relative_humidity_percent is not None:
        said.append(f"{weather.relative_humidity_percent:f} % relative humidity")
    return ", ".join(said) or "not known"


def _kept(view: PlanView, part: Part) -> list[Shown]:
    """What came before, newest first, of a part whose records all count."""
    if not part.kept:
        return []
    names = {crew.id: crew.name for crew in view.scene.crews}
    records = reversed(view.plan.history(part.key))
    return [_shown(view, part, record, names) for record in records]


def _choices(view: PlanView, part: Part) -> list[tuple[str, str]]:
    """The items that there can be, where they are fixed."""
    if part.items is not None:
        return list(part.items.items())
    if part.by_team:
        return [(crew.id, crew.name) for crew in view.scene.crews]
    return []


def _title(view: PlanView, part: Part, item: str, *, stands: bool) -> str:
    fixed = dict(_choices(view, part)).get(item)
    if fixed:
        return f"{part.title}: {fixed}"
    if stands:
        record = view.plan.items(part.key)[item]
        return f"{part.title}: {words.item_title(part, item, record.says)}"
    return part.title
