"""The register of instruments: what is known of each, its tests, and its way into incidents."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from incidents import engine, services
from incidents.documents import loads
from incidents.kit import worksheet_object
from incidents.models import Incident, Instrument, InstrumentRecord, LogEntry
from incidents.selectors.instruments import register
from incidents.services.rebuilding import rebuild
from screening.assess import assess
from tests.factories import (
    START,
    AgencyFactory,
    PersonFactory,
    entry,
    join,
    log,
    meter,
    minutes,
    open_incident,
    register_meter,
    register_paper,
)

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

# START is 13:00 in the agency's zone.
MORNING = START - timedelta(hours=5)


@pytest.fixture
def keeper():
    return PersonFactory.create()


def bumped(instrument, person, *, passed=True, at=MORNING, kind="bump_test", **given):
    return services.record_test(
        instrument_id=instrument.pk,
        person=person,
        kind=kind,
        passed=passed,
        at=at,
        recorded_at=at,
        **given,
    )


def row_of(instrument, at=START):
    return next(
        row for row in register(instrument.agency, at) if row.instrument == instrument
    )


def taken(*instruments, at=START, person=None):
    """An incident that took these along."""
    person = person or PersonFactory.create(agency=instruments[0].agency)
    rows = Instrument.objects.with_tests().filter(
        pk__in=[one.pk for one in instruments]
    )
    return open_incident(
        person=person, at=at, instruments=[worksheet_object(row) for row in rows]
    )


def flammable(incident, at):
    now = engine.live(incident)
    rows = assess(now.state, now.context, at).teams[0].coverage
    return next(row.status for row in rows if row.hazard == "flammable_atmosphere")


def test_what_is_registered_is_kept_with_who_added_it(keeper):
    instrument = register_meter(
        keeper,
        serial="GM-0042",
        sensors=["lel", "oxygen"],
        correction_factors={"pentane": "2.0"},
        lel_basis="methane",
    )

    instrument.refresh_from_db()
    assert (instrument.key, instrument.serial) == ("four-gas-meter-1", "GM-0042")
    assert instrument.daily_test
    assert loads(instrument.document)["correction_factors"] == {"pentane": 2}
    assert [(r.kind, r.by_name) for r in instrument.records.all()] == [
        ("added", keeper.shown_name)
    ]


def test_two_of_one_name_get_keys_of_their_own(keeper):
    first, second = register_meter(keeper), register_meter(keeper)

    assert (first.key, second.key) == ("four-gas-meter-1", "four-gas-meter-1-2")


def test_what_the_engine_cannot_read_is_refused_and_nothing_is_stored(keeper):
    with pytest.raises(services.EntryRefusedError) as refusal:
        register_meter(keeper, correction_factors={"pentane": "-2"})

    assert "correction_factors" in refusal.value.errors[0].pointer
    assert not Instrument.objects.exists()


@pytest.mark.parametrize(
    "person",
    [
        pytest.param({"may_open": False}, id="who may not open an incident"),
        pytest.param({"agency": None}, id="of no agency"),
    ],
)
def test_the_register_is_kept_by_those_who_may_open_an_incident(person):
    with pytest.raises(services.NotAllowedError):
        register_meter(PersonFactory.create(**person))


def test_another_agency_neither_tests_nor_changes_it(keeper):
    instrument = register_meter(keeper)
    stranger = PersonFactory.create(agency=AgencyFactory.create())

    with pytest.raises(services.NotAllowedError):
        bumped(instrument, stranger)
    with pytest.raises(services.NotAllowedError):
        services.retire_instrument(
            instrument_id=instrument.pk, person=stranger, at=START, reason="Lost"
        )

    assert instrument.records.count() == 1


def test_a_change_is_a_line_of_the_history_that_says_what_was_before(keeper):
    instrument = register_meter(keeper, lel_basis="methane")

    services.change_instrument(
        instrument_id=instrument.pk,
        person=keeper,
        label="Four-gas meter 1",
        about={"serial": "GM-0042"},
        facts={"sensors": ["lel"], "lel_basis": "pentane"},
        at=START,
    )

    instrument.refresh_from_db()
    change = instrument.records.get(kind="changed")
    assert "lel basis: methane, now pentane" in change.note
    assert "serial number: none, now GM-0042" in change.note
    assert loads(instrument.document)["lel_basis"] == "pentane"


@pytest.mark.parametrize(
    ("tests", "words"),
    [
        pytest.param([], "no passed bump test of the day", id="never"),
        pytest.param([(True, MORNING)], "", id="this morning"),
        pytest.param(
            [(True, MORNING - timedelta(days=1))], "no passed bump test", id="yesterday"
        ),
        pytest.param(
            [(True, MORNING), (False, MORNING + timedelta(hours=1))],
            "no passed bump test", id="failed since",
        ),
        pytest.param(
            [(False, MORNING), (True, MORNING + timedelta(hours=1))], "",
            id="passed after a failure",
        ),
        pytest.param(
            [(True, MORNING), (False, MORNING)], "no passed bump test",
            id="both at one moment: the safer",
        ),
    ],
)  # fmt: skip
def test_a_gas_meter_asks_for_a_passed_bump_test_of_the_day(keeper, tests, words):
    instrument = register_meter(keeper)
    for passed, at in tests:
        bumped(instrument, keeper, passed=passed, at=at)

    doubt = row_of(instrument).doubt

    assert words in doubt
    assert bool(words) == bool(doubt)


def test_a_calibration_moves_the_day_that_the_next_is_due(keeper):
    instrument = register_meter(keeper, calibration_due="2026-03-01")
    bumped(instrument, keeper)
    assert "overdue for calibration" in row_of(instrument).doubt

    bumped(instrument, keeper, kind="calibration", next_due=date(2026, 9, 1))

    assert row_of(instrument).doubt == ""
    instrument.refresh_from_db()
    assert loads(instrument.document)["calibration_due"] == "2026-09-01"


def test_a_failed_calibration_stands_until_one_passes(keeper):
    instrument = register_meter(keeper)
    bumped(instrument, keeper, kind="calibration", passed=False)
    bumped(instrument, keeper, at=MORNING + timedelta(minutes=5))
    assert row_of(instrument).doubt

    bumped(
        instrument,
        keeper,
        kind="calibration",
        at=MORNING + timedelta(minutes=10),
        next_due=date(2026, 9, 1),
    )

    assert row_of(instrument).doubt == ""


def test_a_lot_of_papers_expires(keeper):
    fresh = register_paper(keeper, expires="2026-03-04")
    old = register_paper(keeper, expires="2026-03-03")

    assert row_of(fresh).doubt == ""
    assert "the lot of" in row_of(old).doubt


def test_a_test_of_tomorrow_is_refused(keeper):
    instrument = register_meter(keeper)

    with pytest.raises(services.EntryRefusedError, match="a time that has passed"):
        services.record_test(
            instrument_id=instrument.pk,
            person=keeper,
            kind="bump_test",
            passed=True,
            at=START + timedelta(days=1),
            recorded_at=START,
        )


def test_a_test_logged_by_mistake_is_put_right_by_a_line_of_its_own(keeper):
    instrument = register_meter(keeper)
    test = bumped(instrument, keeper).record

    services.strike_test(
        record_id=test.pk, person=keeper, reason="It was meter 2", at=START
    )

    assert "no passed bump test" in row_of(instrument).doubt
    assert InstrumentRecord.objects.filter(pk=test.pk, passed=True).exists()
    struck = test.corrections.get()
    assert (struck.kind, struck.note) == ("struck", "It was meter 2")
    with pytest.raises(services.NotAllowedError, match="already"):
        services.strike_test(record_id=test.pk, person=keeper, reason="x", at=START)


def test_an_instrument_out_of_service_is_not_offered_and_comes_back(keeper):
    instrument = register_meter(keeper)

    services.retire_instrument(
        instrument_id=instrument.pk, person=keeper, at=START, reason="Pump broken"
    )
    assert not Instrument.objects.in_service().exists()

    services.return_instrument(
        instrument_id=instrument.pk, person=keeper, at=START, reason="Repaired"
    )
    assert Instrument.objects.in_service().exists()
    assert [r.kind for r in instrument.records.order_by("pk")] == [
        "added", "retired", "returned",
    ]  # fmt: skip


# --- into incidents ------------------------------------------------------------------


def test_a_bump_test_of_the_morning_counts_in_an_incident_opened_later(keeper):
    instrument = register_meter(keeper)
    bumped(instrument, keeper)
    incident = taken(instrument)

    log(incident, meter(minutes(1), instrument=instrument.key))

    incident.refresh_from_db()
    assert flammable(incident, minutes(1)) == "not_found"


@pytest.mark.parametrize(
    "history",
    [
        pytest.param([], id="never tested"),
        pytest.param([(True, MORNING - timedelta(days=1))], id="tested yesterday"),
        pytest.param(
            [(True, MORNING), (False, MORNING + timedelta(hours=1))], id="failed since"
        ),
    ],
)
def test_an_instrument_out_of_date_cannot_tell_in_the_incident(keeper, history):
    instrument = register_meter(keeper)
    for passed, at in history:
        bumped(instrument, keeper, passed=passed, at=at)
    incident = taken(instrument)

    log(incident, meter(minutes(1), instrument=instrument.key))

    incident.refresh_from_db()
    assert flammable(incident, minutes(1)) == "cannot_tell"


def test_a_bump_test_of_an_incident_flows_back_to_the_register(keeper):
    instrument = register_meter(keeper)
    incident = taken(instrument)

    appended = log(
        incident,
        entry(
            "bump_test",
            minutes(1),
            instrument=instrument.key,
            passed=True,
            note="50 % methane",
        ),
    )

    test = instrument.records.get(kind="bump_test")
    assert (test.passed, test.at, test.entry) == (True, minutes(1), appended.entry)
    assert (test.incident, test.by) == (incident, incident.opened_by)
    assert test.note == "50 % methane"
    assert row_of(instrument, minutes(2)).doubt == ""


def test_a_repeat_of_the_same_entry_is_one_test(keeper):
    instrument = register_meter(keeper)
    incident = taken(instrument)
    body = entry("bump_test", minutes(1), instrument=instrument.key, passed=True)
    first = log(incident, body)

    log(incident, body, client_uuid=first.entry.client_uuid)

    assert instrument.records.filter(kind="bump_test").count() == 1


def test_a_bump_test_struck_in_the_log_counts_no_more_in_the_register(keeper):
    instrument = register_meter(keeper)
    incident = taken(instrument)
    test = log(
        incident,
        entry("bump_test", minutes(1), instrument=instrument.key, passed=True),
    )
    struck = log(
        incident,
        entry("strike", minutes(2), entry=test.entry.key, reason="Another meter"),
    )
    assert row_of(instrument, minutes(3)).doubt

    log(
        incident,
        entry("strike", minutes(4), entry=struck.entry.key, reason="It was this one"),
    )

    assert row_of(instrument, minutes(5)).doubt == ""
    kinds = instrument.records.order_by("pk").values_list("kind", flat=True)
    assert list(kinds) == ["added", "bump_test", "struck", "restored"]


def test_a_test_of_an_incident_is_put_right_there_and_not_in_the_register(keeper):
    instrument = register_meter(keeper)
    incident = taken(instrument)
    log(
        incident,
        entry("bump_test", minutes(1), instrument=instrument.key, passed=True),
    )
    test = instrument.records.get(kind="bump_test")

    with pytest.raises(services.NotAllowedError, match=incident.name):
        services.strike_test(
            record_id=test.pk, person=keeper, reason="x", at=minutes(2)
        )


def test_a_bump_test_of_what_is_not_registered_stays_in_the_log(keeper):
    incident = open_incident(
        person=keeper, instruments=[{"id": "meter-9", "kind": "gas_meter"}]
    )

    log(incident, entry("bump_test", minutes(1), instrument="meter-9", passed=True))

    assert not InstrumentRecord.objects.exists()


def test_an_instrument_of_another_agency_with_the_same_key_is_left_alone(keeper):
    theirs = register_meter(PersonFactory.create())
    ours = register_meter(keeper)
    assert theirs.key == ours.key
    incident = taken(ours)

    log(incident, entry("bump_test", minutes(1), instrument=ours.key, passed=False))

    assert ours.records.filter(kind="bump_test").count() == 1
    assert not theirs.records.filter(kind="bump_test").exists()


def test_a_test_in_the_register_is_logged_in_each_open_incident_that_has_it(keeper):
    instrument = register_meter(keeper)
    bumped(instrument, keeper)
    incident = taken(instrument, person=keeper)
    closed = taken(instrument, person=keeper)
    services.close_incident(incident_id=closed.pk, person=keeper, at=minutes(1))
    log(incident, meter(minutes(1), instrument=instrument.key))
    incident.refresh_from_db()
    assert flammable(incident, minutes(1)) == "not_found"

    result = bumped(instrument, keeper, passed=False, at=minutes(2), note="Reads 31")

    incident.refresh_from_db()
    assert flammable(incident, minutes(2)) == "cannot_tell"
    assert result.logged_in == (incident.name,)
    assert LogEntry.objects.filter(kind="bump_test", incident=incident).count() == 1
    assert not LogEntry.objects.filter(kind="bump_test", incident=closed).exists()
    assert instrument.records.filter(kind="bump_test", passed=False).count() == 1


def test_where_the_tester_has_no_part_the_test_waits_to_be_logged(keeper):
    instrument = register_meter(keeper)
    bumped(instrument, keeper)
    incident = taken(instrument)
    other = PersonFactory.create(agency=keeper.agency)

    result = bumped(instrument, other, passed=False, at=minutes(2))

    assert result.logged_in == ()
    assert result.not_logged_in == (incident.name,)
    assert not LogEntry.objects.filter(kind="bump_test", incident=incident).exists()


def test_striking_a_test_of_the_register_strikes_it_where_it_was_logged(keeper):
    instrument = register_meter(keeper)
    bumped(instrument, keeper)
    incident = taken(instrument, person=keeper)
    log(incident, meter(minutes(1), instrument=instrument.key))
    wrong = bumped(instrument, keeper, passed=False, at=minutes(2)).record

    services.strike_test(
        record_id=wrong.pk, person=keeper, reason="Meter 2", at=minutes(3)
    )

    incident.refresh_from_db()
    assert flammable(incident, minutes(3)) == "not_found"
    assert row_of(instrument, minutes(3)).doubt == ""


def test_instruments_added_to_an_incident_come_as_the_register_has_them(keeper):
    instrument = register_meter(keeper)
    bumped(instrument, keeper)
    incident = open_incident(person=keeper)

    services.take_instruments(
        incident_id=incident.pk, person=keeper, keys=[instrument.key], at=minutes(1)
    )

    incident.refresh_from_db()
    listed = loads(incident.setup)["instruments"]
    assert [one["id"] for one in listed] == [instrument.key]
    assert listed[0]["last_bump_test"]


def test_what_was_listed_stays_as_it_was_when_another_is_added(keeper):
    first, second = register_meter(keeper), register_meter(keeper)
    incident = taken(first, person=keeper)
    before = loads(incident.setup)["instruments"][0]
    bumped(first, PersonFactory.create(agency=keeper.agency), at=minutes(1))

    services.take_instruments(
        incident_id=incident.pk,
        person=keeper,
        keys=[first.key, second.key],
        at=minutes(2),
    )

    incident.refresh_from_db()
    assert loads(incident.setup)["instruments"][0] == before


def test_an_instrument_that_the_log_names_is_not_taken_off_the_list(keeper):
    instrument = register_meter(keeper)
    incident = taken(instrument, person=keeper)
    log(incident, meter(minutes(1), instrument=instrument.key))

    with pytest.raises(services.NotAllowedError, match=instrument.label):
        services.take_instruments(
            incident_id=incident.pk, person=keeper, keys=[], at=minutes(2)
        )


def test_a_technician_does_not_choose_the_instruments(keeper):
    instrument = register_meter(keeper)
    incident = open_incident(person=keeper)
    technician = join(incident, "technician")

    with pytest.raises(services.NotAllowedError):
        services.take_instruments(
            incident_id=incident.pk,
            person=technician,
            keys=[instrument.key],
            at=timezone.now(),
        )


def test_the_log_keeps_what_the_register_called_an_instrument(keeper):
    first = register_meter(keeper, label="Four-gas 7")
    second = register_meter(keeper, label="Four-gas 9")
    incident = taken(first, person=keeper)
    assert engine.live(incident).context.instrument_name(first.key) == "Four-gas 7"

    services.take_instruments(
        incident_id=incident.pk,
        person=keeper,
        keys=[first.key, second.key],
        at=minutes(1),
    )

    context = engine.live(Incident.objects.get(pk=incident.pk)).context
    assert context.instrument_name(second.key) == "Four-gas 9"
    assert context.names["entry-1"] == "Entry team 1"
    assert not rebuild(incident_id=incident.pk)
