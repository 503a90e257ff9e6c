"""Who reviews the agency's incidents, and which of them are drills.

SQLite makes a table anew for a new column and drops its triggers with the old one, so that
those of 0013 are made again here.
"""

import importlib

from django.db import migrations, models

kept = importlib.import_module("incidents.migrations.0013_keep_incidents")


def guard_again(apps, schema_editor):
    kept.remove(schema_editor.connection)
    kept.install(schema_editor.connection)


class Migration(migrations.Migration):

    dependencies = [
        ('incidents', '0013_keep_incidents'),
    ]

    operations = [
        migrations.RunPython(migrations.RunPython.noop, guard_again),
        migrations.AddField(
            model_name='incident',
            name='is_drill',
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name='person',
            name='may_review',
            field=models.BooleanField(default=False, help_text='Sees every incident of the agency, with a part in it or without', verbose_name="reviews the agency's incidents"),
        ),
        migrations.RunPython(guard_again, migrations.RunPython.noop),
    ]
