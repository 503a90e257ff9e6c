import sys
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand

from incidents.management.incidents_named import incidents_named
from incidents.models import Incident
from incidents.services.archive import differs
from incidents.services.rebuilding import rebuild
from screening.verdicts import Action


class Command(BaseCommand):
    help = (
        "Judge the log of an incident, or of every incident, again from its first entry "
        "and report where the findings that are kept differ. Exits 1 on a difference. "
        "With --write what is missing is added as late, and what the log no longer "
        "says is marked superseded; nothing is deleted. What the archive finds an "
        "incident by is held against the log, too, and made anew with --write."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("incident", nargs="?", help="the incident's id")
        parser.add_argument("--write", action="store_true")

    def handle(self, *, incident: str | None, write: bool, **options: Any) -> None:
        differs = [self._rebuild(found, write) for found in incidents_named(incident)]
        if any(differs):
            sys.exit(1)

    def _rebuild(self, incident: Incident, write: bool) -> bool:
        stale = differs(incident)
        difference = rebuild(incident_id=incident.pk, write=write)
        for missing in difference.missing:
            self.stdout.write(
                f"incident {incident.pk}: not kept: entry {missing.entry}, "
                f"{missing.team}, {Action(missing.action).word}: {missing.because}"
            )
        for row in difference.surplus:
            self.stdout.write(
                f"incident {incident.pk}: kept but not said: entry {row.entry.key}, "
                f"{row.team_key}, {row.action_word}: {row.because}"
            )
        if not difference:
            self.stdout.write(f"incident {incident.pk}: the findings are the same")
        if stale:
            self.stdout.write(f"incident {incident.pk}: the archive has it otherwise")
        return bool(difference) or stale
