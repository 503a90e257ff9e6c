"""The hash chain of a log: made entry by entry, verified as a whole.

Each record's hash is SHA-256 over its canonical bytes (RFC 8785), which hold the hash
before it. What this proves, and what not: an edited, missing or swapped record shows,
and so does a cut-off tail, as long as the head was not repaired with it. Whoever can
rewrite the whole table can make a new chain; only a head kept apart from it shows that:
`verify` holds the log against each one in `incidents.services.anchors`.
"""

import hashlib
import itertools
import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Final
from uuid import UUID, uuid5

import rfc8785
from django.db.models import Q

from incidents.documents import dumps, loads, utc_text
from incidents.models import Incident, LogEntry, Person, SopProfile
from incidents.models.incident import NO_HASH
from incidents.models.log import (
    AMENDMENT,
    CLOSING,
    NOTE,
    OPENING,
    PHOTO_ARRIVED,
    REOPENING,
    SIGN_OFF,
)
from incidents.photo_claims import Claim
from incidents.services import anchors, rows_beside
from incidents.services.anchors import Anchor as Anchor
from incidents.services.anchors import Why
from incidents.services.locking import lock_row, one_transaction
from incidents.services.profiles import content_hash

VERSION = 1
# Records that somebody answers for all of before with.
_ANCHORED: Final = {CLOSING: Why.CLOSING, SIGN_OFF: Why.SIGN_OFF}
AT_ONCE: Final = 1000  # rows read by the verifier


