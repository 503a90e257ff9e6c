"""Keep keys that were imported, what took a key back, and a report's level of signature.

SQLite makes a table anew for a column, and the triggers of the old one go with it: those
of the reports are dropped first and made again.
"""

import importlib

import django.db.models.deletion
from django.db import migrations, models

guards = importlib.import_module(
    "incidents.migrations.0002_refuse_changes_to_the_record"
)
REPORTS = ("incidents_report",)
REVOCATIONS = ("incidents_keyrevocation",)


def install(connection):
    guards.guard(connection, REVOCATIONS)


def remove(connection):
    guards.lift(connection, REVOCATIONS)


def lift_reports(apps, schema_editor):
    guards.lift(schema_editor.connection, REPORTS)


def guard_reports(apps, schema_editor):
    guards.guard(schema_editor.connection, REPORTS)


def forwards(apps, schema_editor):
    install(schema_editor.connection)


def backwards(apps, schema_editor):
    remove(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [
        ("incidents", "0011_imported_worksheets"),
    ]
    operations = [
        migrations.AddField(
            model_name="signingkey",
            name="imported",
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name="signingkey",
            name="between",
            field=models.BinaryField(blank=True, default=b""),
        ),
        migrations.AlterField(
            model_name="signingkey",
            name="encrypted_root_key",
            field=models.BinaryField(blank=True, default=b""),
        ),
        migrations.CreateModel(
            name="KeyRevocation",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True,
                        primary_key=True,
                        serialize=False,
                        verbose_name="ID",
                    ),
                ),
                ("since", models.DateTimeField()),
                ("recorded_at", models.DateTimeField()),
                ("recorded_by", models.CharField(max_length=150)),
                (
                    "reason",
                    models.CharField(
                        choices=[
                            ("key_compromise", "Somebody else may have the key"),
                            ("superseded", "Another key took its place"),
                            ("cessation_of_operation", "The key is not used any more"),
                        ],
                        max_length=30,
                    ),
                ),
                ("words", models.CharField(blank=True, max_length=500)),
                (
                    "key",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="revocation",
                        to="incidents.signingkey",
                    ),
                ),
            ],
            options={"ordering": ("recorded_at", "pk")},
        ),
        migrations.RunPython(forwards, backwards),
        migrations.RunPython(lift_reports, guard_reports),
        migrations.AddField(
            model_name="report",
            name="level",
            field=models.CharField(
                default="B-B", help_text="Of PAdES: B-B, B-T or B-LT", max_length=10
            ),
            preserve_default=False,
        ),
        migrations.AddField(
            model_name="report",
            name="clock",
            field=models.CharField(
                default="by the signer's own clock, without a time-stamp",
                help_text="By whose clock it was signed",
                max_length=300,
            ),
            preserve_default=False,
        ),
        migrations.RunPython(guard_reports, lift_reports),
    ]
