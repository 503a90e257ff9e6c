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


@dataclass(slots=True)
class _Walk:
    """What was seen of a log so far."""

    incident: Incident
    anchor: Anchor | None
    seq: int = 0
    head: str = NO_HASH
    recorded_at: datetime | None = None
    setup: str | None = None
    closed_at: datetime | None = None

    def problem(self, what: str, expected: object, found: object) -> Problem:
        return Problem(
            incident_id=self.incident.pk,
            seq=self.seq,
            what=what,
            expected=str(expected),
            found=str(found),
        )


def _problems(incident: Incident, anchor: Anchor | None) -> Iterator[Problem]:
    walk = _Walk(incident=incident, anchor=anchor)
    for entry in incident.entries.order_by("seq").iterator(chunk_size=500):
        walk.seq += 1
        yield from _entry_problems(walk, entry)
        walk.head, walk.recorded_at = entry.hash, entry.recorded_at
        if entry.kind in (OPENING, AMENDMENT):
            walk.setup = dumps(loads(entry.body)["setup"])
        elif entry.kind in (CLOSING, REOPENING):
            walk.closed_at = entry.recorded_at if entry.kind == CLOSING else None
    yield from _end_problems(walk)


def _entry_problems(walk: _Walk, entry: LogEntry) -> Iterator[Problem]:
    """What is wrong with one record, or with its place after the one before."""
    problem = walk.problem
    if entry.seq != walk.seq:
        yield problem("gap", f"entry {walk.seq}", f"entry {entry.seq}")
    digest = hashlib.sha256(bytes(entry.canonical)).hexdigest()
    if digest != entry.hash:
        yield problem("content", f"hash {entry.hash}", f"hash {digest}")
    for name, hashed, stored in _differences(entry):
        yield problem("columns", f"{name} {hashed!r}", f"{name} {stored!r}")
    if entry.prev_hash != walk.head:
        yield problem("link", f"previous hash {walk.head}", entry.prev_hash)
    if (walk.seq == 1) != (entry.kind == OPENING):
        yield problem("order", "the opening as the first entry", entry.kind)
    before = walk.recorded_at
    if before is not None and entry.recorded_at < before:
        yield problem("order", f"recorded at {before} or later", entry.recorded_at)
    anchor = walk.anchor
    if anchor is not None and anchor.seq == walk.seq and anchor.hash != entry.hash:
        yield problem("anchor", f"hash {anchor.hash}", f"hash {entry.hash}")


def _end_problems(walk: _Walk) -> Iterator[Problem]:
    """Whether the incident and the anchor say what the log says."""
    incident, anchor = walk.incident, walk.anchor
    if (incident.head_seq, incident.head_hash) != (walk.seq, walk.head):
        expected = f"entry {incident.head_seq} with hash {incident.head_hash}"
        found = f"entry {walk.seq} with hash {walk.head}"
        walk.seq = incident.head_seq
        yield walk.problem("head", expected, found)
    if walk.setup is None:
        yield walk.problem("gap", "an opening", "an empty log")
    if anchor is not None and anchor.seq > walk.seq:
        walk.seq = anchor.seq
        yield walk.problem("anchor", f"hash {anchor.hash}", "no such entry")
    if incident.setup != walk.setup:
        yield walk.problem("setup", "the set-up of the log", "another on the incident")
    if incident.closed_at != walk.closed_at:
        closed = f"closed at {walk.closed_at}"
        yield walk.problem("closed", closed, f"closed at {incident.closed_at}")


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
