from collections.abc import Callable
from datetime import timedelta
from typing import Any, Final

from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect
from django.utils import timezone

Answer = Callable[[HttpRequest], HttpResponse]

# How late a session may notice that it is in use; a write to the database each time.
RENEWED_EVERY: Final = timedelta(hours=1)
# What pages ask by themselves: it is no sign that anybody is there.
_ASKED_BY_PAGES: Final = frozenset({"clock", "health"})
# What someone may open before they have a password of their own.
_BEFORE_OWN_PASSWORD: Final = frozenset({"password", "sign-out"})


def no_store_when_signed_in(get_response: Answer) -> Answer:
    """Keep pages of a signed-in person out of every cache, the browser's too."""

    def middleware(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if request.user.is_authenticated:
            response.headers.setdefault("Cache-Control", "no-store")
        return response

    return middleware


def renew_session_in_use(get_response: Answer) -> Answer:
    """Let a session last from its last use, not from its first.

    A sheet that polls on a wall is no use: it signs out when nobody touched it for the
    whole length of a session.
    """

    def middleware(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if request.user.is_authenticated and _is_use(request):
            now = timezone.now().timestamp()
            # `views.signing_in.enter` puts it there first.
            renewed = request.session.get("renewed", now)
            if now - renewed > RENEWED_EVERY.total_seconds():
                request.session["renewed"] = now
        return response

    return middleware


def _is_use(request: HttpRequest) -> bool:
    if request.method == "POST":
        return True
    match = request.resolver_match
    by_itself = match is not None and match.url_name in _ASKED_BY_PAGES
    return not by_itself and "HX-Request" not in request.headers


class OwnPasswordFirst:
    """Whoever got a password from someone else makes their own before anything else."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: Any, args: Any, kwargs: Any
    ) -> HttpResponseBase | None:
        if not getattr(view, "login_required", True):
            return None
        if not getattr(request.user, "must_change_password", False):
            return None
        match = request.resolver_match
        if match is not None and (
            match.app_name == "incidents" and match.url_name in _BEFORE_OWN_PASSWORD
        ):
            return None
        return redirect("incidents:password")
