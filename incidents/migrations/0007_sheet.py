"""Keep what a finding is of, so that a second gas or drum is an alarm of its own.

SQLite makes the table anew for a column, and the triggers of the old one go with it: they
are dropped first and made again for all columns.
"""

import importlib

from django.db import migrations, models

guards = importlib.import_module(
    "incidents.migrations.0002_refuse_changes_to_the_record"
)
COLUMNS = f"{guards.FINDING_COLUMNS}, subject"


def remove(connection):
    """Drop the guards of findings, but for that against TRUNCATE, which stays as it is."""
    on = f" ON {guards.FINDINGS}" if connection.vendor == "postgresql" else ""
    with connection.cursor() as cursor:
        for name in ("update", "delete"):
            cursor.execute(f"DROP TRIGGER IF EXISTS {guards.FINDINGS}_no_{name}{on}")


def install(connection):
    """The guards of findings as they are from here on; the tests call it too."""
    remove(connection)
    guards.guard_findings(connection, COLUMNS)


def drop(apps, schema_editor):
    remove(schema_editor.connection)


def make_with_subject(apps, schema_editor):
    install(schema_editor.connection)


def make_without(apps, schema_editor):
    guards.guard_findings(schema_editor.connection, guards.FINDING_COLUMNS)


class Migration(migrations.Migration):
    dependencies = [("incidents", "0006_kit")]
    operations = [
        migrations.RunPython(drop, make_without),
        migrations.AddField(
            model_name="storedfinding",
            name="subject",
            field=models.CharField(
                blank=True,
                default="",
                help_text="A gas, a container, a member",
                max_length=200,
            ),
            preserve_default=False,
        ),
        migrations.RunPython(make_with_subject, drop),
    ]
