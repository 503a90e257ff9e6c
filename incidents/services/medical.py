"""Medical checks: what was measured, who may go in, and every look at either.

Kept apart from the log of the incident, in a chain of their own, and open after it is
closed: people recover later than an incident ends.
"""

import hashlib
import json
from collections.abc import Iterable, Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any, Final
from uuid import UUID

import rfc8785

from command.documents import name_key
from command.medical import Outcome, judge_after, judge_before, rested_from
from incidents import medical
from incidents.documents import dumps, loads, utc_text
from incidents.models import Incident, MedicalAccess, MedicalCheck, Person
from incidents.models.incident import NO_HASH
from incidents.services import anchors, permissions
from incidents.services.entries import CLOCK_SLACK
from incidents.services.errors import (
    DuplicateConflictError,
    EntryRefusedError,
    NotAllowedError,
)
from incidents.services.locking import lock, one_transaction
from incidents.services.typed import refused, typed
from incidents.text import clean_text
from screening.worksheet import DocumentError

Kind = MedicalCheck.Kind
CHECKS: Final = (Kind.BEFORE, Kind.AFTER, Kind.RECHECK)
# What lies outside is a slip of the pen, not a living person's figure.
_WHOLE: Final[Mapping[str, tuple[int, int]]] = {
    "pulse": (20, 260),
    "systolic": (40, 300),
    "diastolic": (20, 200),
    "breaths": (2, 80),
    "spo2": (40, 100),
}
_TEMPERATURE: Final = (Decimal(80), Decimal(115))  # °F
_WEIGHT: Final = (Decimal(30), Decimal(300))  # kg
_VERSION: Final = 1


def record_check(
    *,
    incident_id: UUID,
    person: Person,
    name: str,
    kind: str,
    values: Mapping[str, Any],
    at: datetime,
    recorded_at: datetime,
    client_uuid: UUID,
    corrects: MedicalCheck | None = None,
    note: str = "",
) -> MedicalCheck:
    """Keep what was measured of one person, and whether they may go in by it.

    `values`: whole numbers `pulse`, `systolic`, `diastolic`, `breaths`, `spo2`;
    quantities `temperature` (degC, degF) and `weight` (kg, lb); `symptoms`, "" for none
    reported. What was not taken is left out. Raises `NotAllowedError`,
    `EntryRefusedError`, `DuplicateConflictError` and `StorageBusyError`.
    """
    if kind not in CHECKS:
        raise refused("/kind", f"one of {', '.join(CHECKS)}", kind)
    kept = _read_values(values)
    wrong = "what was wrong with the one that it puts right"
    why = typed(note, "/note", needed=wrong if corrects is not None else "")
    with one_transaction():
        incident = _locked(incident_id, person)
        whole = kept | ({"note": why} if why else {})
        known = _known(incident, client_uuid, name, kind, whole)
        if known is not None:
            return known
        rows = _rows_of(incident, name)
        if corrects is not None:
            _check_correction(rows, corrects, name)
            rows = [row for row in rows if row.pk != corrects.pk]
        outcome = _judged(incident, rows, kind, kept, at)
        return _add(
            incident,
            person,
            name=name,
            kind=kind,
            fit=outcome.fit,
            values=whole,
            reasons=_reasons(incident, outcome),
            corrects=corrects,
            at=at,
            recorded_at=recorded_at,
            client_uuid=client_uuid,
        )


def decide_fitness(
    *,
    incident_id: UUID,
    person: Person,
    name: str,
    fit: bool,
    reason: str,
    at: datetime,
    recorded_at: datetime,
    client_uuid: UUID,
) -> MedicalCheck:
    """Let somebody in, or keep them out, by a decision of medical with its reason."""
    why = typed(reason, "/reason", needed="a reason")
    with one_transaction():
        incident = _locked(incident_id, person)
        values = {"reason": why, "fit": fit}
        known = _known(incident, client_uuid, name, Kind.DECISION, values)
        if known is not None:
            return known
        return _add(
            incident,
            person,
            name=name,
            kind=Kind.DECISION,
            fit=fit,
            values=values,
            reasons={"reasons": [why], "advice": [], "limits": {}},
            corrects=None,
            at=at,
            recorded_at=recorded_at,
            client_uuid=client_uuid,
        )


