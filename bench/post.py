"""One entry through the service, against a bare insert of the same row.

Both commit once each, with every commit on the disk. Wall time counts here, since the
disk is most of it; process CPU time is given beside it.
"""

import statistics
import time
from collections.abc import Callable
from datetime import datetime, timedelta
from itertools import count
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from bench.database import START, empty_database, open_incident
from bench.measuring import is_quick
from bench.worksheets import log

if TYPE_CHECKING:
    from incidents.models import Incident


def main() -> None:
    quick = is_quick(__doc__ or "")
    lengths, sample = ((0, 40), 20) if quick else ((0, 1_000, 3_000), 100)
    with empty_database():
        print(f"Medians of {sample}; the floor is the insert of one row in one commit.")
        for length in lengths:
            measure(length, sample)


def measure(length: int, sample: int) -> None:
    """In turn: an entry on a log of that length, and a bare row elsewhere."""
    incident, elsewhere = open_incident(), open_incident()
    bodies = log(length + sample)
    append = _appender(incident)
    for _, body in zip(range(length), bodies, strict=False):
        append(body)
    insert = _inserter(elsewhere)
    taken: dict[str, list[tuple[float, float]]] = {"service": [], "bare": []}
    for body in bodies:
        taken["service"].append(_timed(append, body))
        taken["bare"].append(_timed(insert, body))
    for name, index in (("wall", 0), ("CPU", 1)):
        service, bare = (
            statistics.median(times[index] for times in taken[which]) * 1e3
            for which in ("service", "bare")
        )
        print(
            f"  on {length:>6} entries, {name:<5} service {service:7.2f} ms   "
            f"bare {bare:6.2f} ms   {service / bare:6.2f} x floor",
            flush=True,
        )


def _timed(act: Callable[[Any], None], body: dict[str, Any]) -> tuple[float, float]:
    wall, cpu = time.perf_counter(), time.process_time()
    act(body)
    return time.perf_counter() - wall, time.process_time() - cpu


def _appender(incident: "Incident") -> Callable[[dict[str, Any]], None]:
    from incidents import services

    seconds = count()

    def append(body: dict[str, Any]) -> None:
        at = START + timedelta(seconds=next(seconds))
        key = uuid4()
        services.append_entry(
            incident_id=incident.pk,
            person=incident.opened_by,
            body={**body, "id": str(key), "at": at.isoformat()},
            client_uuid=key,
            recorded_at=at,
        )

    return append


def _inserter(incident: "Incident") -> Callable[[dict[str, Any]], None]:
    from django.db import transaction

    from incidents.documents import dumps
    from incidents.models import LogEntry

    numbers = count(2)

    def insert(body: dict[str, Any]) -> None:
        key, text = uuid4(), dumps(body)
        at = datetime.fromisoformat(body["at"])
        with transaction.atomic():
            LogEntry(
                incident=incident,
                seq=next(numbers),
                client_uuid=key,
                kind=body["kind"],
                body=text,
                observed_at=at,
                recorded_at=at,
                author=incident.opened_by,
                author_name="bench",
                prev_hash=key.hex,
                hash=key.hex,
                canonical=text.encode(),
            ).save(force_insert=True)

    return insert


if __name__ == "__main__":
    main()
