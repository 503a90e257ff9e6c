"""What a worker needs of incidents, read some at a time."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Final
from uuid import UUID

from django.db.models import QuerySet

from incidents.models import APP_KINDS, Incident, LogEntry
from review.what_if_document import Values

# One chunk is what is read, judged and stored at once: a cancelled run stops after it.
INCIDENTS_IN_CHUNK: Final = 25
ENTRIES_IN_CHUNK: Final = 500


def chunks_of(incidents: QuerySet[Incident]) -> list[tuple[UUID, ...]]:
    """Their ids in order of id, in pieces of about the same work. One query."""
    chunks: list[tuple[UUID, ...]] = []
    chunk: list[UUID] = []
    entries = 0
    heads = incidents.order_by().values_list("pk", "head_seq")
    for key, length in sorted(heads, key=lambda head: str(head[0])):
        full = len(chunk) >= INCIDENTS_IN_CHUNK or entries + length > ENTRIES_IN_CHUNK
        if chunk and full:
            chunks.append(tuple(chunk))
            chunk, entries = [], 0
        chunk.append(key)
        entries += length
    return [*chunks, tuple(chunk)] if chunk else chunks


def values_of(keys: Sequence[UUID]) -> Iterator[Values]:
    """The worksheets of incidents, in the order of `keys`. Two queries.

    Each up to the head that its row had when it was read, under the set-up of then.
    """
    rows = Incident.objects.filter(pk__in=keys).values_list("pk", "setup", "head_seq")
    heads = {key: (setup, head) for key, setup, head in rows}
    logs: dict[UUID, list[str]] = {key: [] for key in keys}
    for key, seq, body in _bodies(keys):
        if seq <= heads[key][1]:
            logs[key].append(body)
    for key in keys:
        yield Values(incident=str(key), setup=heads[key][0], log=tuple(logs.pop(key)))


def _bodies(keys: Sequence[UUID]) -> Iterable[tuple[UUID, int, str]]:
    """Bodies alone, never rows as objects: that is a tenth of the cost."""
    rows = LogEntry.objects.filter(incident_id__in=keys).exclude(kind__in=APP_KINDS)
    found = rows.order_by("incident_id", "seq")
    return found.values_list("incident_id", "seq", "body").iterator(chunk_size=2_000)
