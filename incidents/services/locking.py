"""One incident, one writer at a time."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Final
from uuid import UUID

from django.db import OperationalError, transaction

from incidents.models import Drill, ImportedWorksheet, Incident
from incidents.services.archive import keep_in_archive
from incidents.services.errors import DrillError, ImportedError, StorageBusyError

# The drill that its script is writing to just now.
_BY_SCRIPT: Final[ContextVar[UUID | None]] = ContextVar("by_script", default=None)


@contextmanager
def one_transaction() -> Iterator[None]:
    """Store all of it or nothing; a database that cannot is a refusal, not a crash."""
    try:
        with transaction.atomic():
            yield
    except OperationalError as error:
        raise StorageBusyError(
            "The database could not take this now. Nothing was stored: send it again."
        ) from error


def lock(incident_id: UUID) -> Incident:
    """The incident's row to write to its record, locked until the transaction ends.

    Raises `ImportedError` for one that came in a file: nobody writes to it here. Raises
    `DrillError` for a drill from a script, which `by_its_script` alone writes to.
    SQLite ignores the row lock; there every transaction begins IMMEDIATE, which lets
    one writer in at a time.
    """
    incident = lock_row(incident_id)
    if ImportedWorksheet.objects.filter(incident=incident).exists():
        raise ImportedError(f"{incident.name} was imported: it can only be read.")
    if incident.is_drill and _BY_SCRIPT.get() != incident_id:
        refuse_from_script(incident)
    return incident


def refuse_from_script(incident: Incident) -> None:
    """Raises `DrillError` where a script says what happens in this incident."""
    if Drill.objects.filter(incident=incident).exists():
        raise DrillError(
            f"{incident.name} is a drill: its script and its crew's answers alone write "
            "to it."
        )


@contextmanager
def by_its_script(incident_id: UUID) -> Iterator[None]:
    """What is written inside is the drill's own."""
    token = _BY_SCRIPT.set(incident_id)
    try:
        yield
    finally:
        _BY_SCRIPT.reset(token)


def lock_row(incident_id: UUID) -> Incident:
    """The row with its agency, for who reads it or gives people a part in it.

    The agency's row is not locked: its other incidents go on.
    """
    rows = Incident.objects.select_for_update(of=("self",)).select_related("agency")
    return rows.get(pk=incident_id)


def save_head(incident: Incident, *fields: str) -> None:
    """Store the moved head and say that there is something new to see.

    Whatever is said of a closed incident, or closes one or opens it again, goes into
    what the archive finds it by.
    """
    incident.revision += 1
    incident.save(update_fields=["head_seq", "head_hash", "revision", *fields])
    if incident.is_closed or "closed_at" in fields:
        keep_in_archive(incident)
