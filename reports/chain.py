"""The chain that travels with a report: the records as they were hashed.

Standard library only, so that a copy of this file is enough to check a report in thirty
years. `chain.json` holds each record as the text of its canonical JSON (RFC 8785); the
SHA-256 of that text in UTF-8 is the record's hash, and the next record names it in `prev`.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any, Final

from reports.data import ChainHead

FORMAT: Final = "hazmat-incident-chain"
VERSION: Final = 1
FIRST_PREV: Final = "0" * 64

# Kinds of record that carry the set-up instead of a reading or a decision.
_SETUP_KINDS: Final = frozenset({"opening", "amendment"})
# Records that are no entry of the worksheet; a test holds them against the application.
OWN_KINDS: Final = _SETUP_KINDS | {
    "closing", "reopening", "device", "plan", "sign_off", "photo_arrived",
    "note", "order", "mayday", "mayday_over", "heard", "undone", "correction", "addendum",
    "drill",
}  # fmt: skip


class ChainError(ValueError):
    """The chain does not hold; the message says at which record and why."""


def chain_document(canonical: Iterable[bytes]) -> bytes:
    """`chain.json` of records in order, each the exact bytes that were hashed."""
    records = [bytes(record).decode("utf-8") for record in canonical]
    document = {"format": FORMAT, "version": VERSION, "records": records}
    return json.dumps(document, ensure_ascii=False, indent=0).encode("utf-8")


def head_of(document: bytes) -> ChainHead:
    """Hash every record of a `chain.json` again and follow the links to the last.

    Raises `ChainError` where a record is missing, out of order or does not name the
    hash of the one before it.
    """
    prev, seq = FIRST_PREV, 0
    for seq, text in enumerate(_records(document), start=1):
        record = _parsed(text, seq)
        if record.get("seq") != seq:
            raise ChainError(f"record {seq} says that it is {record.get('seq')!r}")
        if record.get("prev") != prev:
            raise ChainError(f"record {seq} does not follow from the one before it")
        prev = hashlib.sha256(text.encode("utf-8")).hexdigest()
    if seq == 0:
        raise ChainError("the chain has no record")
    return ChainHead(seq=seq, sha256=prev)


def disagreement(worksheet: bytes, document: bytes) -> str:
    """In what the worksheet differs from the records of the chain; "" where in nothing."""
    try:
        sheet = _load(worksheet.decode("utf-8"))
    except ValueError:
        return "worksheet.json is not readable"
    if not isinstance(sheet, dict) or not isinstance(sheet.get("log"), list):
        return "worksheet.json is not a worksheet"
    setup: Any = None
    drill = False
    entries: dict[str, Any] = {}
    for number, text in enumerate(_records(document), start=1):
        record = _parsed(text, number)
        body = _load(str(record.get("body")))
        if record.get("kind") in _SETUP_KINDS:
            setup = body.get("setup") if isinstance(body, dict) else None
            if record.get("kind") == "opening" and isinstance(body, dict):
                drill = bool(body.get("drill"))
        elif record.get("kind") not in OWN_KINDS:
            entries[str(record.get("uuid"))] = body
    log = {str(entry.get("id")): entry for entry in sheet["log"]}
    if len(log) != len(sheet["log"]) or log.keys() != entries.keys():
        return "worksheet.json has other entries than the chain"
    for ident, entry in log.items():
        if entry != entries[ident]:
            return f"entry {ident} of worksheet.json differs from its record"
    if bool(sheet.get("drill")) != drill:
        return "worksheet.json and its opening differ on whether this is a drill"
    if {key: sheet[key] for key in sheet if key not in ("log", "drill")} != setup:
        return "the set-up in worksheet.json differs from its record"
    return ""


def _records(document: bytes) -> list[str]:
    try:
        parsed = json.loads(document)
    except ValueError as error:
        raise ChainError("chain.json is not readable") from error
    if not isinstance(parsed, Mapping) or parsed.get("format") != FORMAT:
        raise ChainError(f"chain.json is not of the format {FORMAT}")
    if parsed.get("version") != VERSION:
        raise ChainError("chain.json was made by a newer version")
    records = parsed.get("records")
    if not isinstance(records, list) or not all(isinstance(r, str) for r in records):
        raise ChainError("chain.json has no list of records")
    return records


def _parsed(text: str, number: int) -> Mapping[str, Any]:
    try:
        record = json.loads(text)
    except ValueError as error:
        raise ChainError(f"record {number} is not readable") from error
    if not isinstance(record, Mapping):
        raise ChainError(f"record {number} is not an object")
    return record


def _load(text: str) -> Any:
    try:
        return json.loads(text, parse_float=Decimal, parse_int=Decimal)
    except ValueError as error:
        raise ChainError("the body of a record is not readable") from error
