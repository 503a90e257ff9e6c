"""The commander's sheet, and its fragment that is polled."""

import hashlib
from collections import OrderedDict
from datetime import datetime
from typing import Final
from uuid import UUID

from django.http import HttpResponse
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.crypto import salted_hmac
from django.views.decorators.http import require_GET

from incidents import selectors
from incidents.models import Incident
from incidents.services import permissions
from incidents.views import board
from incidents.views.access import HtmxRequest, incident_view, page, role_in, zone_of
from incidents.views.words import rows_html

LINES_SHOWN: Final = 30
LINES_PER_PAGE: Final = 200
KEPT: Final = 64
SHEET, WALL, LATE = "sheet", "wall", "late"
FRAGMENTS: Final = {SHEET: "live.html", WALL: "wall.html", LATE: "late.html"}
DIGEST: Final = "digest-of-this"  # its place in a fragment that asks again by itself

# Fragments by what they show; the key holds the revision, so an old one is never served.
_fragments: OrderedDict[tuple[object, ...], tuple[str, str]] = OrderedDict()


@incident_view("GET")
def sheet(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """The sheet; with `?wall=1` for a display on the wall: large, to be read only."""
    tag = selectors.sheet_tag(incident.pk, person=request.user)
    form = _form_of(request)
    html, digest = fragment_of(incident, tag, form)
    return page(
        request,
        f"sheet/{form}.html",
        incident,
        live=html,
        etag=etag_of(request, incident.pk, tag, digest),
    )


def _form_of(request: HtmxRequest) -> str:
    return WALL if request.GET.get("wall") == "1" else SHEET


@require_GET
def sheet_live(request: HtmxRequest, pk: UUID) -> HttpResponse:
    """The part that changes; 304 from one indexed read while nothing did.

    The tag moves with the revision and every ten seconds, since PAR, ages and stay
    times change a verdict with no new entry. Where the new moment says the same as the
    last, the answer is 304 all the same, with the new tag.
    """
    tag = selectors.sheet_tag(pk, person=request.user)
    known = request.headers.get("If-None-Match", "").removeprefix("W/").strip('"')
    if known and known.startswith(_seen(request, pk, tag)):
        return _unchanged(f'"{known}"')
    incident = selectors.get_incident_for(request.user, pk)
    with timezone.override(zone_of(incident)):
        html, digest = fragment_of(incident, tag, _form_of(request))
    etag = etag_of(request, pk, tag, digest)
    if known.endswith(f".{digest}"):
        return _unchanged(etag)
    response = HttpResponse(html)
    response["ETag"] = etag
    return response


@require_GET
def late(request: HtmxRequest, pk: UUID) -> HttpResponse:
    """What nobody heard for a minute, for the other pages of the incident.

    204 where that page has it already (`seen`).
    """
    tag = selectors.sheet_tag(pk, person=request.user)
    incident = selectors.get_incident_for(request.user, pk)
    with timezone.override(zone_of(incident)):
        html, digest = fragment_of(incident, tag, LATE)
    if request.GET.get("seen") == digest:
        return HttpResponse(status=204)
    return HttpResponse(html.replace(DIGEST, digest))


def _unchanged(etag: str) -> HttpResponse:
    response = HttpResponse(status=304)
    response["ETag"] = etag
    return response


def _seen(request: HtmxRequest, pk: UUID, tag: str) -> str:
    """Proof that this person was shown this tag; it cannot be guessed."""
    form = _form_of(request)
    return salted_hmac("sheet", f"{request.user.pk} {pk} {tag} {form}").hexdigest()[:20]


def etag_of(request: HtmxRequest, pk: UUID, tag: str, digest: str) -> str:
    return f'"{_seen(request, pk, tag)}.{digest}"'


def fragment_of(incident: Incident, tag: str, form: str = SHEET) -> tuple[str, str]:
    """The fragment and its digest; rendered once for all who watch."""
    command = permissions.may_command(role_in(incident)) and not incident.is_closed
    command = command and not selectors.is_scripted(incident)
    key = (incident.pk, incident.head_hash, tag, form, command)
    kept = _fragments.get(key)
    if kept is None:
        html = _render(incident, timezone.now(), form, command=command)
        kept = html, hashlib.sha256(html.encode()).hexdigest()[:20]
        _fragments[key] = kept
        while len(_fragments) > KEPT:
            _fragments.popitem(last=False)
    return kept


def _render(incident: Incident, at: datetime, form: str, *, command: bool) -> str:
    view = selectors.sheet(incident, at)
    limit = LINES_SHOWN if form == SHEET else 0
    rows = selectors.log_rows(incident, limit=limit) if limit else []
    return drawn(
        incident,
        view,
        rows_html(rows, incident),
        form,
        more=len(rows) == LINES_SHOWN,
        command=command,
        digest=DIGEST,
    )


def drawn(
    incident: Incident,
    view: selectors.SheetView,
    lines: list[str],
    form: str = SHEET,
    *,
    more: bool = False,
    command: bool = False,
    digest: str = "",
) -> str:
    """The fragment of what is known; nothing in it can be pressed unless by command."""
    return render_to_string(
        f"sheet/partials/{FRAGMENTS[form]}",
        {
            "incident": incident,
            "ended": view.at if incident.is_closed else None,
            "cards": board.cards_of(view),
            "alarms": board.alarms_of(view),
            "beyond": view.beyond,
            "cautions": view.cautions,
            "banners": view.banners,
            "lines": lines,
            "more": more,
            "may_command": command,
            "zone": zone_of(incident),
            "digest": digest,
        },
    )


@incident_view("GET")
def log(request: HtmxRequest, incident: Incident) -> HttpResponse:
    """The whole log, newest first, a page at a time."""
    before = request.GET.get("before", "")
    before_seq = int(before) if before.isascii() and before.isdigit() else None
    rows = selectors.log_rows(incident, limit=LINES_PER_PAGE, before_seq=before_seq)
    return page(
        request,
        "sheet/log.html",
        incident,
        lines=rows_html(rows, incident),
        before=rows[-1].entry.seq if len(rows) == LINES_PER_PAGE else None,
    )
