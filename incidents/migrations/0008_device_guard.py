"""Let the database keep what a phone handed over, and what was said of the phone.

What was sent is never changed or deleted. A held entry takes one decision, a phone is
joined once and revoked once; none of it is taken back. When a phone was last heard of is
no part of the record and moves on.
"""

import importlib

from django.db import migrations

guards = importlib.import_module(
    "incidents.migrations.0002_refuse_changes_to_the_record"
)
DEVICES = "incidents_device"
SENT = "incidents_deviceentry"
# No statement sets these again.
FIXED = {
    DEVICES: (
        "id, incident_id, team_key, name, offered_by_id, offered_at, join_hash, "
        "join_until, expires_at"
    ),
    SENT: "id, device_id, counter, client_uuid, sent, received_at, held_because",
}
# Here once something stands, what a statement would make of it is refused.
ONCE = {
    DEVICES: (
        ("joined_again", "joined_at, token_hash", "OLD.joined_at IS NOT NULL"),
        ("revoked_again", "revoked_at, revoked_by_id", "OLD.revoked_at IS NOT NULL"),
    ),
    SENT: (
        (
            "decided_again",
            "entry_id, decision, decided_at, decided_by_id, decision_reason",
            "OLD.decision <> 'waiting'",
        ),
    ),
}


def _once(connection, table, name, columns, stands):
    head = f"CREATE TRIGGER {table}_no_{name} BEFORE UPDATE OF {columns} ON {table} "
    if connection.vendor == "postgresql":
        return (
            f"{head} FOR EACH ROW WHEN ({stands}) "
            "EXECUTE FUNCTION incidents_refuse_change()"
        )
    return (
        f"{head} FOR EACH ROW WHEN {stands} "
        f"BEGIN SELECT RAISE(ABORT, '{table} takes no update'); END"
    )


def install(connection):
    """Create every trigger of these tables; the tests call it too."""
    on_postgresql = connection.vendor == "postgresql"
    make = guards._postgresql if on_postgresql else guards._sqlite
    with connection.cursor() as cursor:
        for table in (SENT, DEVICES):
            cursor.execute(make(table, "update", f"UPDATE OF {FIXED[table]}"))
            cursor.execute(make(table, "delete", "DELETE"))
            if on_postgresql:
                cursor.execute(make(table, "truncate", "TRUNCATE", "STATEMENT"))
            for once in ONCE[table]:
                cursor.execute(_once(connection, table, *once))


def remove(connection):
    """Drop every one of them."""
    guards.lift(connection, (SENT, DEVICES))
    with connection.cursor() as cursor:
        for table, kept in ONCE.items():
            on = f" ON {table}" if connection.vendor == "postgresql" else ""
            for name, *_ in kept:
                cursor.execute(f"DROP TRIGGER IF EXISTS {table}_no_{name}{on}")


def guard(apps, schema_editor):
    install(schema_editor.connection)


def lift(apps, schema_editor):
    remove(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [("incidents", "0007_sheet")]
    operations = [migrations.RunPython(guard, lift)]
