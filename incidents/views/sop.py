"""The agency's SOP: its versions, one of them, two side by side, and a new one."""

from dataclasses import replace
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import (
    require_GET,
    require_http_methods,
    require_POST,
)

from incidents import services
from incidents.documents import dumps_lines, loads
from incidents.forms.sop import ImportForm, Start, VersionForm, WithdrawForm
from incidents.models import Agency, SopProfile
from incidents.selectors import profiles as read
from incidents.services import permissions, profiles
from incidents.sop_table import ITEMS
from incidents.views.access import HtmxRequest, page
from screening.worksheet import DocumentError, WorksheetErrors, load_json, parse_profile


@require_GET
def versions(request: HtmxRequest) -> HttpResponse:
    """Every version of the agency's SOP, newest first."""
    agency = _agency(request)
    lines = read.versions_of(agency, read.today_of(agency, timezone.now()))
    return page(request, "sop/list.html", lines=lines, may_edit=_may_edit(request))


@require_GET
def version(request: HtmxRequest, number: int) -> HttpResponse:
    """One version: every value with its default, direction, source and reason."""
    found = read.get_version_for(request.user, number)
    lines = read.versions_of(found.agency, read.today_of(found.agency, timezone.now()))
    return page(
        request,
        "sop/version.html",
        line=next(line for line in lines if line.version.pk == found.pk),
        sections=read.value_rows(read.raw_values(found), found.reasons_given),
        chart=read.chart_of(found),
        loosened=read.loosened_of(found),
        hash_holds=profiles.content_hash(found) == found.sha256,
        may_edit=_may_edit(request),
    )


@require_GET
def compare(request: HtmxRequest) -> HttpResponse:
    """Two versions side by side; 0 stands for the built-in limits."""
    agency = _agency(request)
    every = list(agency.sop_profiles.order_by("-created_at", "-pk"))
    old = _chosen(every, request.GET.get("a", "0"))
    new = _chosen(every, request.GET.get("b", str(every[0].pk) if every else "0"))
    before, after = read.raw_values(old), read.raw_values(new)
    changes = read.changes(before, after, new.reasons_given if new else {})
    return page(
        request,
        "sop/compare.html",
        versions=every,
        old=old,
        new=new,
        changes=changes,
        same=len(ITEMS) - len(changes),
        charts=(read.chart_of(old), read.chart_of(new)),
    )


def _chosen(every: list[SopProfile], text: str) -> SopProfile | None:
    if text == "0":
        return None
    for one in every:
        if str(one.pk) == text:
            return one
    raise Http404("No such version.")


@require_http_methods(["GET", "POST"])
def new_version(request: HtmxRequest, number: int | None = None) -> HttpResponse:
    """A new version, from an existing one or from the built-in limits.

    Sent once it is shown with what it changes; sent again from there it is kept.
    """
    agency = _editor(request)
    base = read.get_version_for(request.user, number) if number else None
    start = start_of(agency, base)
    if request.method == "GET":
        return _editor_page(request, VersionForm(start=start), base)
    form = VersionForm(request.POST, start=start)
    valid, action = form.is_valid(), request.POST.get("action", "")
    if action == "edit" or not valid:
        return _editor_page(request, form, base, 200 if valid else 422)
    if action != "save":
        return _look(request, form, base)
    draft = form.draft()
    try:
        kept = profiles.add_version(
            person=request.user,
            draft=replace(draft, previous=base),
            at=timezone.now(),
        )
    except services.EntryRefusedError as refusal:
        form.place(refusal.errors)
        return _editor_page(request, form, base, 422)
    return redirect("incidents:sop-version", kept.pk)


def start_of(agency: Agency, base: SopProfile | None) -> Start:
    """What a new version begins with: the one before, or the built-in limits."""
    name = base.name if base else f"{agency.name} SOP"[:120]
    return Start(
        raws=read.raw_values(base),
        reasons=base.reasons_given if base else {},
        chart=read.chart_of(base),
        name=name,
        version=profiles.next_version(agency, name),
        today=read.today_of(agency, timezone.now()),
    )


def _editor_page(
    request: HtmxRequest,
    form: VersionForm,
    base: SopProfile | None,
    status: int = 200,
    **more: Any,
) -> HttpResponse:
    sections = [
        (name, rows, _count(rows), any(row.changed or row.wrong for row in rows))
        for name, rows in form.sections()
    ]
    return page(
        request,
        "sop/edit.html",
        status=status,
        form=form,
        base=base,
        sections=sections,
        changed=sum(count for _, _, count, _ in sections),
        **more,
    )


def _count(rows: list[Any]) -> int:
    return sum(row.changed for row in rows)


def _look(
    request: HtmxRequest, form: VersionForm, base: SopProfile | None
) -> HttpResponse:
    """What the version would change, before it is kept."""
    draft = form.draft()
    after = form.settled_raws()
    return page(
        request,
        "sop/look.html",
        form=form,
        base=base,
        draft=draft,
        changes=read.changes(form.start.raws, after, draft.reasons),
        looser=[
            row
            for rows in read.value_rows(after, draft.reasons).values()
            for row in rows
            if row.looser
        ],
        charts=(form.start.chart, draft.paper_chart or {}),
        same=len(ITEMS) - len(read.changes(form.start.raws, after, {})),
    )


