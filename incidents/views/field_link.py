"""What the warm zone's phones ask and send. No page and no session: a cookie of the
device, which goes to these addresses only, and a header that no form of another site can
set."""

import hashlib
from collections.abc import Callable
from datetime import datetime, timedelta
from functools import lru_cache, wraps
from importlib.metadata import version
from threading import Lock
from typing import Any, Final, cast
from uuid import UUID
from zoneinfo import ZoneInfo

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.urls import reverse
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from incidents import engine, judging, pictures, services
from incidents.documents import loads
from incidents.forms.entry import EntryForm
from incidents.forms.field import Batch, BatchError, form_of, read_batch, sent_of
from incidents.forms.single_readings import VERSION, single_readings
from incidents.models import Device
from incidents.photo_claims import most_original
from incidents.selectors.devices import device_by_token
from incidents.services.devices import (
    JoinRefusedError,
    Taken,
    join_device,
    note_seen,
    take_from_device,
)
from incidents.services.photos import PhotoNotNamedError, take_photo_from_device
from incidents.views import board
from incidents.views.carried import carried_of
from incidents.views.sending import refuse
from incidents.views.words import names_of
from screening.ensembles import Ensemble
from screening.verdicts import CAUTION

HEADER: Final = "X-Worksheet-Device"
ENTRY_HEADER: Final = "X-Worksheet-Entry"
# What no house rule lets through; the entry's own limit is asked with it.
LARGEST_PHOTO: Final = 12_000_000
LONGEST_SECRET: Final = 200

View = Callable[..., HttpResponse]

_MAKING = Lock()


def cookie_name() -> str:
    """The prefix makes the browser itself refuse it without https (RFC 6265bis)."""
    return "__Secure-device" if settings.SESSION_COOKIE_SECURE else "device"


def _from_a_page_of_ours(request: HttpRequest) -> bool:
    site = request.headers.get("Sec-Fetch-Site", "same-origin")
    kinds = ("application/json", *pictures.SUFFIXES)  # none that a form could send
    kind = request.content_type in kinds or request.method == "GET"
    return bool(request.headers.get(HEADER)) and site == "same-origin" and kind


def _endpoint(method: str) -> Callable[[View], View]:
    def decorate(view: View) -> View:
        @csrf_exempt
        @login_not_required
        @never_cache
        @require_http_methods([method])
        @wraps(view)
        def wrapped(request: HttpRequest) -> HttpResponse:
            if not _from_a_page_of_ours(request):
                return _no(403, "This address is for the worksheet's own page.")
            return view(request)

        return cast(View, wrapped)

    return decorate


def _for_device(view: View) -> View:
    @wraps(view)
    def wrapped(request: HttpRequest) -> HttpResponse:
        token = request.COOKIES.get(cookie_name(), "")
        device = device_by_token(token) if token else None
        if device is None:
            return _no(401, "This phone has not joined. Ask for a code.")
        return view(request, device)

    return wrapped


def _no(status: int, words: str, **more: Any) -> JsonResponse:
    return JsonResponse({"words": words, **more}, status=status)


@_endpoint("POST")
def join(request: HttpRequest) -> HttpResponse:
    """Trade the code's secret for the cookie; the secret comes in the body, never in an
    address that some log could keep."""
    secret = request.body[: LONGEST_SECRET + 1].decode("utf-8", "replace").strip('" \n')
    now = timezone.now()
    try:
        device, token = join_device(secret=secret, at=now)
    except JoinRefusedError as refusal:
        return _no(410, str(refusal))
    answer = JsonResponse(_state(device))
    answer.set_cookie(
        cookie_name(),
        token,
        # The cookie outlives the shift: what was logged in it must still arrive.
        max_age=device.expires_at - now + timedelta(days=3),
        path=reverse("incidents:field-link"),
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Strict",
    )
    return answer


