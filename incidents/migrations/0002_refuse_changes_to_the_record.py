"""Let the database itself refuse to change or delete what was recorded.

A trigger guards against the program's own mistakes and against a stray statement. It is
no wall against the owner of the database, who can drop it: that is what the hash chain,
and the head printed in every report, are for.
"""

from django.db import migrations

APPEND_ONLY = (
    "incidents_logentry",
    "incidents_findingevent",
    "incidents_report",
    "incidents_sopprofile",
)
# Here `superseded` may be set, and nothing else may change.
FINDINGS = "incidents_storedfinding"
FINDING_COLUMNS = (
    "id, incident_id, entry_id, team_key, rule, number, hazard, place, action, because, "
    "advice, source, late, created_at"
)


def _sqlite(table, name, event):
    return (
        f"CREATE TRIGGER {table}_no_{name} BEFORE {event} ON {table} "
        f"BEGIN SELECT RAISE(ABORT, '{table} takes no {name}'); END"
    )


def _postgresql(table, name, event, each="ROW"):
    return (
        f"CREATE TRIGGER {table}_no_{name} BEFORE {event} ON {table} "
        f"FOR EACH {each} EXECUTE FUNCTION incidents_refuse_change()"
    )


POSTGRESQL_FUNCTION = """
CREATE OR REPLACE FUNCTION incidents_refuse_change() RETURNS trigger
LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '% takes no %', TG_TABLE_NAME, lower(TG_OP)
        USING ERRCODE = 'integrity_constraint_violation';
END
$$
"""


def guard(connection, tables):
    """Let these tables take rows and nothing else; later migrations call it too."""
    on_postgresql = connection.vendor == "postgresql"
    make = _postgresql if on_postgresql else _sqlite
    with connection.cursor() as cursor:
        for table in tables:
            for name, event in (("update", "UPDATE"), ("delete", "DELETE")):
                cursor.execute(make(table, name, event))
            if on_postgresql:
                cursor.execute(_postgresql(table, "truncate", "TRUNCATE", "STATEMENT"))


def lift(connection, tables):
    """Drop what `guard` made."""
    with connection.cursor() as cursor:
        for table in tables:
            on = f" ON {table}" if connection.vendor == "postgresql" else ""
            for name in ("update", "delete", "truncate"):
                cursor.execute(f"DROP TRIGGER IF EXISTS {table}_no_{name}{on}")


def guard_findings(connection, columns):
    """Of a finding only `superseded` may be set; it is never deleted."""
    make = _postgresql if connection.vendor == "postgresql" else _sqlite
    with connection.cursor() as cursor:
        cursor.execute(make(FINDINGS, "update", f"UPDATE OF {columns}"))
        cursor.execute(make(FINDINGS, "delete", "DELETE"))


def install(connection):
    """Create every trigger; the tests call it too, after they emptied the tables."""
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(POSTGRESQL_FUNCTION)
    guard(connection, APPEND_ONLY)
    guard_findings(connection, FINDING_COLUMNS)
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(_postgresql(FINDINGS, "truncate", "TRUNCATE", "STATEMENT"))


def remove(connection):
    """Drop every trigger."""
    lift(connection, (*APPEND_ONLY, FINDINGS))


def forwards(apps, schema_editor):
    install(schema_editor.connection)


def backwards(apps, schema_editor):
    remove(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [("incidents", "0001_first_tables")]
    operations = [migrations.RunPython(forwards, backwards)]
