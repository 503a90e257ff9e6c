"""One incident, one writer at a time."""

from collections.abc import Iterator
from contextlib import contextmanager
from uuid import UUID

from django.db import OperationalError, transaction

from incidents.models import Incident
from incidents.services.errors import StorageBusyError


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
    """The incident's row, locked until the transaction ends.

    SQLite ignores the row lock; there every transaction begins IMMEDIATE, which lets
    one writer in at a time.
    """
    return Incident.objects.select_for_update().get(pk=incident_id)


def save_head(incident: Incident, *fields: str) -> None:
    """Store the moved head and say that there is something new to see."""
    incident.revision += 1
    incident.save(update_fields=["head_seq", "head_hash", "revision", *fields])
