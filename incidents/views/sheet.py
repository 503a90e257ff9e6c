"""The commander's sheet, and its fragment that is polled."""

import hashlib
from collections import OrderedDict
from datetime import datetime
from typing import Final
from uuid import UUID
from zoneinfo import ZoneInfo

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

# Fragments by what they show; the key holds the revision, so an old one is never served.
_fragments: OrderedDict[tuple[object, ...], tuple[str, str]] = OrderedDict()


@incident_view("GET")
def sheet(request: HtmxRequest, incident: Incident) -> HttpResponse:
    tag = selectors.sheet_tag(incident.pk, person=request.user)
    html, digest = fragment_of(incident, tag)
    return page(
        request,
        "sheet/sheet.html",
        incident,
        live=html,
        etag=etag_of(request, incident.pk, tag, digest),
    )


@require_GET
def sheet_live(request: HtmxRequest, pk: UUID) -> HttpResponse:
    """The part that changes; 304 from one indexed read while nothing did.

    The tag moves with the revision and every ten seconds, since PAR, ages and stay
    times change a verdict with no new entry. Where the new moment says the same as the
    last, the answer is 304 all the same, with the new tag.
    """
    tag = selectors.sheet_tag(pk, person=request.user)
    known = request.headers.get("If-None-Match", "").strip('"')
    if known and known.startswith(_seen(request, pk, tag)):
        return _unchanged(f'"{known}"')
    incident = selectors.get_incident_for(request.user, pk)
    with timezone.override(zone_of(incident)):
        html, digest = fragment_of(incident, tag)
    etag = etag_of(request, pk, tag, digest)
    if known.endswith(f".{digest}"):
        return _unchanged(etag)
    response = HttpResponse(html)
    response["ETag"] = etag
    return response


def _unchanged(etag: str) -> HttpResponse:
    response = HttpResponse(status=304)
    response["ETag"] = etag
    return response


def _seen(request: HtmxRequest, pk: UUID, tag: str) -> str:
    """Proof that this person was shown this tag; it cannot be guessed."""
    return salted_hmac("sheet", f"{request.user.pk} {pk} {tag}").hexdigest()[:20]


def etag_of(request: HtmxRequest, pk: UUID, tag: str, digest: str) -> str:
    return f'"{_seen(request, pk, tag)}.{digest}"'


def fragment_of(incident: Incident, tag: str) -> tuple[str, str]:
    """The fragment and its digest; rendered once for all who watch."""
    command = permissions.may_command(role_in(incident)) and not incident.is_closed
    key = (incident.pk, incident.head_hash, tag, command)
    kept = _fragments.get(key)
    if kept is None:
        html = _render(incident, timezone.now(), command=command)
        kept = html, hashlib.sha256(html.encode()).hexdigest()[:20]
        _fragments[key] = kept
        while len(_fragments) > KEPT:
            _fragments.popitem(last=False)
    return kept


def _render(incident: Incident, at: datetime, *, command: bool) -> str:
    view = selectors.sheet(incident, at)
    rows = selectors.log_rows(incident, limit=LINES_SHOWN)
    return render_to_string(
        "sheet/partials/live.html",
        {
            "incident": incident,
            "cards": board.cards_of(view),
            "beyond": view.beyond,
            "cautions": view.cautions,
            "lines": rows_html(rows, incident),
            "more": len(rows) == LINES_SHOWN,
            "may_command": command,
            "zone": ZoneInfo(incident.agency.time_zone),
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