@_endpoint("POST")
def leave(request: HttpRequest) -> HttpResponse:
    """The phone forgets who it is. What it holds, it has sent or handed over before."""
    answer = JsonResponse({"words": "This phone has left."})
    answer.delete_cookie(
        cookie_name(), path=reverse("incidents:field-link"), samesite="Strict"
    )
    return answer


@_endpoint("GET")
@_for_device
def now(request: HttpRequest, device: Device) -> HttpResponse:
    """What stands for the team, and what the forms offer to choose from."""
    if not _reads(device):
        return _no(403, _why_not(device), revoked=True)
    note_seen(device=device, at=timezone.now(), sent_at=_sent_at(request))
    return JsonResponse(_state(device))


def _sent_at(request: HttpRequest) -> datetime | None:
    """The device's own time, as it says it; None where that is no time."""
    try:
        moment = parse_datetime(request.headers.get("X-Worksheet-Sent", ""))
    except ValueError:
        return None
    return moment if moment is not None and moment.tzinfo is not None else None


@_endpoint("GET")
@_for_device
def table(request: HttpRequest, device: Device) -> HttpResponse:
    """What one reading alone means, for when there is no link."""
    if not _reads(device):
        return _no(403, _why_not(device), revoked=True)
    setup = device.incident.setup
    with _MAKING:  # a second phone waits for the table of the first
        found = _table(setup, device.team_key)
    return JsonResponse({"tag": _table_tag(setup, device.team_key), **found})


@lru_cache(maxsize=32)
def _table(setup: str, team: str) -> dict[str, Any]:
    """It takes about a second, and follows from the set-up alone."""
    return single_readings(engine.context_of(loads(setup)), team)


def _table_tag(setup: str, team: str) -> str:
    known = f"{VERSION} {version('hazmat-incident-worksheet')} {team} {setup}"
    return hashlib.sha256(known.encode()).hexdigest()[:20]


@_endpoint("POST")
@_for_device
def entries(request: HttpRequest, device: Device) -> HttpResponse:
    """Up to fifty entries, in the device's own order, with an answer for each."""
    try:
        batch = read_batch(request.body)
    except BatchError as error:
        return _no(400, f"Not read: {error}.")
    note_seen(device=device, at=timezone.now(), sent_at=batch.sent_at)
    answers = _answers(device, batch)
    reply: dict[str, Any] = {"answers": answers}
    if _reads(device):
        device.refresh_from_db()
        reply["now"] = _state(device)
    else:
        reply["revoked"] = True
    return JsonResponse(reply)


@_endpoint("POST")
@_for_device
def photo(request: HttpRequest, device: Device) -> HttpResponse:
    """The bytes of the photo that an entry of the phone names; again, the same answer."""
    try:
        entry = UUID(request.headers.get(ENTRY_HEADER, ""))
    except ValueError:
        return _no(400, f"{ENTRY_HEADER}: expected the identifier of an entry.")
    # Read to the bound and no further: the limit of forms is a lower one.
    content = request.read(LARGEST_PHOTO + 1)
    if len(content) > LARGEST_PHOTO:
        return _photo_refused("The photo is too large.", 413)
    try:
        taken = take_photo_from_device(
            device=device, entry=entry, content=content, received_at=timezone.now()
        )
    except (PhotoNotNamedError, services.StorageBusyError) as refusal:
        return _no(409, str(refusal), state="again")
    except services.EntryRefusedError as refusal:
        expected = "; ".join(str(error.expected) for error in refusal.errors)
        return _photo_refused(f"Photo not taken: expected {expected}.", 422)
    return JsonResponse({"state": "stored", "sha256": taken.sha256})


def _photo_refused(words: str, status: int) -> JsonResponse:
    return _no(status, words, state="refused", errors=[["photo", words]])


