from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone
from django.utils.text import slugify

from incidents.models import Agency
from incidents.services.errors import EntryRefusedError
from incidents.services.importing import import_worksheet, importer_of
from incidents.services.locking import one_transaction


class Command(BaseCommand):
    help = (
        "Import a JSON worksheet as an incident that can only be read, into the list of "
        "an agency. Without --agency that is the oldest agency here; where there is none "
        "it is made. Prints the new incident's id alone on the last line; or each error "
        "of the file with its JSON pointer, and then nothing is imported."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument("--agency", metavar="NAME")

    def handle(self, *, file: Path, agency: str | None, **options: Any) -> None:
        try:
            content = file.read_bytes()
        except OSError as error:
            raise CommandError(f"{file} cannot be read: {error.strerror}.") from error
        try:
            with one_transaction():
                into = _agency(agency)
                incident = import_worksheet(
                    file=content,
                    person=importer_of(into),
                    agency=into,
                    at=timezone.now(),
                )
        except EntryRefusedError as refusal:
            for each in refusal.errors:
                self.stderr.write(str(each))
            count = len(refusal.errors)
            raise CommandError(
                f"Nothing was imported: {count} error{'' if count == 1 else 's'}."
            ) from None
        self.stdout.write(f"Imported into the list of {into.name}:")
        self.stdout.write(str(incident.pk))


def _agency(name: str | None) -> Agency:
    found = Agency.objects.order_by("pk")
    if name is not None:
        found = found.filter(name=name)
    first = found.first()
    if first is not None:
        return first
    known = ", ".join(Agency.objects.order_by("name").values_list("name", flat=True))
    if known:
        raise CommandError(f"There is no agency {name!r}. There is: {known}.")
    made = name or "Imported worksheets"
    return Agency.objects.create(name=made, slug=slugify(made)[:50] or "imported")
