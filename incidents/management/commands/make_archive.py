import time
from argparse import ArgumentParser
from typing import Any, Final

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from incidents.models import StoredFinding
from incidents.services import demo, inventing
from review.inventing import invent

SAY_EVERY: Final = 10  # incidents


class Command(BaseCommand):
    help = (
        "Fill the demo's archive with invented incidents of the years 2022 to 2025, "
        "played through the services of the web. The same seed makes the same "
        "incidents; those that are there already are left as they are."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--incidents", type=int, default=300, help="how many (default 300)"
        )
        parser.add_argument(
            "--entries",
            type=int,
            default=60,
            help="about how many entries in each, 20 or more (default 60)",
        )
        parser.add_argument("--seed", type=int, default=1, help="default 1")

    def handle(
        self, *, incidents: int, entries: int, seed: int, **options: Any
    ) -> None:
        if settings.PRODUCTION:
            raise CommandError(
                "WORKSHEET_MODE is production. Invented incidents do not go where "
                "real ones are kept."
            )
        try:
            stories = invent(incidents=incidents, entries=entries, seed=seed)
        except ValueError as error:
            raise CommandError(f"Nothing was made: {error}.") from error
        call_command("migrate", verbosity=0, interactive=False)
        crew = demo.set_up(demo.scenario(), now=timezone.now())
        cast = inventing.cast_for(crew.agency)
        started = time.monotonic()
        played = inventing.play_archive(
            stories, cast, tell=lambda now: self._tell(now, incidents)
        )
        self._say(played, time.monotonic() - started)

    def _tell(self, now: inventing.Played, of: int) -> None:
        done = now.made + now.known
        if now.made and (done % SAY_EVERY == 0 or done == of):
            self.stdout.write(f"{done} of {of} incidents, {now.entries} entries")
            self.stdout.flush()

    def _say(self, played: inventing.Played, seconds: float) -> None:
        if played.known:
            self.stdout.write(f"{played.known} incidents were there already.")
        if not played.made:
            self.stdout.write("Nothing was added.")
            return
        findings = StoredFinding.objects.filter(incident__is_demo=True).count()
        rate = played.entries / seconds
        self.stdout.write(
            f"Made {played.made} incidents with {played.entries} entries in "
            f"{seconds:.0f} s, {rate:.0f} entries a second. "
            f"{findings} findings are kept of invented incidents."
        )
