from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from incidents.management.keeping import back_up


class Command(BaseCommand):
    help = (
        "Write everything into one zip file, also while the server runs: the database "
        "with its signing keys, the files beside it, and the head of every log. Keys are "
        "encrypted; in production the passphrase is not in it and belongs elsewhere."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("path", type=Path)

    def handle(self, *, path: Path, **options: Any) -> None:
        manifest = back_up(path, timezone.now())
        self.stdout.write(f"Written to {path}: {len(manifest['sha256'])} files.")
        if not manifest["passphrase"]:
            self.stdout.write(
                "SIGNING_PASSPHRASE is not in it. Without it nobody signs with these "
                "keys again; what was signed can still be checked."
            )