def look_at_checks(
    *, incident_id: UUID, person: Person, code: str, at: datetime
) -> list[MedicalCheck]:
    """Everything of one person, oldest first; the look is noted before it is given."""
    incident = Incident.objects.get(pk=incident_id)
    role = permissions.require_role(person, incident)
    if not permissions.may_see_medical(role):
        raise NotAllowedError(
            "What was measured is for medical and the safety officer alone."
        )
    with one_transaction():
        rows = list(incident.medical_checks.filter(person_code=code).order_by("seq"))
        if rows:
            MedicalAccess.objects.create(
                incident=incident,
                at=at,
                by=person,
                by_name=person.shown_name,
                role=role,
                person_name=rows[0].person_name,
            )
    return rows


def verify_medical(incident: Incident) -> str:
    """The first thing that is wrong with the chain of checks, in words; "" for nothing.

    A cut-off tail shows against the heads that were kept (`services.anchors`).
    """
    head, seq = NO_HASH, 0
    kept = anchors.of_medical(incident)
    rows = incident.medical_checks.order_by("seq").iterator(chunk_size=500)
    for seq, row in enumerate(rows, 1):
        if row.seq != seq:
            return f"check {row.seq}: check {seq} is missing"
        if hashlib.sha256(bytes(row.canonical)).hexdigest() != row.hash:
            return f"check {row.seq}: hash"
        if row.prev_hash != head:
            return f"check {row.seq}: does not follow on the one before"
        hashed, stored = json.loads(bytes(row.canonical)), json.loads(_bytes_of(row))
        for name in sorted(hashed.keys() | stored.keys()):
            if hashed.get(name) != stored.get(name):
                return f"check {row.seq}: {name}"
        head = row.hash
        if kept.get(seq, {head}) != {head}:
            return f"check {row.seq}: another than was kept at the time"
    if max(kept, default=0) > seq:
        return f"check {seq + 1}: {max(kept)} checks were kept, and there are {seq}"
    return ""


def _judged(
    incident: Incident,
    rows: list[MedicalCheck],
    kind: str,
    values: Mapping[str, Any],
    at: datetime,
) -> Outcome:
    """By the limits; against the own figures of before once the person came out."""
    limits = medical.limits_of(incident)
    earlier = [row for row in medical.that_count(rows) if row.at <= at]
    vitals = medical.vitals_of(dict(values))
    baseline = next((r for r in reversed(earlier) if r.kind == Kind.BEFORE), None)
    been_in = kind == Kind.AFTER or (
        kind == Kind.RECHECK and any(row.kind == Kind.AFTER for row in earlier)
    )
    if been_in:
        before = medical.vitals_of(medical.values(baseline)) if baseline else None
        outcome = judge_after(vitals, before, limits)
    else:
        outcome = judge_before(vitals, limits)
    until = rested_from(medical.check_of(earlier[-1]) if earlier else None, limits)
    if until is not None and at < until:
        rest = (limits["medical_recheck"] or Decimal(0)) / 60
        early = f"Taken before a rest of {rest.normalize():f} min was over"
        return Outcome(reasons=(early, *outcome.reasons), advice=outcome.advice)
    return outcome


def _reasons(incident: Incident, outcome: Outcome) -> dict[str, Any]:
    limits = medical.limits_of(incident)
    return {
        "reasons": list(outcome.reasons),
        "advice": list(outcome.advice),
        "limits": {key: value for key, value in limits.items() if value is not None},
    }


def _check_correction(
    rows: Iterable[MedicalCheck], corrects: MedicalCheck, name: str
) -> None:
    if name_key(corrects.person_name) != name_key(name):
        raise NotAllowedError(f"That check is of {corrects.person_name}.")
    if any(row.corrects_id == corrects.pk for row in rows):
        raise NotAllowedError("That check was put right already.")


def _rows_of(incident: Incident, name: str) -> list[MedicalCheck]:
    return list(incident.medical_checks.filter(person_code=medical.code_of(name)))


def _known(
    incident: Incident, key: UUID, name: str, kind: str, values: Mapping[str, Any]
) -> MedicalCheck | None:
    """The row that this was stored as when it was sent before."""
    known = incident.medical_checks.filter(client_uuid=key).first()
    if known is None:
        return None
    same = (known.kind, known.person_code, loads(known.values)) == (
        kind,
        medical.code_of(name),
        loads(dumps(values)),
    )
    if not same:
        raise DuplicateConflictError(
            "This check was sent before with other content. Send it as a new one."
        )
    return known


