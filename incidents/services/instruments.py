"""The agency's register of instruments: kept, tested, and taken into incidents."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, Final
from uuid import UUID
from zoneinfo import ZoneInfo

from incidents import kit
from incidents.documents import dumps, loads
from incidents.models import (
    APP_KINDS,
    Incident,
    IncidentRole,
    Instrument,
    InstrumentRecord,
    Person,
)
from incidents.services import permissions
from incidents.services.entries import CLOCK_SLACK, append_entry
from incidents.services.errors import NotAllowedError
from incidents.services.incidents import amend_setup
from incidents.services.instrument_history import add_line
from incidents.services.locking import one_transaction
from incidents.services.register import difference, fill, said
from incidents.services.typed import refused, typed
from incidents.text import unique_key

Kind = InstrumentRecord.Kind
TESTS: Final = frozenset({Kind.BUMP_TEST, Kind.CALIBRATION, Kind.ZERO})


@dataclass(frozen=True, slots=True, kw_only=True)
class Tested:
    """A test that was recorded, and the open incidents that have the instrument."""

    record: InstrumentRecord
    logged_in: tuple[str, ...] = ()
    not_logged_in: tuple[str, ...] = ()  # the tester has no part there


def add_instrument(
    *,
    person: Person,
    kind: str,
    label: str,
    about: Mapping[str, Any],
    facts: Mapping[str, Any],
    at: datetime,
) -> Instrument:
    """Put an instrument into the register.

    `facts` are the worksheet's fields of an instrument, without `id` and `kind`; `about`
    is any of `register.ABOUT`. Raises `NotAllowedError` and `EntryRefusedError`.
    """
    _require_keeper(person)
    assert person.agency is not None
    if kind not in kit.KINDS:
        raise refused("/kind", f"one of {', '.join(kit.KINDS)}", kind)
    with one_transaction():
        taken = person.agency.instruments.values_list("key", flat=True)
        row = Instrument(
            agency=person.agency,
            key=unique_key(label, list(taken), kind.replace("_", "-")),
            kind=kind,
        )
        fill(row, label, about, facts)
        row.save(force_insert=True)
        add_line(row, Kind.ADDED, by=person, at=at, recorded_at=at)
    return row


def change_instrument(
    *,
    instrument_id: int,
    person: Person,
    label: str,
    about: Mapping[str, Any],
    facts: Mapping[str, Any],
    at: datetime,
) -> Instrument:
    """Change what the register says; the history keeps what it said before."""
    with one_transaction():
        row = _locked(instrument_id, person)
        _require_keeper(person)
        before = said(row)
        fill(row, label, about, facts)
        words = difference(before, said(row))
        if words:
            row.save()
            add_line(row, Kind.CHANGED, by=person, at=at, recorded_at=at, note=words)
    return row


def record_test(
    *,
    instrument_id: int,
    person: Person,
    kind: str,
    passed: bool,
    at: datetime,
    recorded_at: datetime,
    gas: str = "",
    place: str = "",
    failed_sensors: str = "",
    next_due: date | None = None,
    note: str = "",
) -> Tested:
    """Record a bump test, a calibration or a zero in fresh air.

    A bump test is logged as well in every open incident that has the instrument and in
    which the person may log it; the answer names those in which someone else has to.
    """
    if kind not in TESTS:
        raise refused("/kind", f"one of {', '.join(sorted(TESTS))}", kind)
    if at > recorded_at + CLOCK_SLACK:
        raise refused("/at", "a time that has passed", at.isoformat())
    with one_transaction():
        row = _locked(instrument_id, person)
        record = add_line(
            row,
            kind,
            by=person,
            at=at,
            recorded_at=recorded_at,
            passed=passed,
            gas=typed(gas, "/gas", longest=200, one_line=True),
            place=typed(place, "/place", longest=200, one_line=True),
            failed_sensors=typed(
                failed_sensors, "/failed_sensors", longest=200, one_line=True
            ),
            next_due=next_due,
            note=typed(note, "/note"),
        )
        if kind == Kind.CALIBRATION and passed and next_due is not None:
            known = loads(row.document) | {"calibration_due": next_due.isoformat()}
            row.document = dumps(known)
            row.save(update_fields=["document"])
        if kind != Kind.BUMP_TEST:
            return Tested(record=record)
        return _carried_into_incidents(row, record, person)


def strike_test(
    *, record_id: int, person: Person, reason: str, at: datetime
) -> InstrumentRecord:
    """Put a wrong test right by a line of its own, here and where it was logged."""
    why = typed(reason, "/reason", needed="what was wrong with it")
    with one_transaction():
        test = InstrumentRecord.objects.select_related("incident").get(pk=record_id)
        row = _locked(test.instrument_id, person)
        if test.incident is not None:
            raise NotAllowedError(
                f"This test stands in the log of {test.incident.name}: put it right there."
            )
        if test.kind not in TESTS:
            raise NotAllowedError("Only a test can be put right.")
        if not InstrumentRecord.objects.that_count().filter(pk=test.pk).exists():
            raise NotAllowedError("This test was put right already.")
        if test.by_id != person.pk:
            _require_keeper(person)
        struck = add_line(
            row,
            Kind.STRUCK,
            by=person,
            at=at,
            recorded_at=at,
            note=why,
            corrects=test,
        )
        _strike_in_incidents(test, person, why, at)
    return struck


def retire_instrument(
    *, instrument_id: int, person: Person, at: datetime, reason: str
) -> InstrumentRecord:
    """Take it out of service: it is not offered any more. Its history stays."""
    return _in_or_out(instrument_id, person, at, reason, Kind.RETIRED)


def return_instrument(
    *, instrument_id: int, person: Person, at: datetime, reason: str
) -> InstrumentRecord:
    return _in_or_out(instrument_id, person, at, reason, Kind.RETURNED)


def take_instruments(
    *, incident_id: UUID, person: Person, keys: Iterable[str], at: datetime
) -> Incident:
    """Set which instruments an open incident has along.

    What is listed stays as it was listed: a test since then counts by its entry in the
    log, so that no reading of before is trusted for a test of after. What the log names
    stays on the list.
    """
    incident = Incident.objects.get(pk=incident_id)
    permissions.require_command(person, incident)
    listed = {one["id"]: one for one in loads(incident.setup).get("instruments", ())}
    wanted = list(dict.fromkeys(keys))
    for key in listed.keys() - set(wanted):
        if _log_names(incident, key):
            label = _labels(incident).get(key, key)
            raise NotAllowedError(f"{label} stays on the list: the log names it.")
    offered = {
        row.key: row
        for row in Instrument.objects.with_tests()
        .in_service()
        .filter(agency=incident.agency_id, key__in=wanted)
    }
    now = [
        listed[key] if key in listed else kit.worksheet_object(offered[key])
        for key in wanted
        if key in listed or key in offered
    ]
    if [one["id"] for one in now] == list(listed):
        return incident
    return amend_setup(
        incident_id=incident_id,
        person=person,
        changes={"instruments": now},
        at=at,
        reason="Instruments taken along",
    )


# --- Into incidents ----------------------------------------------------------------------


def _carried_into_incidents(
    row: Instrument, record: InstrumentRecord, person: Person
) -> Tested:
    logged, waiting = [], []
    for incident in open_incidents_with(row):
        if not permissions.may_log(IncidentRole.of(person, incident), "bump_test"):
            waiting.append(incident.name)
            continue
        zone = ZoneInfo(row.agency.time_zone)
        body = {
            "kind": "bump_test",
            "at": record.at.astimezone(zone).isoformat(),
            "instrument": row.key,
            "passed": bool(record.passed),
            "note": _note_of(record),
        }
        append_entry(
            incident_id=incident.pk,
            person=person,
            body={key: value for key, value in body.items() if value != ""},
            client_uuid=kit.entry_uuid(record.uuid, incident.pk),
            recorded_at=record.recorded_at,
        )
        logged.append(incident.name)
    return Tested(record=record, logged_in=tuple(logged), not_logged_in=tuple(waiting))


def _note_of(record: InstrumentRecord) -> str:
    failed = record.failed_sensors and f"failed: {record.failed_sensors}"
    return "; ".join(filter(None, (record.gas, failed, record.note)))


def _strike_in_incidents(
    test: InstrumentRecord, person: Person, reason: str, at: datetime
) -> None:
    row = test.instrument
    for incident in open_incidents_with(row):
        logged = incident.entries.filter(
            client_uuid=kit.entry_uuid(test.uuid, incident.pk)
        ).first()
        if logged is None or not IncidentRole.of(person, incident):
            continue
        append_entry(
            incident_id=incident.pk,
            person=person,
            body={"kind": "strike", "entry": logged.key, "reason": reason},
            client_uuid=kit.entry_uuid(test.uuid, logged.client_uuid),
            recorded_at=at,
        )


def open_incidents_with(row: Instrument) -> list[Incident]:
    """The open incidents of the agency that list the instrument; drills are none."""
    real = Incident.objects.real().filter(agency=row.agency_id)
    open_ones = real.filter(closed_at__isnull=True, setup__contains=row.key).order_by(
        "opened_at", "pk"
    )
    return [one for one in open_ones if row.key in _listed(one)]


def _listed(incident: Incident) -> set[str]:
    return {one["id"] for one in loads(incident.setup).get("instruments", ())}


def _log_names(incident: Incident, key: str) -> bool:
    rows = incident.entries.exclude(kind__in=APP_KINDS).filter(body__contains=key)
    bodies = rows.values_list("body", flat=True)
    return any(loads(body).get("instrument") == key for body in bodies)


def _labels(incident: Incident) -> dict[str, str]:
    rows = Instrument.objects.filter(agency=incident.agency_id)
    return dict(rows.values_list("key", "label"))


def _in_or_out(
    instrument_id: int, person: Person, at: datetime, reason: str, kind: str
) -> InstrumentRecord:
    why = typed(reason, "/reason", needed="a reason")
    with one_transaction():
        row = _locked(instrument_id, person)
        _require_keeper(person)
        out = kind == Kind.RETIRED
        if out == (row.retired_at is not None):
            state = "out of service" if out else "in service"
            raise NotAllowedError(f"{row.label} is {state} already.")
        row.retired_at = at if out else None
        row.save(update_fields=["retired_at"])
        return add_line(row, kind, by=person, at=at, recorded_at=at, note=why)


def _locked(instrument_id: int, person: Person) -> Instrument:
    row = (
        Instrument.objects.select_for_update(of=("self",))
        .select_related("agency")
        .get(pk=instrument_id)
    )
    if not permissions.may_test(person) or person.agency_id != row.agency_id:
        raise NotAllowedError("This instrument is not in your agency's register.")
    return row


def _require_keeper(person: Person) -> None:
    if not permissions.may_keep_register(person):
        raise NotAllowedError("The register is kept by those who may open an incident.")
