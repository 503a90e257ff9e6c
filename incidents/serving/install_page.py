"""A page in plain http from which a phone takes the authority, before it can trust us.

It gives the authority's certificate and nothing else. Whoever sits between could give
another one: so the page and the terminal both show the fingerprint, to be compared.
"""

from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread
from typing import Final

from django.template.loader import render_to_string

CERTIFICATE_PATH: Final = "/authority.crt"
STYLE_PATH: Final = "/base.css"
CERTIFICATE_TYPE: Final = "application/x-x509-ca-cert"
_SECONDS: Final = 10


class InstallServer(ThreadingHTTPServer):
    """Serves the page and the certificate on a thread of its own."""

    daemon_threads = True

    def __init__(
        self, address: tuple[str, int], *, worksheet: str, fingerprint: str, der: bytes
    ) -> None:
        self.page = render_to_string(
            "serving/install.html",
            {
                "worksheet": worksheet,
                "fingerprint": fingerprint,
                "certificate": CERTIFICATE_PATH,
                "style": STYLE_PATH,
            },
        ).encode()
        self.der = der
        self.style = _style()
        super().__init__(address, _Handler)

    def start(self) -> None:
        Thread(target=self.serve_forever, daemon=True).start()


def _style() -> bytes:
    """The page stands alone: the worksheet's own files are behind https."""
    from django.conf import settings

    path = Path(settings.BASE_DIR) / "static" / "css" / "base.css"
    return path.read_bytes()


class _Handler(BaseHTTPRequestHandler):
    server: InstallServer
    timeout = _SECONDS
    server_version = "worksheet"
    sys_version = ""

    def do_GET(self) -> None:
        path = self.path.partition("?")[0]
        if path == CERTIFICATE_PATH:
            self._send(200, CERTIFICATE_TYPE, self.server.der)
        elif path == STYLE_PATH:
            self._send(200, "text/css; charset=utf-8", self.server.style)
        elif path == "/":
            self._send(200, "text/html; charset=utf-8", self.server.page)
        else:
            self._send(404, "text/plain; charset=utf-8", b"Nothing here.")

    def _send(self, status: int, kind: str, content: bytes) -> None:
        self.send_response(status)
        self.send_header("Content-Type", kind)
        self.send_header("Content-Length", str(len(content)))
        self.send_header("X-Content-Type-Options", "nosniff")
        self.send_header("Cache-Control", "no-store")
        self.end_headers()
        self.wfile.write(content)

    def log_message(self, format: str, *args: object) -> None:
        return
