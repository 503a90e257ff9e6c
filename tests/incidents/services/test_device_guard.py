"""The database keeps what a phone sent: no statement changes or deletes it unseen."""

import uuid
from datetime import timedelta

import pytest
from django.db import DatabaseError, connection, transaction

from incidents.models import Device, DeviceEntry
from incidents.services import devices
from incidents.services.devices import Sent
from tests.factories import START, acid, minutes, open_incident

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]
SENT, DEVICES = DeviceEntry._meta.db_table, Device._meta.db_table


def sent(counter, at):
    return Sent(
        client_uuid=uuid.uuid4(),
        counter=counter,
        observed_at=at,
        clock_moved=timedelta(0),
        body=acid(at),
        raw={},
    )


@pytest.fixture
def device():
    """A phone that joined, sent one entry that was logged, and one that is held."""
    incident = open_incident()
    _, secret = devices.offer_device(
        incident_id=incident.pk,
        person=incident.opened_by,
        team="entry-1",
        name="Alder's phone",
        at=START,
    )
    device, _ = devices.join_device(secret=secret, at=START)
    for counter, at in ((1, minutes(1)), (2, minutes(60))):
        devices.take_from_device(
            device=device, sent=sent(counter, at), received_at=minutes(2)
        )
    return device


def decide(device, take):
    return devices.decide_held(
        held_id=device.entries.get(counter=2).pk,
        person=device.offered_by,
        take=take,
        reason="Said by radio as well",
        at=minutes(61),
    )


def must_be_refused(sql):
    before = [list(model.objects.values_list()) for model in (Device, DeviceEntry)]
    with (
        pytest.raises(DatabaseError, match="takes no"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(sql)
    after = [list(model.objects.values_list()) for model in (Device, DeviceEntry)]
    assert after == before


def test_the_held_one_is_held_and_the_other_logged(device):
    assert [bool(row.held_because) for row in device.entries.all()] == [False, True]


@pytest.mark.usefixtures("device")
@pytest.mark.parametrize("where", ["", " WHERE decision = 'waiting'"])
@pytest.mark.parametrize(
    "column", ["sent", "counter", "client_uuid", "received_at", "held_because"]
)
def test_what_was_sent_is_not_changed_held_or_not(column, where):
    must_be_refused(f"UPDATE {SENT} SET {column} = {column}{where}")


@pytest.mark.usefixtures("device")
@pytest.mark.parametrize("column", ["decision", "entry_id", "decision_reason"])
def test_what_went_into_the_log_by_itself_is_not_made_into_something_else(column):
    must_be_refused(f"UPDATE {SENT} SET {column} = {column} WHERE counter = 1")


@pytest.mark.parametrize("take", [True, False])
def test_a_decision_is_taken_once(device, take):
    decide(device, take)

    must_be_refused(f"UPDATE {SENT} SET decision = 'waiting' WHERE counter = 2")
    must_be_refused(f"UPDATE {SENT} SET decision_reason = '' WHERE counter = 2")
    must_be_refused(f"UPDATE {SENT} SET decided_by_id = NULL WHERE counter = 2")


@pytest.mark.usefixtures("device")
@pytest.mark.parametrize(
    "column", ["name", "team_key", "offered_by_id", "join_hash", "expires_at"]
)
def test_whose_phone_it_is_and_how_long_is_not_changed(column):
    must_be_refused(f"UPDATE {DEVICES} SET {column} = {column}")


@pytest.mark.usefixtures("device")
def test_a_phone_is_not_joined_a_second_time():
    must_be_refused(f"UPDATE {DEVICES} SET token_hash = 'another'")
    must_be_refused(f"UPDATE {DEVICES} SET joined_at = NULL")


def test_a_revoked_phone_stays_revoked(device):
    devices.revoke_device(
        incident_id=device.incident_id,
        person=device.offered_by,
        device_id=device.pk,
        at=minutes(3),
    )

    must_be_refused(f"UPDATE {DEVICES} SET revoked_at = NULL, revoked_by_id = NULL")


def test_when_it_was_last_heard_of_goes_on(device):
    devices.note_seen(device=device, at=minutes(9), sent_at=minutes(8))

    device.refresh_from_db()
    assert device.seen_at == minutes(9)
    assert device.clock_ahead_ms == -60_000


@pytest.mark.django_db(transaction=True)
@pytest.mark.usefixtures("device")
@pytest.mark.parametrize("table", [SENT, DEVICES])
def test_nothing_of_it_is_deleted(table):
    must_be_refused(f"DELETE FROM {table}")
    if connection.vendor == "postgresql":
        must_be_refused(f"TRUNCATE {table} CASCADE")


def test_every_column_is_guarded_but_what_says_when_it_was_heard_of():
    guarded = {SENT: set(), DEVICES: set()}
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(
                "SELECT event_object_table, event_object_column "
                "FROM information_schema.triggered_update_columns"
            )
            for table, column in cursor.fetchall():
                guarded.get(table, set()).add(column)
        else:
            cursor.execute(
                "SELECT tbl_name, sql FROM sqlite_master WHERE type='trigger'"
            )
            for table, sql in cursor.fetchall():
                if "UPDATE OF" in sql and table in guarded:
                    listed = sql.split("UPDATE OF")[1].split(" ON ")[0]
                    guarded[table] |= {name.strip() for name in listed.split(",")}

    columns = {
        model._meta.db_table: {each.column for each in model._meta.concrete_fields}
        for model in (Device, DeviceEntry)
    }
    assert columns[SENT] - guarded[SENT] == set()
    assert columns[DEVICES] - guarded[DEVICES] == {"seen_at", "clock_ahead_ms"}