@require_POST
def check_row(request: HtmxRequest, key: str) -> HttpResponse:
    """What is to be said of one row of the form as it is typed; nothing is kept."""
    agency = _editor(request)
    if key not in ITEMS:
        raise Http404("No such limit.")
    number = number_of(request.GET.get("from", ""))
    base = read.get_version_for(request.user, number) if number else None
    form = VersionForm(request.POST, start=start_of(agency, base))
    form.is_valid()
    sections = dict(form.sections())
    section = ITEMS[key].section
    return page(
        request,
        "sop/partials/checked.html",
        row=form.row(key),
        base=base,
        section=section,
        section_changed=_count(sections[section]),
        changed=sum(_count(rows) for rows in sections.values()),
    )


@require_http_methods(["GET", "POST"])
def import_profile(request: HtmxRequest) -> HttpResponse:
    """Begin a new version with a profile from a file; nothing is kept by this."""
    agency = _editor(request)
    form = ImportForm(
        request.POST if request.method == "POST" else None, request.FILES or None
    )
    errors: tuple[DocumentError, ...] = ()
    if form.is_bound and form.is_valid():
        try:
            document = load_json(form.content())
            parse_profile(document)
        except WorksheetErrors as found:
            errors = found.errors
        else:
            return _imported(request, agency, document)
    return page(
        request,
        "sop/import.html",
        status=422 if form.is_bound else 200,
        form=form,
        errors=errors,
    )


def _imported(request: HtmxRequest, agency: Agency, document: Any) -> HttpResponse:
    name = str(document["name"])[:120]
    base = agency.sop_profiles.filter(name=name).order_by("-created_at", "-pk").first()
    version, known = str(document["version"])[:40], profiles.next_version(agency, name)
    taken = agency.sop_profiles.filter(name=name, version=version).exists()
    start = start_of(agency, base)
    defaults = read.raw_values(None)
    kept = {key: raw for key, raw in start.raws.items() if not ITEMS[key].in_engine}
    limits = {key: raw for key, raw in defaults.items() if ITEMS[key].in_engine}
    chart = document.get("paper_chart", {})
    start = replace(
        start,
        typed={**limits, **document.get("limits", {}), **kept},
        typed_chart={colour: (a, b) for colour, (a, b) in chart.items()},
        name=name,
        version=known if taken else version,
    )
    return _editor_page(
        request, VersionForm(start=start), base, imported=True, taken=taken
    )


@require_GET
def profile_json(request: HtmxRequest, number: int) -> HttpResponse:
    """The limits as `python -m screening --profile FILE` reads them."""
    found = read.get_version_for(request.user, number)
    return _file(found, dumps_lines(loads(found.document)).encode(), "profile")


@require_GET
def record_json(request: HtmxRequest, number: int) -> HttpResponse:
    """All that the version holds: the very bytes that its hash is over."""
    found = read.get_version_for(request.user, number)
    return _file(found, profiles.content(found), "version")


def _file(found: SopProfile, data: bytes, kind: str) -> HttpResponse:
    stem = slugify(f"{found.name} {found.version}")[:80] or "sop"
    response = HttpResponse(data, content_type="application/json")
    response["Content-Disposition"] = f'attachment; filename="{stem}-{kind}.json"'
    return response


@require_http_methods(["GET", "POST"])
def withdraw(request: HtmxRequest, number: int) -> HttpResponse:
    """Take a version from use for new incidents, with a reason."""
    _editor(request)
    found = read.get_version_for(request.user, number)
    form = WithdrawForm(request.POST if request.method == "POST" else None)
    if form.is_bound and form.is_valid():
        try:
            profiles.withdraw_version(
                version=found,
                person=request.user,
                at=timezone.now(),
                reason=form.cleaned_data["reason"],
            )
        except services.RefusalError as refusal:
            form.add_error(None, str(refusal))
        else:
            return redirect("incidents:sop-version", found.pk)
    return page(
        request,
        "sop/withdraw.html",
        status=422 if form.is_bound else 200,
        form=form,
        version=found,
    )


def number_of(text: str) -> int | None:
    """The id that a page was sent; None for what is none."""
    plain = text.isascii() and text.isdigit() and len(text) <= 18
    return int(text) if plain else None


def _agency(request: HtmxRequest) -> Agency:
    if request.user.agency is None:
        raise Http404("You belong to no agency.")
    return request.user.agency


def _may_edit(request: HtmxRequest) -> bool:
    return permissions.may_edit_sop(request.user)


def _editor(request: HtmxRequest) -> Agency:
    try:
        return permissions.require_sop_editor(request.user)
    except services.NotAllowedError as refusal:
        raise PermissionDenied(
            "You may read the SOP of your agency. Who may write it, whoever runs your "
            "agency says."
        ) from refusal
