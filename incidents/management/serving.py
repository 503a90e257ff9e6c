"""Serving by granian, for the commands that do."""

import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from django.conf import settings
from django.core.management.base import CommandError
from django.db import connections

PORTS_TRIED: Final = 50
SECONDS_TO_END: Final = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Tls:
    """PEM files: the certificate, with what it is chained by, and its key."""

    certificate: Path
    key: Path


def free_port(host: str, first: int) -> int:
    """The port asked for, or the next that nobody listens on."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    for port in range(first, min(first + PORTS_TRIED, 65_536)):
        with socket.socket(family) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                probe.bind((host, port))
            except OSError:
                continue
            return port
    raise CommandError(f"No port is free from {first} on: choose one with --port.")


def serve(host: str, port: int, tls: Tls | None = None) -> None:
    """Serve until stopped. One process: SQLite takes one writer at a time anyway."""
    from granian import Granian
    from granian.constants import Interfaces
    from granian.log import LogLevels

    connections.close_all()  # the server's process opens its own
    sys.stdout.flush()
    server = Granian(
        "config.wsgi:application",
        address=host,
        port=port,
        interface=Interfaces.WSGI,
        workers=1,
        blocking_threads=2,
        websockets=False,
        log_level=LogLevels.warning,
        ssl_cert=tls.certificate if tls else None,
        ssl_key=tls.key if tls else None,
        working_dir=settings.BASE_DIR,
    )
    with background_worker():
        server.serve()


@contextmanager
def background_worker() -> Iterator[None]:
    """A worker for what goes on in the background, which ends with this process.

    In production it is a service of its own: `manage.py db_worker`.
    """
    command = ("db_worker", "--end-with-parent", "--no-reload", "--interval", "2",
               "--verbosity", "0")  # fmt: skip
    worker = subprocess.Popen(
        [sys.executable, settings.BASE_DIR / "manage.py", *command],
        stdin=subprocess.PIPE,
        start_new_session=True,  # Ctrl-C is for the server, which then ends the worker
    )
    try:
        yield
    finally:
        worker.terminate()
        try:
            worker.wait(SECONDS_TO_END)
        except subprocess.TimeoutExpired:
            worker.kill()  # the run goes on where it stopped, the next time
            worker.wait()
        if worker.stdin is not None:
            worker.stdin.close()
