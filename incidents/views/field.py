"""The phone's page itself, as it is kept on the phone: no incident's data is in it."""

import hashlib
import io
import json
from datetime import UTC, datetime
from functools import lru_cache
from typing import Any, Final
from zoneinfo import ZoneInfo

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import staticfiles_storage
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.template.loader import render_to_string
from django.templatetags.static import static
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_GET

from incidents.forms.entry import EntryChoices, EntryForm
from incidents.forms.papers import PaperForm
from incidents.forms.photos import PhotoForm
from incidents.forms.readings import READING_FORMS
from incidents.views.carried import CARRIED_ON_PHONE
from reports.words import KIND_LABELS
from screening.verdicts import CAUTION, Action

ASSETS: Final = (
    "css/base.css", "css/verdict.css", "css/form.css", "css/log.css", "css/field.css",
    "js/pad.js", "js/saves.js", "field/app.js", "field/device.js", "field/form.js",
    "field/home.js", "field/page.js", "field/photo.js", "field/post.js", "field/save.js",
    "field/send.js", "field/store.js", "field/time.js", "field/verdict.js",
    "field/waiting.js", "field/warn.js",
)  # fmt: skip
# The sign of the worksheet: a sheet of paper with three lines, the second one marked.
# Polygons on a ground of 64 by 64, for the drawing and for the picture alike.
GROUND: Final = "#16181d"
PAPER: Final = "#fbfaf7"
SHAPES: Final = (
    (PAPER, ((14, 8), (50, 8), (50, 56), (14, 56))),
    (GROUND, ((20, 18), (44, 18), (44, 22), (20, 22))),
    (GROUND, ((20, 29), (34, 29), (34, 36), (20, 36))),
    (GROUND, ((20, 43), (44, 43), (44, 47), (20, 47))),
)
SIDES: Final = (192, 512)
_UNIT: Final = 64


@login_not_required
@cache_control(no_cache=True)
@require_GET
def shell(request: HttpRequest) -> HttpResponse:
    """The same for everyone: it may lie on the phone for when there is no link."""
    return HttpResponse(_shell())


def _shell() -> str:
    kinds = [
        {
            "kind": kind,
            "label": KIND_LABELS[kind],
            "form": _empty_form(form),
            "template": f"log/kinds/{kind}.html",
            "save": f"log/partials/save{'_paper' if issubclass(form, PaperForm) else ''}.html",
        }
        for kind, form in READING_FORMS.items()
    ]
    photo = _empty_form(PhotoForm)
    given = {
        "kinds": kinds,
        "photo": photo,
        "carried": CARRIED_ON_PHONE,
        "verdicts": [action.word for action in Action],
        "caution": CAUTION,
    }
    return render_to_string("field/shell.html", given)


def _empty_form(form: type[EntryForm]) -> EntryForm:
    """Without team, people or places: the phone fills in its own."""
    choices = EntryChoices(
        now=datetime(2000, 1, 1, tzinfo=UTC), zone=ZoneInfo("UTC"), teams=(("", ""),)
    )
    empty = form(choices=choices, initial={"client_uuid": None})
    for name in ("team", "instrument", "borrowed", "client_uuid", "observed_at"):
        empty.fields.pop(name, None)
    return empty


@login_not_required
@cache_control(no_cache=True)
@require_GET
def worker(request: HttpRequest) -> HttpResponse:
    """The service worker, at an address above the page's so that it may serve it."""
    addresses = [reverse("incidents:field"), *(static(name) for name in ASSETS)]
    addresses += [
        reverse("incidents:field-manifest"),
        reverse("incidents:field-icon-svg"),
    ]
    content = render_to_string(
        "field/worker.js",
        {"version": _version(), "addresses": mark_safe(json.dumps(addresses))},
    )
    return HttpResponse(content, content_type="text/javascript; charset=utf-8")


def _version() -> str:
    """Changes with anything that the phone keeps."""
    known = hashlib.sha256(_shell().encode())
    for name in ASSETS:
        known.update(_content(name))
    return known.hexdigest()[:16]


def _content(name: str) -> bytes:
    if settings.PRODUCTION:
        with staticfiles_storage.open(name) as file:
            return bytes(file.read())
    path = finders.find(name)
    assert path is not None, name
    with open(path, "rb") as file:
        return file.read()


@login_not_required
@require_GET
def manifest(request: HttpRequest) -> HttpResponse:
    icons: list[dict[str, Any]] = [
        {
            "src": reverse("incidents:field-icon-svg"),
            "sizes": "any",
            "type": "image/svg+xml",
        }
    ]
    icons += [
        {
            "src": reverse("incidents:field-icon", args=(side,)),
            "sizes": f"{side}x{side}",
            "type": "image/png",
            "purpose": "any maskable",
        }
        for side in SIDES
    ]
    return JsonResponse(
        {
            "name": "Hazmat incident worksheet: log a reading",
            "short_name": "Log a reading",
            "start_url": reverse("incidents:field"),
            "scope": reverse("incidents:field"),
            "display": "standalone",
            "background_color": PAPER,
            "theme_color": GROUND,
            "icons": icons,
        },
        content_type="application/manifest+json",
    )


@login_not_required
@require_GET
def icon_svg(request: HttpRequest) -> HttpResponse:
    shapes = "".join(
        f'<polygon fill="{fill}" points="{" ".join(f"{x},{y}" for x, y in points)}"/>'
        for fill, points in SHAPES
    )
    drawing = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_UNIT} {_UNIT}">'
        f'<rect width="{_UNIT}" height="{_UNIT}" fill="{GROUND}"/>{shapes}</svg>'
    )
    return HttpResponse(drawing, content_type="image/svg+xml")


@login_not_required
@require_GET
def icon(request: HttpRequest, side: int) -> HttpResponse:
    if side not in SIDES:
        raise Http404("No such icon.")
    return HttpResponse(_picture(side), content_type="image/png")


@lru_cache(maxsize=len(SIDES))
def _picture(side: int) -> bytes:
    from PIL import Image, ImageDraw

    image = Image.new("RGB", (side, side), GROUND)
    draw = ImageDraw.Draw(image)
    scale = side / _UNIT
    for fill, points in SHAPES:
        draw.polygon([(x * scale, y * scale) for x, y in points], fill=fill)
    content = io.BytesIO()
    image.save(content, "PNG", optimize=True)
    return content.getvalue()
