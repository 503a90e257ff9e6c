"""Encrypt every signing key anew, after SIGNING_PASSPHRASE was changed."""

import os
from typing import Any, Final

from django.core.management.base import BaseCommand, CommandError

from incidents.services.signing_keys import change_passphrase

OLD: Final = "OLD_SIGNING_PASSPHRASE"


class Command(BaseCommand):
    help = (
        f"Set SIGNING_PASSPHRASE to the new passphrase and {OLD} to the one before, run "
        "this once, and forget the old one. All keys are encrypted anew, or none."
    )

    def handle(self, *args: Any, **options: Any) -> None:
        from reports.keys import WrongPassphraseError

        old = os.environ.get(OLD, "")
        if not old:
            raise CommandError(f"{OLD} is not set: it is needed to open the keys.")
        try:
            changed = change_passphrase(old=old)
        except WrongPassphraseError as error:
            raise CommandError(
                f"{OLD} does not open every key. Nothing was changed."
            ) from error
        self.stdout.write(f"Keys encrypted anew: {changed}")
