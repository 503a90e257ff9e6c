"""Day, night, or as the device says: a cookie of this browser, no more."""

from typing import Final

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

COOKIE: Final = "light"
CHOICES: Final = {"day": "Day", "night": "Night", "": "As the device"}
A_YEAR: Final = 365 * 24 * 60 * 60


def light(request: HttpRequest) -> dict[str, object]:
    """For every page: what was chosen, and what there is to choose."""
    chosen = request.COOKIES.get(COOKIE, "")
    return {
        "light": chosen if chosen in CHOICES else "",
        "lights": CHOICES.items(),
    }


@login_not_required
@require_POST
def choose(request: HttpRequest) -> HttpResponse:
    """Keep the choice and go back to the page it was made on."""
    back = request.POST.get("back", "")
    if not url_has_allowed_host_and_scheme(
        back, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    ):
        back = "/"
    response = redirect(back)
    chosen = request.POST.get("light", "")
    if chosen in CHOICES and chosen:
        response.set_cookie(
            COOKIE,
            chosen,
            max_age=A_YEAR,
            secure=request.is_secure(),
            httponly=True,
            samesite="Lax",
        )
    else:
        response.delete_cookie(COOKIE, samesite="Lax")
    return response
