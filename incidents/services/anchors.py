"""Heads of the chains that are kept while an incident goes on, and outside it.

A shift that ends, a signature, a change of command and the closing keep one; so does
`manage.py keep_heads`, which prints them for a place that this server cannot reach.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from incidents.models import Incident, MedicalCheck, Person, RecordAnchor
from incidents.models.incident import NO_HASH
from incidents.services.locking import lock_row, one_transaction

Why = RecordAnchor.Why
# Common practice, no source: three watches a day. Counted from the opening.
SHIFT: Final = timedelta(hours=8)


@dataclass(frozen=True, slots=True, kw_only=True)
class Anchor:
    """A head that was kept before, such as the one a report prints."""

    seq: int
    hash: str
    kept: str = "the head that was given"


def begins_shift(incident: Incident, last: datetime, at: datetime) -> bool:
    """Whether a shift ended between the record before and one recorded now."""
    opened = incident.opened_at
    return (last - opened) // SHIFT < (at - opened) // SHIFT


def keep(
    *, incident: Incident, why: RecordAnchor.Why, at: datetime, by: Person | None
) -> RecordAnchor:
    """Keep both heads of a locked incident as they stand in memory."""
    seq, digest = medical_head(incident)
    return RecordAnchor.objects.create(
        incident=incident,
        why=why,
        made_at=at,
        made_by=by,
        seq=incident.head_seq,
        hash=incident.head_hash,
        medical_seq=seq,
        medical_hash=digest,
    )


def keep_head(*, incident_id: UUID, at: datetime) -> RecordAnchor:
    """Keep the heads as they stand now, unless the newest anchor says the same."""
    with one_transaction():
        incident = lock_row(incident_id)
        medical = medical_head(incident)
        newest = incident.anchors.order_by("-seq", "-pk").first()
        if newest is not None:
            known = (newest.seq, newest.hash, newest.medical_seq, newest.medical_hash)
            if known == (incident.head_seq, incident.head_hash, *medical):
                return newest
        return keep(incident=incident, why=Why.KEPT, at=at, by=None)


def medical_head(incident: Incident) -> tuple[int, str]:
    rows = MedicalCheck.objects.filter(incident=incident).order_by("-seq")
    return rows.values_list("seq", "hash").first() or (0, NO_HASH)


def of_log(incident: Incident) -> list[Anchor]:
    """Every head of the log that is kept here: the anchors, and each report's."""
    found = [
        Anchor(seq=row.seq, hash=row.hash, kept=f"{row.get_why_display()} kept")
        for row in incident.anchors.all()
    ]
    reports = incident.reports.values_list("head_seq", "head_hash", "created_at")
    found += [
        Anchor(
            seq=seq, hash=digest, kept=f"the report of {at:%Y-%m-%d %H:%M} UTC printed"
        )
        for seq, digest, at in reports
    ]
    return sorted(found, key=lambda anchor: anchor.seq)


def of_medical(incident: Incident) -> dict[int, set[str]]:
    """The heads of the medical chain that are kept, by number."""
    found: dict[int, set[str]] = {}
    rows = incident.anchors.filter(medical_seq__gt=0)
    for seq, digest in rows.values_list("medical_seq", "medical_hash"):
        found.setdefault(seq, set()).add(digest)
    return found
