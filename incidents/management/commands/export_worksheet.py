from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand

from incidents.management.incidents_named import incidents_named
from incidents.worksheet import worksheet_file


class Command(BaseCommand):
    help = (
        "Print the JSON worksheet of an incident, as `python -m screening` reads it. Of "
        "an imported one the very bytes that came in."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("incident", help="the incident's id")

    def handle(self, *, incident: str, **options: Any) -> None:
        (found,) = incidents_named(incident)
        file = worksheet_file(found)
        # Past the text layer, which may know fewer characters and other line ends.
        raw = getattr(self.stdout._out, "buffer", None)
        if raw is None:
            self.stdout.write(file.decode(), ending="")
        else:
            raw.write(file)
            raw.flush()
