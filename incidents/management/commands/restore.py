import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand

from incidents.management.incidents_named import incidents_named
from incidents.management.restoring import restore
from incidents.services.anchors import Anchor
from incidents.services.chain import verify
from incidents.services.medical import verify_medical


class Command(BaseCommand):
    help = (
        "Put a backup into an empty place, bring its tables up to this program and "
        "verify every log and every medical chain. Exits 1 where one does not hold."
    )
    requires_system_checks = ()  # there is no database yet; migrate runs them

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("path", type=Path)

    def handle(self, *, path: Path, **options: Any) -> None:
        manifest = restore(path)
        call_command("migrate", interactive=False, verbosity=0)
        faults = 0
        heads = dict(manifest["heads"])
        for incident in incidents_named(None):
            seq, _, digest = heads.pop(str(incident.pk), "").partition(":")
            kept = [Anchor(seq=int(seq), hash=digest, kept="the backup")] if seq else []
            problem = verify(incident, also=kept)
            medical = verify_medical(incident)
            if problem or medical:
                faults += 1
                words = str(problem or f"incident {incident.pk}: {medical}")
                self.stdout.write(self.style.ERROR(words))
            else:
                self.stdout.write(
                    f"incident {incident.pk}: {incident.head_seq} entries hold"
                )
        for missing in heads:
            faults += 1
            words = f"incident {missing}: the backup names it, and it is not in it"
            self.stdout.write(self.style.ERROR(words))
        self.stdout.write(f"Restored from the backup of {manifest['made_at']}.")
        if faults:
            sys.exit(1)
