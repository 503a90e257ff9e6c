from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from incidents.management.incidents_named import incidents_named
from incidents.services.anchors import keep_head


class Command(BaseCommand):
    help = (
        "Keep the head of an incident's log, or of every one, as an anchor, and print "
        "each as a line: its id and SEQ:HASH. What is printed belongs where this server "
        "cannot reach it; `verify_chain --heads FILE` holds the logs against it."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("incident", nargs="?", help="the incident's id")

    def handle(self, *, incident: str | None, **options: Any) -> None:
        for found in incidents_named(incident):
            kept = keep_head(incident_id=found.pk, at=timezone.now())
            self.stdout.write(f"{found.pk} {kept.seq}:{kept.hash}")
