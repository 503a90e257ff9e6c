"""The database itself refuses to change what was recorded."""

import uuid

import pytest
from django.db import DatabaseError, connection, transaction
from django.utils import timezone

from incidents.models import (
    FindingEvent,
    LogEntry,
    Photo,
    Report,
    SopProfile,
    SopWithdrawal,
    StoredFinding,
)
from tests.factories import (
    START,
    SopProfileFactory,
    acid,
    log,
    open_incident,
)

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


@pytest.fixture
def incident():
    incident = open_incident()
    log(incident, acid(START))
    incident.refresh_from_db()
    profile = SopProfileFactory.create(agency=incident.agency)
    SopWithdrawal.objects.create(
        profile=profile,
        at=START,
        by=incident.opened_by,
        by_name="A. Alder",
        reason="Replaced",
    )
    Photo.objects.create(
        incident=incident,
        sha256="0" * 64,
        media_type="image/jpeg",
        content=b"photo",
        received_at=START,
        added_by=incident.opened_by,
    )
    Report.objects.create(
        incident=incident,
        created_at=timezone.now(),
        created_by=incident.opened_by,
        pdf=b"%PDF",
        sha256="0" * 64,
        head_seq=incident.head_seq,
        head_hash=incident.head_hash,
        certificate_fingerprint="0" * 64,
    )
    return incident


def refused(sql):
    with (
        pytest.raises(DatabaseError, match="takes no"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(sql)


@pytest.mark.usefixtures("incident")
@pytest.mark.parametrize(
    ("model", "column"),
    [
        (LogEntry, "body"),
        (LogEntry, "seq"),
        (LogEntry, "recorded_at"),
        (FindingEvent, "note"),
        (Photo, "content"),
        (Photo, "sha256"),
        (Report, "pdf"),
        (SopProfile, "document"),
        (SopProfile, "effective_on"),
        (SopProfile, "reasons"),
        (SopWithdrawal, "reason"),
        (StoredFinding, "because"),
        (StoredFinding, "action"),
        (StoredFinding, "subject"),
    ],
)
def test_no_statement_changes_a_record(model, column):
    table = model._meta.db_table
    before = list(model.objects.order_by("pk").values_list())
    assert before

    refused(f"UPDATE {table} SET {column} = {column}")

    assert list(model.objects.order_by("pk").values_list()) == before


@pytest.mark.django_db(transaction=True)
@pytest.mark.usefixtures("incident")
@pytest.mark.parametrize(
    "model",
    [LogEntry, FindingEvent, Report, SopProfile, SopWithdrawal, StoredFinding],
)
def test_no_statement_deletes_a_record(model):
    before = model.objects.count()
    assert before > 0

    refused(f"DELETE FROM {model._meta.db_table}")
    if connection.vendor == "postgresql":
        refused(f"TRUNCATE {model._meta.db_table} CASCADE")

    assert model.objects.count() == before


def test_the_models_are_refused_as_well(incident):
    entry = incident.entries.get(seq=2)
    entry.body = "{}"

    with pytest.raises(DatabaseError, match="takes no update"), transaction.atomic():
        entry.save()
    with pytest.raises(DatabaseError, match="takes no"), transaction.atomic():
        LogEntry.objects.filter(pk=entry.pk)._raw_delete("default")

    assert incident.entries.get(seq=2).body != "{}"


def test_every_column_of_a_finding_but_its_superseding_is_guarded():
    columns = {field.column for field in StoredFinding._meta.concrete_fields}
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(
                "SELECT event_object_column FROM information_schema.triggered_update_columns "
                "WHERE trigger_name = 'incidents_storedfinding_no_update'"
            )
            guarded = {name for (name,) in cursor.fetchall()}
        else:
            cursor.execute(
                "SELECT sql FROM sqlite_master "
                "WHERE name = 'incidents_storedfinding_no_update'"
            )
            listed = cursor.fetchone()[0].split("UPDATE OF")[1].split(" ON ")[0]
            guarded = {name.strip() for name in listed.split(",")}

    assert columns - guarded == {"superseded"}


def test_a_fork_of_the_chain_is_refused(incident):
    entry = incident.entries.get(seq=2)

    with pytest.raises(DatabaseError), transaction.atomic():
        LogEntry.objects.create(
            incident=incident,
            seq=99,
            client_uuid=uuid.uuid4(),
            kind="par",
            body="{}",
            observed_at=START,
            recorded_at=START,
            author=incident.opened_by,
            author_name="x",
            prev_hash=entry.prev_hash,
            hash="1" * 64,
            canonical=b"",
        )


@pytest.mark.parametrize("what", ["agency", "opened_by"])
def test_what_the_record_names_cannot_be_deleted(incident, what):
    with pytest.raises(DatabaseError), transaction.atomic():
        getattr(incident, what).delete()
