from collections.abc import Callable

from django.http import HttpRequest, HttpResponse


def no_store_when_signed_in(
    get_response: Callable[[HttpRequest], HttpResponse],
) -> Callable[[HttpRequest], HttpResponse]:
    """Keep pages of a signed-in person out of every cache, the browser's too."""

    def middleware(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if request.user.is_authenticated:
            response.headers.setdefault("Cache-Control", "no-store")
        return response

    return middleware
