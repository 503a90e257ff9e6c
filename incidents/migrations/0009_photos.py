"""Photos that notes of the log name by their hash. Only ever added, as the log itself."""

import importlib

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

guards = importlib.import_module(
    "incidents.migrations.0002_refuse_changes_to_the_record"
)
TABLE = "incidents_photo"


def install(connection):
    """Create the triggers of this table; the tests call it too."""
    guards.guard(connection, (TABLE,))


def remove(connection):
    """Drop them."""
    guards.lift(connection, (TABLE,))


def guard(apps, schema_editor):
    install(schema_editor.connection)


def lift(apps, schema_editor):
    remove(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [("incidents", "0008_device_guard")]
    operations = [
        migrations.CreateModel(
            name="Photo",
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
                ("sha256", models.CharField(max_length=64)),
                ("media_type", models.CharField(max_length=20)),
                ("content", models.BinaryField()),
                ("received_at", models.DateTimeField()),
                ("device", models.CharField(blank=True, max_length=120)),
                (
                    "added_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "incident",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="photos",
                        to="incidents.incident",
                    ),
                ),
            ],
            options={
                "ordering": ("received_at", "pk"),
                "constraints": [
                    models.UniqueConstraint(
                        fields=("incident", "sha256"), name="one_photo_per_hash"
                    )
                ],
            },
        ),
        migrations.RunPython(guard, lift),
    ]
