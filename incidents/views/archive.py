"""Looking back over many incidents: finding them, and their figures together."""

from typing import Any

from django.http import HttpResponse
from django.views.decorators.http import require_GET

from incidents import selectors
from incidents.forms.archive import BY, ArchiveForm
from incidents.services import permissions
from incidents.views import across
from incidents.views.access import HtmxRequest, page, zone_of_agency
from review.across import By


@require_GET
def archive(request: HtmxRequest) -> HttpResponse:
    """Every incident that the person may look back on; filters stand in the address."""
    form = _form(request)
    found = None
    if form.is_valid():
        zone = zone_of_agency(request.user.agency)
        rows = selectors.archived(request.user, form.wanted(), zone)
        found = selectors.archive_page(rows, _number(request.GET.get("page", "")))
    return page(
        request,
        "archive/archive.html",
        status=200 if found else 422,
        form=form,
        found=found,
        **_turns(form, found),
        **_whose(request),
    )


@require_GET
def figures(request: HtmxRequest) -> HttpResponse:
    """The figures of all that the same filters find, by year, rule or place."""
    form = _form(request)
    view = None
    by: By = _by(request.GET.get("by", ""))
    if form.is_valid():
        zone = zone_of_agency(request.user.agency)
        rows = selectors.archived(request.user, form.wanted(), zone)
        view = across.view_of(selectors.kept_figures(rows, zone), by)
    return page(
        request,
        "archive/figures.html",
        status=200 if view else 422,
        form=form,
        view=view,
        by=by,
        choices=[(key, words, form.address(by=key)) for key, words in BY],
        back=form.address(),
        **_whose(request),
    )


def _form(request: HtmxRequest) -> ArchiveForm:
    agency = request.user.agency
    editions = list(agency.sop_profiles.order_by("-created_at")) if agency else []
    return ArchiveForm(request.GET, editions=editions)


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 7 else 1


def _by(text: str) -> By:
    match text:
        case "rule" | "place":
            return text
    return "year"


def _turns(form: ArchiveForm, found: selectors.ArchivePage | None) -> dict[str, Any]:
    """The addresses of the pages around, of the figures, "" where there is none."""
    if found is None:
        return {}
    older = form.address(page=found.number + 1) if found.number < found.last else ""
    newer = ""
    if found.number > 1:
        newer = form.address(page=found.number - 1)
    return {"older": older, "newer": newer, "query": form.address()}


def _whose(request: HtmxRequest) -> dict[str, Any]:
    reviews = permissions.may_review(request.user)
    lacking = selectors.not_archived(request.user) if reviews else 0
    return {"reviews": reviews, "lacking": lacking}
