"""Log requests for records and their answers, which take rows and nothing else."""

import importlib

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

guards = importlib.import_module(
    "incidents.migrations.0002_refuse_changes_to_the_record"
)
APPEND_ONLY = ("incidents_accessrequest", "incidents_accessanswer")


def install(connection):
    """Create the triggers of these tables; the tests call it too."""
    guards.guard(connection, APPEND_ONLY)


def remove(connection):
    guards.lift(connection, APPEND_ONLY)


def guard(apps, schema_editor):
    install(schema_editor.connection)


def lift(apps, schema_editor):
    remove(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [
        ("incidents", "0017_critique"),
    ]

    operations = [
        migrations.CreateModel(
            name="AccessRequest",
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
                ("person_name", models.CharField(max_length=120)),
                (
                    "person_code",
                    models.CharField(
                        help_text="The name, for addresses", max_length=16
                    ),
                ),
                ("asked_by", models.CharField(max_length=120)),
                (
                    "asked_as",
                    models.CharField(
                        choices=[
                            ("person", "The person, of themself"),
                            ("representative", "Somebody with a written authorisation"),
                            ("union", "The union that represents the person"),
                        ],
                        max_length=20,
                    ),
                ),
                (
                    "authority",
                    models.CharField(
                        blank=True,
                        help_text="The written authorisation: of whom, when",
                        max_length=500,
                    ),
                ),
                (
                    "what",
                    models.CharField(
                        choices=[
                            ("exposure", "Exposure records"),
                            ("medical", "Medical records"),
                            ("analyses", "Analyses made from such records"),
                        ],
                        max_length=20,
                    ),
                ),
                ("wanted", models.CharField(blank=True, max_length=1000)),
                ("received_on", models.DateField()),
                ("due_on", models.DateField()),
                ("recorded_at", models.DateTimeField()),
                (
                    "agency",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="access_requests",
                        to="incidents.agency",
                    ),
                ),
                (
                    "recorded_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ("pk",),
            },
        ),
        migrations.CreateModel(
            name="AccessAnswer",
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
                (
                    "outcome",
                    models.CharField(
                        choices=[
                            ("given", "Access was given"),
                            ("later", "The reason for a delay was given in writing"),
                            ("withdrawn", "The request was taken back"),
                        ],
                        max_length=20,
                    ),
                ),
                ("answered_on", models.DateField()),
                ("words", models.CharField(max_length=2000)),
                ("earliest_on", models.DateField(blank=True, null=True)),
                ("recorded_at", models.DateTimeField()),
                (
                    "recorded_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "request",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="answers",
                        to="incidents.accessrequest",
                    ),
                ),
            ],
            options={
                "ordering": ("pk",),
            },
        ),
        migrations.RunPython(guard, lift),
    ]
