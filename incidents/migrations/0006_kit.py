"""The register of instruments with its history, and the medical checks.

What was tested, measured and looked at is only ever added: triggers refuse the rest.
"""

import importlib
import uuid

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

guards = importlib.import_module(
    "incidents.migrations.0002_refuse_changes_to_the_record"
)
APPEND_ONLY = (
    "incidents_instrumentrecord",
    "incidents_medicalcheck",
    "incidents_medicalaccess",
)


def install(connection):
    """Create every trigger of these tables; the tests call it too."""
    guards.guard(connection, APPEND_ONLY)


def remove(connection):
    """Drop every one of them."""
    guards.lift(connection, APPEND_ONLY)


def daily_for_gas_meters(apps, schema_editor):
    """A gas meter asks for a test each day; those of before are gas meters too."""
    rows = apps.get_model("incidents", "Instrument").objects
    rows.filter(kind="gas_meter").update(daily_test=True)


def guard(apps, schema_editor):
    install(schema_editor.connection)


def lift(apps, schema_editor):
    remove(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [
        ("incidents", "0005_devices"),
    ]

    operations = [
        migrations.AddField(
            model_name="instrument",
            name="alarm_points",
            field=models.TextField(blank=True),
        ),
        migrations.AddField(
            model_name="instrument",
            name="calibration_gas",
            field=models.CharField(blank=True, max_length=200),
        ),
        migrations.AddField(
            model_name="instrument",
            name="daily_test",
            field=models.BooleanField(
                default=False, verbose_name="asks for a test each day"
            ),
        ),
        migrations.AddField(
            model_name="instrument",
            name="lot",
            field=models.CharField(blank=True, max_length=80),
        ),
        migrations.AddField(
            model_name="instrument",
            name="opened_on",
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="instrument",
            name="ranges",
            field=models.TextField(blank=True, verbose_name="ranges and resolution"),
        ),
        migrations.AddField(
            model_name="instrument",
            name="retired_at",
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="instrument",
            name="serial",
            field=models.CharField(
                blank=True, max_length=80, verbose_name="serial number"
            ),
        ),
        migrations.AddField(
            model_name="instrument",
            name="warm_up",
            field=models.CharField(
                blank=True, max_length=200, verbose_name="warm-up and response"
            ),
        ),
        migrations.CreateModel(
            name="MedicalAccess",
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
                ("at", models.DateTimeField()),
                (
                    "by_name",
                    models.CharField(help_text="As it was that day", max_length=150),
                ),
                ("role", models.CharField(max_length=20)),
                (
                    "person_name",
                    models.CharField(help_text="Whose values", max_length=120),
                ),
                (
                    "by",
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
                        related_name="medical_looks",
                        to="incidents.incident",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "medical looks",
                "ordering": ("-at", "-pk"),
            },
        ),
        migrations.CreateModel(
            name="InstrumentRecord",
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
                    "uuid",
                    models.UUIDField(default=uuid.uuid4, editable=False, unique=True),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("added", "Added to the register"),
                            ("changed", "Changed in the register"),
                            ("bump_test", "Bump test"),
                            ("calibration", "Calibration"),
                            ("zero", "Zero in fresh air"),
                            ("retired", "Out of service"),
                            ("returned", "Back in service"),
                            ("struck", "Put right"),
                            ("restored", "Counts again"),
                        ],
                        max_length=20,
                    ),
                ),
                ("passed", models.BooleanField(null=True)),
                ("at", models.DateTimeField(help_text="When it was done")),
                ("recorded_at", models.DateTimeField()),
                (
                    "by_name",
                    models.CharField(help_text="As it was that day", max_length=150),
                ),
                (
                    "gas",
                    models.CharField(
                        blank=True, max_length=200, verbose_name="gas or sample"
                    ),
                ),
                ("place", models.CharField(blank=True, max_length=200)),
                ("failed_sensors", models.CharField(blank=True, max_length=200)),
                ("next_due", models.DateField(blank=True, null=True)),
                ("note", models.TextField(blank=True)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "corrects",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="corrections",
                        to="incidents.instrumentrecord",
                    ),
                ),
                (
                    "entry",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="incidents.logentry",
                    ),
                ),
                (
                    "incident",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="incidents.incident",
                    ),
                ),
                (
                    "instrument",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="records",
                        to="incidents.instrument",
                    ),
                ),
            ],
            options={
                "ordering": ("-at", "-pk"),
                "indexes": [
                    models.Index(
                        fields=["instrument", "kind", "passed", "-at"], name="last_test"
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="MedicalCheck",
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
                ("seq", models.PositiveIntegerField()),
                ("client_uuid", models.UUIDField()),
                ("person_name", models.CharField(max_length=120)),
                (
                    "person_code",
                    models.CharField(
                        help_text="The name, for addresses", max_length=16
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("before", "Before entry"),
                            ("after", "After coming out"),
                            ("recheck", "Check again"),
                            ("decision", "Decided by medical"),
                        ],
                        max_length=10,
                    ),
                ),
                ("at", models.DateTimeField()),
                ("recorded_at", models.DateTimeField()),
                (
                    "by_name",
                    models.CharField(help_text="As it was that day", max_length=150),
                ),
                ("fit", models.BooleanField()),
                (
                    "values",
                    models.TextField(help_text="What was measured, as entered; JSON"),
                ),
                (
                    "reasons",
                    models.TextField(
                        help_text="Why, with the limits of that day; JSON"
                    ),
                ),
                (
                    "prev_hash",
                    models.CharField(
                        default="0000000000000000000000000000000000000000000000000000000000000000",
                        max_length=64,
                    ),
                ),
                ("hash", models.CharField(max_length=64)),
                ("canonical", models.BinaryField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "corrects",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="corrections",
                        to="incidents.medicalcheck",
                    ),
                ),
                (
                    "incident",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="medical_checks",
                        to="incidents.incident",
                    ),
                ),
            ],
            options={
                "ordering": ("seq",),
                "constraints": [
                    models.UniqueConstraint(
                        fields=("incident", "seq"), name="one_check_per_seq"
                    ),
                    models.UniqueConstraint(
                        fields=("incident", "client_uuid"), name="one_check_per_uuid"
                    ),
                    models.UniqueConstraint(
                        fields=("incident", "prev_hash"), name="one_check_after_each"
                    ),
                ],
            },
        ),
        migrations.RunPython(daily_for_gas_meters, migrations.RunPython.noop),
        migrations.RunPython(guard, lift),
    ]