def _answers(device: Device, batch: Batch) -> list[dict[str, Any]]:
    received = timezone.now()
    choices = carried_of(device.incident).choices
    answers = []
    for item in sorted(batch.items, key=lambda each: each.counter):
        form = form_of(item, device.team_key, choices)
        uuid = str(item.client_uuid)
        if not form.is_valid():
            answers.append({"uuid": uuid, "state": "refused", "errors": _errors(form)})
            continue
        sent = sent_of(item, form, batch.sent_at, received)
        answer = {"uuid": uuid, **_answer(device, sent, form)}
        answers.append(answer)
        if answer["state"] == "again":
            break  # the order is kept: what follows comes with it next time
    return answers


def _answer(device: Device, sent: Any, form: EntryForm) -> dict[str, Any]:
    try:
        taken = take_from_device(device=device, sent=sent, received_at=timezone.now())
    except services.StorageBusyError as refusal:
        return {"state": "again", "words": str(refusal)}
    except services.DuplicateConflictError as refusal:
        return {"state": "conflict", "errors": [["", str(refusal)]]}
    except services.RefusalError as refusal:
        refuse(form, refusal)
        return {"state": "refused", "errors": _errors(form)}
    return _of(taken)


def _of(taken: Taken) -> dict[str, Any]:
    if taken.appended is None:
        return {"state": "held", "words": taken.held_because}
    entry = taken.appended.entry
    return {
        "state": "stored",
        "seq": entry.seq,
        "late": entry.recorded_at - entry.observed_at > timedelta(minutes=1),
        "found": [
            {"action": finding.action.word, "because": finding.because}
            for finding in taken.appended.findings
            if finding.team == entry_team(taken)
        ],
    }


def entry_team(taken: Taken) -> str:
    assert taken.appended is not None
    return str(loads(taken.appended.entry.body).get("team", ""))


def _errors(form: EntryForm) -> list[list[str]]:
    return [
        [name if name in form.fields else "", str(message)]
        for name, messages in form.errors.items()
        for message in messages
    ]


def _reads(device: Device) -> bool:
    return device.revoked_at is None and timezone.now() <= device.expires_at


def _why_not(device: Device) -> str:
    if device.revoked_at is not None:
        return "The command post has revoked this phone. What it sends is kept apart."
    return "This phone's shift is over. What it sends is kept apart."


def _state(device: Device) -> dict[str, Any]:
    incident = device.incident
    carried, names = carried_of(incident), names_of(incident)
    live = engine.live(incident)
    at = timezone.now()
    view = judging.judge(incident, live, at)
    team = next((each for each in view.teams if each.id == device.team_key), None)
    choices = carried.choices
    with timezone.override(ZoneInfo(incident.agency.time_zone)):
        verdict = _verdict(team, names.team(device.team_key)) if team else None
    return {
        "at": at.isoformat(),
        "incident": {
            "id": str(incident.pk),
            "name": incident.name,
            "closed": incident.is_closed,
            "demo": incident.is_demo,
            "zone": incident.agency.time_zone,
        },
        "device": {"id": str(device.pk), "name": device.name},
        "team": {
            "id": device.team_key,
            "name": names.team(device.team_key),
            "ensemble": team.ensemble if team else "",
            "wears": Ensemble(team.ensemble).label if team else "",
            "place": team.place if team else "",
            "inside": bool(team and team.clocks.inside),
        },
        "choices": {
            "members": [
                [f"{device.team_key}/{key}", name]
                for key, name in names.of(device.team_key).items()
            ],
            "places": list(choices.places),
            "containers": list(choices.containers),
            "instruments": {
                kind: [list(pair) for pair in pairs]
                for kind, pairs in choices.instruments.items()
            },
        },
        "verdict": verdict,
        "photo_original": most_original(incident.sop),
        "table": _table_tag(incident.setup, device.team_key),
        "expires_at": device.expires_at.isoformat(),
        "caution": CAUTION,
    }


def _verdict(team: Any, name: str) -> dict[str, Any]:
    shown = board.verdict_of(team, name)
    return {
        "word": shown.word,
        "label": shown.label,
        "because": shown.because,
        "advice": list(shown.advice),
        "gaps": shown.gaps,
        "at": shown.at.isoformat() if shown.at else None,
        "look_next": team.look_next,
    }
