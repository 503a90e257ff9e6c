"""What a process of its own does: connect to read, then judge chunks of incidents.

It is started anew, not forked, so it must be importable before Django is set up: Django
and the models are imported inside the functions alone.
"""

import os
import signal
import threading
from multiprocessing import parent_process
from typing import Any
from uuid import UUID

from review.what_if import Change
from review.what_if_document import Row, judge_all


def begin(database: dict[str, Any]) -> None:
    """Set Django up on this very database, to be read and never written to."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for who started this
    threading.Thread(target=_end_with_parent, daemon=True).start()
    import django
    from django.conf import settings

    own = settings.DATABASES["default"]
    own |= database
    own["OPTIONS"] = {k: v for k, v in own["OPTIONS"].items() if k != "pool"}
    own["CONN_MAX_AGE"] = None  # one connection for the worker's whole life
    django.setup()
    read_only()


def _end_with_parent() -> None:
    """One that was killed could not tell its processes."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def read_only() -> None:
    """No statement of this connection can change anything."""
    from django.db import connection

    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("PRAGMA query_only = ON")
        else:
            cursor.execute("SET default_transaction_read_only = on")


def judge_chunk(keys: tuple[UUID, ...], change: Change) -> list[Row]:
    """Read one chunk of incidents and judge each both ways."""
    from incidents.rescreening.values import values_of

    return judge_all(list(values_of(keys)), change)
