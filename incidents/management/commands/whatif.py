from argparse import ArgumentParser
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from uuid import UUID

from django.core.management.base import BaseCommand, CommandError
from django.db.models import QuerySet

from incidents.documents import dumps
from incidents.models import Agency, Incident
from incidents.rescreening import ways
from incidents.rescreening.values import chunks_of
from review.what_if_document import Row, read_limits, whole
from screening.worksheet import WorksheetErrors, load_json


class Command(BaseCommand):
    help = (
        "Judge incidents again under other limits and print, as one JSON document, for "
        "each the entries and teams whose action differs, with both actions "
        "(docs/what-if.md). Nothing is written. Drills are left out unless named."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "limits",
            type=Path,
            metavar="LIMITS.json",
            help="a profile object, which takes the place of each incident's own, or a "
            "table of limits, which is laid over it",
        )
        parser.add_argument(
            "--incidents",
            nargs="+",
            metavar="ID",
            help="these alone; without it every incident",
        )
        parser.add_argument("--agency", metavar="SLUG", help="those of one agency")
        parser.add_argument(
            "--processes",
            type=int,
            default=ways.all_cores(),
            metavar="N",
            help="how many to judge at once; all cores by default",
        )
        parser.add_argument(
            "--scheduler",
            default="",
            metavar="ADDRESS",
            help="judge on the machines of a dask.distributed scheduler instead, such "
            "as tcp://10.0.0.5:8786; needs the extra `cluster`",
        )

    def handle(
        self,
        *,
        limits: Path,
        incidents: list[str] | None,
        agency: str | None,
        processes: int,
        scheduler: str,
        **options: Any,
    ) -> None:
        if processes < 1:
            raise CommandError("--processes is a number of at least 1.")
        try:
            document = load_json(limits.read_bytes())
            change = read_limits(document)
        except OSError as error:
            raise CommandError(f"{limits}: {error.strerror}.") from error
        except WorksheetErrors as errors:
            raise CommandError(f"{limits} holds no limits:\n{errors}") from errors
        chunks = chunks_of(_of(agency, _chosen(incidents)))
        rows = ways.judged(chunks, change, processes=processes, scheduler=scheduler)
        try:
            for piece in whole(change, dumps(document), self._told(rows, chunks)):
                self.stdout.write(piece, ending="")
        except ways.WorkersError as error:
            raise CommandError(str(error)) from error

    def _told(
        self, found: Iterator[list[Row]], chunks: list[tuple[UUID, ...]]
    ) -> Iterator[Row]:
        """The rows one by one; how far it is goes to standard error."""
        total, done = sum(map(len, chunks)), 0
        for rows in found:
            yield from rows
            done += len(rows)
            self.stderr.write(f"{done} of {total} incidents", self.style.NOTICE)


def _chosen(named: list[str] | None) -> QuerySet[Incident]:
    """The incidents by their ids, drills too; without any every one that is no drill."""
    if not named:
        return Incident.objects.real()
    wanted: set[UUID] = set()
    for text in named:
        try:
            wanted.add(UUID(text))
        except ValueError as error:
            raise CommandError(f"{text!r} is no incident's id.") from error
    found = Incident.objects.filter(pk__in=wanted)
    missing = wanted - set(found.values_list("pk", flat=True))
    if missing:
        names = ", ".join(sorted(map(str, missing)))
        raise CommandError(f"There is no incident {names}.")
    return found


def _of(slug: str | None, incidents: QuerySet[Incident]) -> QuerySet[Incident]:
    if slug is None:
        return incidents
    if not Agency.objects.filter(slug=slug).exists():
        raise CommandError(f"There is no agency {slug!r}.")
    return incidents.filter(agency__slug=slug)
