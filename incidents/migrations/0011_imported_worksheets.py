"""Keep the files of imported worksheets as they came; triggers refuse any change."""

import importlib

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

guards = importlib.import_module(
    "incidents.migrations.0002_refuse_changes_to_the_record"
)
APPEND_ONLY = ("incidents_importedworksheet",)


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
        ('incidents', '0010_record_anchors'),
    ]

    operations = [
        migrations.CreateModel(
            name='ImportedWorksheet',
            fields=[
                ('incident', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='imported', serialize=False, to='incidents.incident')),
                ('file', models.BinaryField()),
                ('sha256', models.CharField(max_length=64)),
                ('imported_at', models.DateTimeField()),
                ('imported_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.RunPython(guard, lift),
    ]
