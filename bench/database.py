"""A database of its own for a benchmark, thrown away afterwards."""

import os
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

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
