"""The worker of django-tasks, which here takes up what a killed one left first."""

import os
import signal
import sys
import threading
import time
from argparse import ArgumentParser
from typing import Any, Final

from django_tasks_db.management.commands.db_worker import Command as Worker

from incidents.services.what_if_runs import take_up_what_was_left

SECONDS_TO_END: Final = 5
NICER: Final = 10  # the sheet of a running incident goes first


class Command(Worker):
    help = (
        "Work in the background: what-if runs over the archive. One that a worker left "
        "when it was killed goes on where it stopped."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument(
            "--end-with-parent",
            action="store_true",
            help="end when standard input is closed, as it is when who started it ends",
        )

    def run_from_argv(self, argv: list[str]) -> None:
        os.nice(NICER)
        super().run_from_argv(argv)

    def handle(self, *, end_with_parent: bool, **options: Any) -> None:  # type: ignore[override]  # one option more
        if end_with_parent:
            threading.Thread(target=_end_with_parent, daemon=True).start()
        take_up_what_was_left()
        super().handle(**options)


def _end_with_parent() -> None:
    """Wait until nobody holds the other end of standard input, then end."""
    while os.read(sys.stdin.fileno(), 1):
        pass
    os.kill(os.getpid(), signal.SIGTERM)  # after the chunk that it is at
    time.sleep(SECONDS_TO_END)
    os._exit(1)