def _add(
    incident: Incident,
    person: Person,
    *,
    name: str,
    kind: str,
    fit: bool,
    values: Mapping[str, Any],
    reasons: Mapping[str, Any],
    corrects: MedicalCheck | None,
    at: datetime,
    recorded_at: datetime,
    client_uuid: UUID,
) -> MedicalCheck:
    """Chain one row; the caller holds the incident's lock."""
    if at > recorded_at + CLOCK_SLACK:
        raise refused("/at", "a time that has passed", at.isoformat())
    shown = typed(name, "/name", longest=120, one_line=True, needed="a name")
    last = incident.medical_checks.order_by("-seq").first()
    row = MedicalCheck(
        incident=incident,
        seq=last.seq + 1 if last else 1,
        client_uuid=client_uuid,
        person_name=shown,
        person_code=medical.code_of(shown),
        kind=kind,
        at=at,
        recorded_at=max(recorded_at, last.recorded_at) if last else recorded_at,
        by=person,
        by_name=person.shown_name,
        fit=fit,
        values=dumps(values),
        reasons=dumps(reasons),
        corrects=corrects,
        prev_hash=last.hash if last else NO_HASH,
    )
    row.canonical = _bytes_of(row)
    row.hash = hashlib.sha256(row.canonical).hexdigest()
    row.save(force_insert=True)
    # Whether somebody may go in can change what is ready.
    incident.revision += 1
    incident.save(update_fields=["revision"])
    return row


def _bytes_of(row: MedicalCheck) -> bytes:
    return rfc8785.dumps(
        {
            "v": _VERSION,
            "incident": str(row.incident_id),
            "seq": row.seq,
            "uuid": str(row.client_uuid),
            "person_name": row.person_name,
            "person_code": row.person_code,
            "kind": row.kind,
            "at": utc_text(row.at),
            "recorded_at": utc_text(row.recorded_at),
            "by": {"id": row.by_id, "name": row.by_name},
            "fit": row.fit,
            "values": row.values,
            "reasons": row.reasons,
            "corrects": row.corrects_id,
            "prev": row.prev_hash,
        }
    )


def _locked(incident_id: UUID, person: Person) -> Incident:
    incident = lock(incident_id)
    role = permissions.require_role(person, incident)
    if not permissions.may_record_medical(role):
        raise NotAllowedError("Medical alone records and decides this.")
    return incident


def _read_values(values: Mapping[str, Any]) -> dict[str, Any]:
    """The values with every error at its place; what is None was not taken."""
    errors: list[DocumentError] = []
    kept: dict[str, Any] = {}
    for field, value in values.items():
        try:
            read = _read(field, value)
        except ValueError as error:
            errors.append(_error(f"/values/{field}", value, str(error)))
            continue
        if read is not None:
            kept[field] = read
    low, high = kept.get("diastolic"), kept.get("systolic")
    if low is not None and high is not None and low >= high:
        errors.append(_error("/values/diastolic", low, "less than the systolic one"))
    if "symptoms" not in kept and not any("symptoms" in e.pointer for e in errors):
        errors.append(_error("/values/symptoms", "", "whether symptoms are reported"))
    if errors:
        raise EntryRefusedError(tuple(errors))
    return kept


def _read(field: str, value: Any) -> Any:
    if field == "symptoms":
        if not isinstance(value, str):
            raise ValueError("whether symptoms are reported")
        return clean_text(value, max_length=2_000)
    if value is None:
        return None
    if field in _WHOLE:
        low, high = _WHOLE[field]
        number = Decimal(value)
        if number != int(number) or not low <= number <= high:
            raise ValueError(f"a whole number from {low} to {high}")
        return int(number)
    if field == "temperature":
        return _quantity(
            value,
            ("degC", "degF"),
            medical.fahrenheit,
            _TEMPERATURE,
            "a body's temperature",
        )
    if field == "weight":
        return _quantity(
            value, ("kg", "lb"), medical.kilograms, _WEIGHT, "a person's weight"
        )
    raise ValueError("nothing of this name")


def _quantity(
    value: Any, units: tuple[str, ...], canonical: Any, bound: tuple[Decimal, Decimal],
    words: str,
) -> dict[str, Any]:  # fmt: skip
    if value["unit"] not in units:
        raise ValueError(f"a unit of {' or '.join(units)}")
    low, high = bound
    if not low <= canonical(value) <= high:
        raise ValueError(f"{words} in that unit")
    return {"value": value["value"], "unit": value["unit"]}


def _error(pointer: str, value: object, expected: str) -> DocumentError:
    return DocumentError(pointer=pointer, value=str(value), expected=expected)
