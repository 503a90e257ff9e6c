"""Keep when an employment ended, and let nobody delete an incident or its people.

The rows of an incident change while it goes on, so that only deleting is refused.
"""

import importlib

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

guards = importlib.import_module(
    "incidents.migrations.0002_refuse_changes_to_the_record"
)
APPEND_ONLY = ("incidents_employmentend",)
KEPT = ("incidents_incident", "incidents_entryteam", "incidents_member")


def install(connection):
    """Create the triggers of these tables; the tests call it too."""
    guards.guard(connection, APPEND_ONLY)
    on_postgresql = connection.vendor == "postgresql"
    make = guards._postgresql if on_postgresql else guards._sqlite
    with connection.cursor() as cursor:
        for table in KEPT:
            cursor.execute(make(table, "delete", "DELETE"))
            if on_postgresql:
                truncate = make(table, "truncate", "TRUNCATE", "STATEMENT")
                cursor.execute(truncate)


def remove(connection):
    guards.lift(connection, (*APPEND_ONLY, *KEPT))


def guard(apps, schema_editor):
    install(schema_editor.connection)


def lift(apps, schema_editor):
    remove(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('incidents', '0012_signing_keys'),
    ]

    operations = [
        migrations.CreateModel(
            name='EmploymentEnd',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('person_name', models.CharField(max_length=120)),
                ('person_code', models.CharField(help_text='The name, for addresses', max_length=16)),
                ('ended_on', models.DateField(blank=True, null=True)),
                ('recorded_at', models.DateTimeField()),
                ('agency', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='employment_ends', to='incidents.agency')),
                ('recorded_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('pk',),
                'indexes': [models.Index(fields=['agency', 'person_code'], name='employment_by_name')],
            },
        ),
        migrations.AlterField(
            model_name="recordanchor",
            name="why",
            field=models.CharField(
                choices=[
                    ("shift", "the end of a shift"),
                    ("closing", "closing the incident"),
                    ("sign_off", "signing off"),
                    ("transfer", "passing command on"),
                    ("kept", "a head kept by command"),
                ],
                max_length=10,
            ),
        ),
        migrations.RunPython(guard, lift),
    ]
