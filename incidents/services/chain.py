"""The hash chain of a log: made entry by entry, verified as a whole.

Each record's hash is SHA-256 over its canonical bytes (RFC 8785), which hold the hash
before it. What this proves, and what not: an edited, missing or swapped record shows,
and so does a cut-off tail, as long as the head was not repaired with it. Whoever can
rewrite the whole table can make a new chain; only a head kept elsewhere (each report
prints one) shows that. `verify` takes such a head as an anchor.
"""

import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

import rfc8785

from incidents.documents import dumps, loads, utc_text
from incidents.models import Incident, LogEntry, Person
from incidents.models.incident import NO_HASH
from incidents.models.log import AMENDMENT, CLOSING, OPENING, REOPENING

VERSION = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """The first thing found wrong."""

    incident_id: UUID
    seq: int
    what: str  # gap, content, link, columns, order, head, setup, closed, anchor
    expected: str
    found: str

    def __str__(self) -> str:
        return (
            f"incident {self.incident_id}, entry {self.seq}: {self.what}: "
            f"expected {self.expected}, found {self.found}"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Anchor:
    """A head that was kept outside the database, such as the one a report prints."""

    seq: int
    hash: str


def canonical_bytes(entry: LogEntry) -> bytes:
    """The bytes to hash. `body` goes in as the stored text, numbers as entered."""
    return rfc8785.dumps(
        {
            "v": VERSION,
            "incident": str(entry.incident_id),
            "seq": entry.seq,
            "uuid": str(entry.client_uuid),
            "kind": entry.kind,
            "body": entry.body,
            "observed_at": utc_text(entry.observed_at),
            "recorded_at": utc_text(entry.recorded_at),
            "author": {"id": entry.author_id, "name": entry.author_name},
            "device": entry.device,
            "prev": entry.prev_hash,
        }
    )


def add_record(
    *,
    incident: Incident,
    kind: str,
    body: str,
    client_uuid: UUID,
    observed_at: datetime,
    recorded_at: datetime,
    author: Person,
    device: str = "",
) -> LogEntry:
    """Chain one record to a locked incident and move its head in memory.

    The caller holds the incident's row and saves it. `recorded_at` never goes back: a
    server clock that was set back gives the time of the record before.
    """
    last = (
        LogEntry.objects.filter(incident=incident, seq=incident.head_seq)
        .values_list("recorded_at", flat=True)
        .first()
    )
    entry = LogEntry(
        incident=incident,
        seq=incident.head_seq + 1,
        client_uuid=client_uuid,
        kind=kind,
        body=body,
        observed_at=observed_at,
        recorded_at=max(recorded_at, last) if last else recorded_at,
        author=author,
        author_name=author.shown_name,
        device=device,
        prev_hash=incident.head_hash,
    )
    entry.canonical = canonical_bytes(entry)
    entry.hash = hashlib.sha256(entry.canonical).hexdigest()
    entry.save(force_insert=True)
    incident.head_seq = entry.seq
    incident.head_hash = entry.hash
    return entry


def verify(incident: Incident, *, anchor: Anchor | None = None) -> Problem | None:
    """Walk the whole log; the first problem, or None when everything holds."""
    return next(_problems(incident, anchor), None)


def _problems(incident: Incident, anchor: Anchor | None) -> Iterator[Problem]:
    def problem(seq: int, what: str, expected: object, found: object) -> Problem:
        return Problem(
            incident_id=incident.pk,
            seq=seq,
            what=what,
            expected=str(expected),
            found=str(found),
        )

    seq, head = 0, NO_HASH
    recorded_at: datetime | None = None
    setup: str | None = None
    closed_at: datetime | None = None
    for entry in incident.entries.order_by("seq").iterator(chunk_size=500):
        seq += 1
        if entry.seq != seq:
            yield problem(seq, "gap", f"entry {seq}", f"entry {entry.seq}")
            return
        digest = hashlib.sha256(bytes(entry.canonical)).hexdigest()
        if digest != entry.hash:
            yield problem(seq, "content", f"hash {entry.hash}", f"hash {digest}")
        for name, hashed, stored in _differences(entry):
            yield problem(seq, "columns", f"{name} {hashed!r}", f"{name} {stored!r}")
        if entry.prev_hash != head:
            yield problem(seq, "link", f"previous hash {head}", entry.prev_hash)
        if (seq == 1) != (entry.kind == OPENING):
            yield problem(seq, "order", "the opening as the first entry", entry.kind)
        if recorded_at is not None and entry.recorded_at < recorded_at:
            yield problem(
                seq, "order", f"recorded at {recorded_at} or later", entry.recorded_at
            )
        if anchor is not None and anchor.seq == seq and anchor.hash != entry.hash:
            yield problem(seq, "anchor", f"hash {anchor.hash}", f"hash {entry.hash}")
        head, recorded_at = entry.hash, entry.recorded_at
        if entry.kind in (OPENING, AMENDMENT):
            setup = dumps(loads(entry.body)["setup"])
        elif entry.kind in (CLOSING, REOPENING):
            closed_at = entry.recorded_at if entry.kind == CLOSING else None

    if (incident.head_seq, incident.head_hash) != (seq, head):
        yield problem(
            incident.head_seq,
            "head",
            f"entry {incident.head_seq} with hash {incident.head_hash}",
            f"entry {seq} with hash {head}",
        )
    if seq == 0:
        yield problem(1, "gap", "an opening", "an empty log")
        return
    if anchor is not None and anchor.seq > seq:
        yield problem(anchor.seq, "anchor", f"hash {anchor.hash}", "no such entry")
    if incident.setup != setup:
        yield problem(seq, "setup", "the set-up of the log", "another on the incident")
    if incident.closed_at != closed_at:
        yield problem(
            seq, "closed", f"closed at {closed_at}", f"closed at {incident.closed_at}"
        )


def _differences(entry: LogEntry) -> Iterator[tuple[str, Any, Any]]:
    """Each column that says something else than the bytes that were hashed."""
    try:
        hashed = json.loads(bytes(entry.canonical))
    except ValueError:
        yield "canonical bytes", "a JSON object", "something else"
        return
    stored = json.loads(canonical_bytes(entry))
    for name in sorted(stored.keys() | hashed.keys()):
        if stored.get(name) != hashed.get(name):
            yield name, hashed.get(name), stored.get(name)
