"""Versions of an SOP as an agency keeps them: who approved, from when, why looser.

SQLite makes a table anew to add a column and loses its triggers on the way, so those of
the versions are lifted first and set again at the end, on both databases.
"""

import importlib
from zoneinfo import ZoneInfo

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

guards = importlib.import_module(
    "incidents.migrations.0002_refuse_changes_to_the_record"
)
PROFILES = "incidents_sopprofile"
WITHDRAWALS = "incidents_sopwithdrawal"


def install(connection):
    """Guard the withdrawals; 0002 guards the versions. The tests call it too."""
    guards.guard(connection, (WITHDRAWALS,))


def remove(connection):
    guards.lift(connection, (WITHDRAWALS,))


def lift_versions(apps, schema_editor):
    guards.lift(schema_editor.connection, (PROFILES,))


def guard_versions(apps, schema_editor):
    guards.guard(schema_editor.connection, (PROFILES,))


def fill(apps, schema_editor):
    """Versions of before count from the day they were written, by whom they were."""
    for row in apps.get_model("incidents", "SopProfile").objects.select_related(
        "agency", "created_by"
    ):
        zone = ZoneInfo(row.agency.time_zone)
        row.effective_on = row.created_at.astimezone(zone).date()
        if row.created_by is not None:
            row.author_name = row.created_by.display_name or row.created_by.username
        row.save(update_fields=["effective_on", "author_name"])


def guard_withdrawals(apps, schema_editor):
    install(schema_editor.connection)


def lift_withdrawals(apps, schema_editor):
    remove(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [("incidents", "0003_people")]

    operations = [
        migrations.RunPython(lift_versions, guard_versions),
        migrations.AddField(
            model_name="person",
            name="may_edit_sop",
            field=models.BooleanField(
                default=False, verbose_name="may write the SOP's limits"
            ),
        ),
        migrations.AddField(
            model_name="sopprofile",
            name="house_rules",
            field=models.TextField(
                default="{}",
                help_text="What it sets of incidents.house_rules, as entered; JSON",
            ),
        ),
        migrations.AddField(
            model_name="sopprofile",
            name="reasons",
            field=models.TextField(
                default="{}",
                help_text="Why a value is looser than its source, by key; JSON",
            ),
        ),
        migrations.AddField(
            model_name="sopprofile",
            name="approved_by",
            field=models.CharField(blank=True, max_length=120),
        ),
        migrations.AddField(
            model_name="sopprofile",
            name="effective_on",
            field=models.DateField(null=True, help_text="In the agency's time zone"),
        ),
        migrations.AddField(
            model_name="sopprofile",
            name="previous",
            field=models.ForeignKey(
                blank=True,
                help_text="The version that it was made from",
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="following",
                to="incidents.sopprofile",
            ),
        ),
        migrations.AddField(
            model_name="sopprofile",
            name="author_name",
            field=models.CharField(
                blank=True, help_text="As it was that day", max_length=150
            ),
        ),
        migrations.AddField(
            model_name="sopprofile",
            name="sha256",
            field=models.CharField(blank=True, max_length=64),
        ),
        migrations.RunPython(fill, migrations.RunPython.noop),
        migrations.AlterField(
            model_name="sopprofile",
            name="effective_on",
            field=models.DateField(help_text="In the agency's time zone"),
        ),
        migrations.CreateModel(
            name="SopWithdrawal",
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
                ("reason", models.TextField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "profile",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="withdrawal",
                        to="incidents.sopprofile",
                    ),
                ),
            ],
        ),
        migrations.AddField(
            model_name="incident",
            name="sop",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="incidents",
                to="incidents.sopprofile",
            ),
        ),
        migrations.RunPython(guard_withdrawals, lift_withdrawals),
        migrations.RunPython(guard_versions, lift_versions),
    ]
