import sys
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction

from incidents.management.incidents_named import incidents_named
from incidents.services.chain import Anchor, verify
from incidents.services.locking import lock


class Command(BaseCommand):
    help = (
        "Verify the hash chain of an incident's log, or of every log. Exits 1 at the "
        "first fault of any. With --anchor, also holds it against a head kept elsewhere."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("incident", nargs="?", help="the incident's id")
        parser.add_argument(
            "--anchor",
            metavar="SEQ:HASH",
            help="a head as a report prints it; needs the incident",
        )

    def handle(
        self, *, incident: str | None, anchor: str | None, **options: Any
    ) -> None:
        if anchor is not None and incident is None:
            raise CommandError("An anchor belongs to one incident: name it.")
        held = _anchor(anchor) if anchor is not None else None
        faults = 0
        for named in incidents_named(incident):
            # Locked, so that an entry recorded meanwhile is no fault.
            with transaction.atomic():
                found = lock(named.pk)
                problem = verify(found, anchor=held)
            if problem is None:
                self.stdout.write(
                    f"incident {found.pk}: {found.head_seq} entries hold, "
                    f"head {found.head_hash}"
                )
            else:
                faults += 1
                self.stdout.write(self.style.ERROR(str(problem)))
        if faults:
            sys.exit(1)


def _anchor(text: str) -> Anchor:
    seq, _, digest = text.partition(":")
    if not seq.isascii() or not seq.isdigit() or len(digest) != 64:
        raise CommandError("An anchor is a number, a colon and 64 hexadecimal digits.")
    return Anchor(seq=int(seq), hash=digest.lower())
