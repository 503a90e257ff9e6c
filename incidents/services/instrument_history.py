"""Lines of an instrument's history; those that a log brings are made here."""

from datetime import datetime
from typing import Any

from incidents.kit import entry_uuid
from incidents.models import Incident, Instrument, InstrumentRecord, LogEntry, Person
from screening.readings import BumpTest, Entry, Strike

Kind = InstrumentRecord.Kind


def add_line(
    instrument: Instrument,
    kind: str,
    *,
    by: Person,
    at: datetime,
    recorded_at: datetime,
    **given: Any,
) -> InstrumentRecord:
    return InstrumentRecord.objects.create(
        instrument=instrument,
        kind=kind,
        at=at,
        recorded_at=recorded_at,
        by=by,
        by_name=by.shown_name,
        **given,
    )


def follow_log(
    incident: Incident, row: LogEntry, entry: Entry, by: Person, struck: frozenset[str]
) -> None:
    """Carry a bump test of the log into the register, and its being struck.

    `struck` holds the ids of the entries that do not count any more. A drill's bump tests
    say nothing of a real instrument.
    """
    if incident.is_drill:
        return
    if isinstance(entry, BumpTest):
        _note_test(incident, row, entry, by)
    if isinstance(entry, Strike):
        _note_strikes(incident, row, entry, by, struck)


def _note_test(incident: Incident, row: LogEntry, entry: BumpTest, by: Person) -> None:
    instrument = Instrument.objects.filter(
        agency=incident.agency_id, key=entry.instrument
    ).first()
    if instrument is None:
        return
    same_time = instrument.records.filter(kind=Kind.BUMP_TEST, at=row.observed_at)
    for known in same_time:
        if entry_uuid(known.uuid, incident.pk) == row.client_uuid:
            return  # it came from the register
    add_line(
        instrument,
        Kind.BUMP_TEST,
        by=by,
        at=row.observed_at,
        recorded_at=row.recorded_at,
        passed=entry.passed,
        note=entry.note,
        incident=incident,
        entry=row,
    )


def _note_strikes(
    incident: Incident, row: LogEntry, entry: Strike, by: Person, struck: frozenset[str]
) -> None:
    tests = InstrumentRecord.objects.filter(
        incident=incident, kind=Kind.BUMP_TEST
    ).select_related("entry", "instrument")
    counting = set(tests.that_count().values_list("pk", flat=True))
    for test in tests:
        assert test.entry is not None
        counts = test.entry.key not in struck
        if counts == (test.pk in counting):
            continue
        add_line(
            test.instrument,
            Kind.RESTORED if counts else Kind.STRUCK,
            by=by,
            at=row.observed_at,
            recorded_at=row.recorded_at,
            note=entry.reason,
            corrects=test,
        )
