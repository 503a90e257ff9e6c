"""The chain of a long log verified, against hashing the stored bytes and nothing else."""

import hashlib
import json
from datetime import timedelta
from typing import TYPE_CHECKING
from uuid import uuid4

import rfc8785

from bench.database import START, empty_database, open_incident
from bench.measuring import in_turn, is_quick, say
from bench.worksheets import log

if TYPE_CHECKING:
    from incidents.models import Incident


def main() -> None:
    entries = 200 if is_quick(__doc__ or "") else 5_000
    with empty_database():
        from incidents.models import Incident
        from incidents.services.chain import verify
        from reports.chain import chain_document, head_of

        incident = chained(entries)
        stored = [
            bytes(each)
            for each in incident.entries.order_by("seq").values_list(
                "canonical", flat=True
            )
        ]
        document = chain_document(stored)

        def whole() -> None:
            problem = verify(Incident.objects.get(pk=incident.pk))
            if problem is not None:
                raise RuntimeError(str(problem))

        taken = in_turn(
            {
                "sha256": lambda: [hashlib.sha256(each).digest() for each in stored],
                "again": lambda: [
                    hashlib.sha256(rfc8785.dumps(json.loads(each))).digest()
                    for each in stored
                ],
                "file": lambda: head_of(document),
                "verify": whole,
            }
        )
    floor = taken["sha256"]
    print(f"{len(stored)} records; the floor is SHA-256 over the stored bytes.")
    say("  parsed, made canonical and hashed again", taken["again"], entries, floor)
    say("  chain.json followed to its head", taken["file"], entries, floor)
    say("  the table verified, every column", taken["verify"], entries, floor)
    ratio = taken["verify"] / taken["again"]
    print(f"  the table takes {ratio:.2f} times the canonical hashing alone")


def chained(entries: int) -> "Incident":
    """An incident with that many records, chained as the service does, in one commit."""
    from django.db import transaction

    from incidents.documents import dumps
    from incidents.services import chain
    from incidents.services.locking import save_head

    incident = open_incident()
    with transaction.atomic():
        for number, body in enumerate(log(entries)):
            at = START + timedelta(seconds=number)
            chain.add_record(
                incident=incident,
                kind=body["kind"],
                body=dumps(body),
                client_uuid=uuid4(),
                observed_at=at,
                recorded_at=at,
                author=incident.opened_by,
            )
        save_head(incident)
    return incident


if __name__ == "__main__":
    main()
