"""A database of its own for a benchmark, thrown away afterwards."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from bench.worksheets import SETUP

if TYPE_CHECKING:
    from incidents.models import Incident

START = datetime(2026, 3, 4, 14, 0, tzinfo=UTC)


@contextmanager
def empty_database() -> Iterator[None]:
    """SQLite as the worksheet uses it, in a temporary folder; Django is set up."""
    with tempfile.TemporaryDirectory() as folder:
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
