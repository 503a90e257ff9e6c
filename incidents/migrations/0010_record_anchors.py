"""Keep the heads of both chains at the end of a shift, a signature, a closing.

An anchor is only ever added: triggers refuse the rest.
"""

import importlib

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

guards = importlib.import_module(
    "incidents.migrations.0002_refuse_changes_to_the_record"
)
APPEND_ONLY = ("incidents_recordanchor",)


def install(connection):
    """Create the triggers of this table; the tests call it too."""
    guards.guard(connection, APPEND_ONLY)


def remove(connection):
    guards.lift(connection, APPEND_ONLY)


def guard(apps, schema_editor):
    install(schema_editor.connection)


def lift(apps, schema_editor):
    remove(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('incidents', '0009_photos'),
    ]

    operations = [
        migrations.CreateModel(
            name='RecordAnchor',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('why', models.CharField(choices=[('shift', 'the end of a shift'), ('closing', 'closing the incident'), ('sign_off', 'signing the plan'), ('transfer', 'passing command on'), ('kept', 'a head kept by command')], max_length=10)),
                ('made_at', models.DateTimeField()),
                ('seq', models.PositiveIntegerField()),
                ('hash', models.CharField(max_length=64)),
                ('medical_seq', models.PositiveIntegerField(default=0)),
                ('medical_hash', models.CharField(default='0000000000000000000000000000000000000000000000000000000000000000', max_length=64)),
                ('incident', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='anchors', to='incidents.incident')),
                ('made_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('seq', 'pk'),
                'indexes': [models.Index(fields=['incident', 'seq'], name='anchor_by_seq')],
            },
        ),
        migrations.RunPython(guard, lift),
    ]
