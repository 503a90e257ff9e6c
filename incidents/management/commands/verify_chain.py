import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any
from uuid import UUID

from django.core.management.base import BaseCommand, CommandError

from incidents.management.incidents_named import incidents_named
from incidents.models import Incident
from incidents.services.anchors import Anchor
from incidents.services.chain import verify
from incidents.services.medical import verify_medical


class Command(BaseCommand):
    help = (
        "Verify the hash chain of an incident's log and of its medical checks, or of "
        "every incident, also against each head that was kept of it. Names the first "
        "entry that does not fit and exits 1. --anchor and --heads bring heads that were "
        "kept elsewhere: on a printed report, or what keep_heads printed."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("incident", nargs="?", help="the incident's id")
        parser.add_argument(
            "--anchor",
            metavar="SEQ:HASH",
            help="a head as a report prints it; needs the incident",
        )
        parser.add_argument(
            "--heads",
            type=Path,
            metavar="FILE",
            help="lines of an incident's id and a head, as keep_heads prints them",
        )

    def handle(
        self,
        *,
        incident: str | None,
        anchor: str | None,
        heads: Path | None,
        **options: Any,
    ) -> None:
        if anchor is not None and incident is None:
            raise CommandError("An anchor belongs to one incident: name it.")
        held = _heads(heads) if heads else {}
        faults = 0
        for named in incidents_named(incident):
            given = held.pop(named.pk, [])
            if anchor is not None:
                given.append(_anchor(anchor))
            faults += self._faults(named, given)
        if incident is None:
            for missing in held:
                faults += 1
                self._fault(f"incident {missing}: a head was kept, and it is not here")
        if faults:
            sys.exit(1)

    def _faults(self, incident: Incident, given: list[Anchor]) -> int:
        problem = verify(incident, also=given)
        medical = verify_medical(incident)
        if problem is not None:
            self._fault(str(problem))
        else:
            incident.refresh_from_db()
            self.stdout.write(
                f"incident {incident.pk}: {incident.head_seq} entries hold, "
                f"head {incident.head_hash}"
            )
        if medical:
            self._fault(f"incident {incident.pk}: medical checks: {medical}")
        return bool(problem) + bool(medical)

    def _fault(self, words: str) -> None:
        self.stdout.write(self.style.ERROR(words))


def _anchor(text: str) -> Anchor:
    seq, _, digest = text.partition(":")
    if not seq.isascii() or not seq.isdigit() or len(digest) != 64:
        raise CommandError("An anchor is a number, a colon and 64 hexadecimal digits.")
    return Anchor(seq=int(seq), hash=digest.lower())


def _heads(path: Path) -> dict[UUID, list[Anchor]]:
    held: dict[UUID, list[Anchor]] = {}
    try:
        lines = path.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise CommandError(f"{path} cannot be read.") from error
    for number, line in enumerate(lines, 1):
        words = line.split()
        if not words:
            continue
        try:
            incident, head = UUID(words[0]), words[1]
        except (ValueError, IndexError) as error:
            raise CommandError(f"Line {number} is no id with a head.") from error
        held.setdefault(incident, []).append(_anchor(head))
    return held
