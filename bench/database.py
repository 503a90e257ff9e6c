"""A database of its own for a benchmark, thrown away afterwards."""

import os
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, nullcontext
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from bench.worksheets import SETUP

if TYPE_CHECKING:
    from incidents.models import Incident

START = datetime(2026, 3, 4, 14, 0, tzinfo=UTC)


@contextmanager
def empty_database(kept_in: Path | None = None) -> Iterator[None]:
    """SQLite as the worksheet uses it; Django is set up.

    In a temporary folder, or in `kept_in`, where it is left; there must be none before.
    """
    with nullcontext(str(kept_in)) if kept_in else TemporaryDirectory() as folder:
        os.environ["DJANGO_SETTINGS_MODULE"] = "config.settings"
        os.environ["WORKSHEET_MODE"] = "demo"
        os.environ["WORKSHEET_DATA"] = folder
        os.environ.pop("DATABASE_URL", None)
        import django
        from django.core.management import call_command
        from django.db import connections

        django.setup()
        call_command("migrate", verbosity=0, interactive=False)
        try:
            yield
        finally:
            connections.close_all()


def put_in(incident: "Incident", said: Iterable[tuple[str, Any, datetime]]) -> int:
    """Rows put in at once: body, when observed and when recorded. How many.

    Only what reads the log and nothing beside it can be measured so: the chain does not
    hold, and nothing was found.
    """
    from incidents.models import Incident, LogEntry

    rows = [
        LogEntry(
            incident=incident,
            seq=number,
            client_uuid=uuid4(),
            kind="reading",
            body=body,
            observed_at=observed_at,
            recorded_at=recorded_at,
            author=incident.opened_by,
            author_name="bench",
            prev_hash=f"{number:064d}",
            hash=f"{number + 1:064d}",
            canonical=b"",
        )
        for number, (body, observed_at, recorded_at) in enumerate(
            said, incident.head_seq + 1
        )
    ]
    LogEntry.objects.bulk_create(rows)
    head = incident.head_seq + len(rows)
    Incident.objects.filter(pk=incident.pk).update(head_seq=head)
    return len(rows)


def open_incident(**changes: Any) -> "Incident":
    """The benchmark's set-up, opened by someone made for it."""
    from incidents import services
    from incidents.models import Agency, Person

    agency, _ = Agency.objects.get_or_create(name="Example County", slug="example")
    person, _ = Person.objects.get_or_create(
        username="bench", defaults={"agency": agency, "may_open": True}
    )
    return services.open_incident(
        person=person,
        name="Benchmark",
        mission="other",
        weather=SETUP["incident"]["weather"],
        teams=SETUP["teams"],
        at=START,
        **changes,
    )