_IN_WORDS: Final = {
    "gap": "it is missing, or its number is another's.",
    "content": "its bytes are not those that were hashed.",
    "columns": "what is stored of it was changed after it was recorded.",
    "link": "it does not follow on the entry before it.",
    "photo": "its photo is not the one that it names.",
    "gone": "the photo whose arrival it records is gone.",
    "order": "it stands at another place than it was recorded at.",
    "head": "the log ends elsewhere than where the last entry was recorded.",
    "anchor": "a head that was kept then is not the one that the log has.",
    "setup": "the set-up of the incident is not the one that the log has.",
    "sop": "the limits of the incident are not those that the log names.",
    "rows": "the incident, its teams, its people or its file are not what the log has.",
    "closed": "the log says otherwise when the incident was closed.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """The first thing found wrong."""

    incident_id: UUID
    seq: int
    what: str  # one of `_IN_WORDS`
    expected: str
    found: str

    @property
    def in_words(self) -> str:
        return _IN_WORDS[self.what]

    def __str__(self) -> str:
        return (
            f"incident {self.incident_id}, entry {self.seq}: {self.what}: "
            f"expected {self.expected}, found {self.found}"
        )


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
    if last and anchors.begins_shift(incident, last, recorded_at):
        anchors.keep(incident=incident, why=Why.SHIFT, at=recorded_at, by=author)
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
    return _chained(incident, entry)


def next_id(incident: Incident, kind: str) -> UUID:
    """The identifier of the application's own next record of a locked incident.

    From the incident and the number, so that the same incident made again is the same.
    """
    return uuid5(incident.pk, f"{kind} {incident.head_seq + 1}")


def _chained(incident: Incident, entry: LogEntry) -> LogEntry:
    """Hash and store the record, move the head, and keep it where somebody answers."""
    entry.canonical = canonical_bytes(entry)
    entry.hash = hashlib.sha256(entry.canonical).hexdigest()
    entry.save(force_insert=True)
    incident.head_seq = entry.seq
    incident.head_hash = entry.hash
    why = _ANCHORED.get(entry.kind)
    if why is not None:
        anchors.keep(incident=incident, why=why, at=entry.recorded_at, by=entry.author)
    return entry


def verify(
    incident: Incident,
    *,
    anchor: Anchor | None = None,
    also: Iterable[Anchor] = (),
) -> Problem | None:
    """Walk the whole log; the first problem, or None when everything holds.

    Also against every head that was kept of it. Entries may be recorded meanwhile: only
    what came in during the walk, and the incident's own row, are looked at under its lock.
    """
    walk = _Walk(incident=incident)
    walk.hold([*anchors.of_log(incident), *also, *([anchor] if anchor else [])])
    problem = next(_record_problems(walk), None)
    if problem is not None:
        return problem
    with one_transaction():
        walk.incident = lock_row(incident.pk)
        rest = itertools.chain(_record_problems(walk), _end_problems(walk))
        return next(rest, None)


@dataclass(slots=True)
class _Walk:
    """What was seen of a log so far."""

    incident: Incident
    anchors: dict[int, list[Anchor]] = field(default_factory=dict)
    seq: int = 0
    last: tuple[int, int] = (-1, 0)  # number and key of the row before
    head: str = NO_HASH
    recorded_at: datetime | None = None
    setup: str | None = None
    sop: dict[str, Any] | None = None
    opening: dict[str, Any] = field(default_factory=dict)
    opened_at: datetime | None = None
    names: dict[str, str] = field(default_factory=dict)
    closed_at: datetime | None = None

    def hold(self, kept: Iterable[Anchor]) -> None:
        for each in kept:
            self.anchors.setdefault(each.seq, []).append(each)

    def problem(self, what: str, expected: object, found: object) -> Problem:
        return Problem(
            incident_id=self.incident.pk,
            seq=self.seq,
            what=what,
            expected=str(expected),
            found=str(found),
        )


def _record_problems(walk: _Walk) -> Iterator[Problem]:
    for entry in _records(walk):
        walk.seq += 1
        yield from _entry_problems(walk, entry)
        walk.head, walk.recorded_at = entry.hash, entry.recorded_at
        if entry.kind in (OPENING, AMENDMENT):
            body = loads(entry.body)
            walk.setup, walk.sop = dumps(body["setup"]), body.get("sop", walk.sop)
            walk.names |= body.get("names", {})
            if entry.kind == OPENING:
                walk.opening, walk.opened_at = body, entry.observed_at
        elif entry.kind in (CLOSING, REOPENING):
            walk.closed_at = entry.recorded_at if entry.kind == CLOSING else None


def _records(walk: _Walk) -> Iterator[LogEntry]:
    """The rows after the last that was seen, some at a time: a long read would keep
    writers out. By number and key, so that a second row of one number is not passed over.
    """
    rows = walk.incident.entries.order_by("seq", "pk")
    while True:
        seq, key = walk.last
        after = rows.filter(Q(seq__gt=seq) | Q(seq=seq, pk__gt=key))
        some = list(after[:AT_ONCE])
        for row in some:
            walk.last = (row.seq, row.pk)
            yield row
        if len(some) < AT_ONCE:
            return


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
    if entry.kind == NOTE:
        yield from _photo_problems(walk, entry)
    if entry.kind == PHOTO_ARRIVED:
        yield from _arrival_problems(walk, entry)
    if (walk.seq == 1) != (entry.kind == OPENING):
        yield problem("order", "the opening as the first entry", entry.kind)
    before = walk.recorded_at
    if before is not None and entry.recorded_at < before:
        yield problem("order", f"recorded at {before} or later", entry.recorded_at)
    for anchor in walk.anchors.get(walk.seq, ()):
        if anchor.hash != entry.hash:
            expected = f"hash {anchor.hash}, as {anchor.kept} it"
            yield problem("anchor", expected, f"hash {entry.hash}")


def _photo_problems(walk: _Walk, entry: LogEntry) -> Iterator[Problem]:
    """Whether the photo is the one that the record names.

    One that never came is no problem. One that came and is gone is found at the record of
    its arrival.
    """
    claim = Claim.of(loads(entry.body))
    if claim is None:
        return
    photo = walk.incident.photos.filter(sha256=claim.sha256).first()
    if photo is None:
        return
    found = hashlib.sha256(bytes(photo.content)).hexdigest()
    if found != claim.sha256:
        yield walk.problem("photo", f"hash {claim.sha256}", f"hash {found}")
    elif photo.media_type != claim.media_type:
        yield walk.problem("photo", claim.media_type, photo.media_type)


def _arrival_problems(walk: _Walk, entry: LogEntry) -> Iterator[Problem]:
    """Whether the photo that came is still here."""
    sha256 = str(loads(entry.body)["sha256"])
    if not walk.incident.photos.filter(sha256=sha256).exists():
        yield walk.problem("gone", f"a photo of hash {sha256}", "none")


def _end_problems(walk: _Walk) -> Iterator[Problem]:
    """Whether the incident and what was kept of it say what the log says."""
    incident = walk.incident
    if (incident.head_seq, incident.head_hash) != (walk.seq, walk.head):
        expected = f"entry {incident.head_seq} with hash {incident.head_hash}"
        found = f"entry {walk.seq} with hash {walk.head}"
        if incident.head_seq != walk.seq:
            walk.seq = min(walk.seq, incident.head_seq) + 1
        yield walk.problem("head", expected, found)
    if walk.setup is None:
        yield walk.problem("gap", "an opening", "an empty log")
    for seq in sorted(seq for seq in walk.anchors if seq > walk.seq):
        anchor = walk.anchors[seq][0]
        walk.seq += 1
        expected = f"entries up to {seq} with hash {anchor.hash}, as {anchor.kept} it"
        yield walk.problem("anchor", expected, "no such entry")
    if incident.setup != walk.setup:
        yield walk.problem("setup", "the set-up of the log", "another on the incident")
    yield from _sop_problems(walk)
    if walk.setup is not None and walk.opened_at is not None:
        for what, said, stored in rows_beside.differences(
            incident, walk.opening, walk.opened_at, loads(walk.setup), walk.names
        ):
            yield walk.problem("rows", f"{what} {said}", f"{what} {stored}")
    if incident.closed_at != walk.closed_at:
        closed = f"closed at {walk.closed_at}"
        yield walk.problem("closed", closed, f"closed at {incident.closed_at}")


def _sop_problems(walk: _Walk) -> Iterator[Problem]:
    """Whether the version that the incident names is the one that the log has."""
    version, record = walk.incident.sop, walk.sop
    if version is None or record is None:
        if version is not None or record is not None:
            yield walk.problem("sop", _named(record), _named(version))
        return
    if version.pk != int(record["id"]):
        yield walk.problem("sop", _named(record), _named(version))
    elif content_hash(version) != record["sha256"]:
        expected = f"{version} with hash {record['sha256']}"
        yield walk.problem("sop", expected, f"content of hash {content_hash(version)}")


def _named(found: SopProfile | dict[str, Any] | None) -> str:
    if isinstance(found, dict):
        return f"{found['name']}, version {found['version']}"
    return str(found) if found else "no version of an SOP"


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
