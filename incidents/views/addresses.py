"""Where a request came from."""

from ipaddress import ip_address

from django.conf import settings
from django.http import HttpRequest


def client_address(request: HttpRequest) -> str:
    """The address of whoever asks, "" where none is known.

    Behind the proxy it is the last one in X-Forwarded-For, which the proxy itself put
    there; all before it are the client's own word. Without a proxy the header says
    nothing.
    """
    candidates = [request.META.get("REMOTE_ADDR", "")]
    if settings.BEHIND_TLS_PROXY:
        forwarded = request.headers.get("X-Forwarded-For", "")
        candidates.insert(0, forwarded.rpartition(",")[2])
    for candidate in candidates:
        try:
            return str(ip_address(candidate.strip()))
        except ValueError:
            continue
    return ""
