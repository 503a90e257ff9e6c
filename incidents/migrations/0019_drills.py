"""Scripts of drills, drills with crews and answers, and days that drills are planned for.

A script, a crew and an answer never change: the database refuses it, as for the log.
"""

import importlib

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

guards = importlib.import_module(
    "incidents.migrations.0002_refuse_changes_to_the_record"
)
APPEND_ONLY = (
    "incidents_drillscript",
    "incidents_drillmember",
    "incidents_drillanswer",
)


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
        ('incidents', '0018_requests_for_records'),
    ]

    operations = [
        migrations.CreateModel(
            name='DrillScript',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=200)),
                ('document', models.TextField(help_text='JSON, with every number as it was written')),
                ('sha256', models.CharField(max_length=64)),
                ('made_at', models.DateTimeField()),
                ('agency', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='drill_scripts', to='incidents.agency')),
                ('from_incident', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='incidents.incident')),
                ('made_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('name', 'pk'),
            },
        ),
        migrations.CreateModel(
            name='Drill',
            fields=[
                ('incident', models.OneToOneField(on_delete=django.db.models.deletion.PROTECT, primary_key=True, related_name='drill', serialize=False, to='incidents.incident')),
                ('speed', models.PositiveSmallIntegerField(help_text='Times as fast as the script; 0 is step by step, by hand')),
                ('answer_seconds', models.PositiveSmallIntegerField()),
                ('started_at', models.DateTimeField()),
                ('begins_at', models.DateTimeField()),
                ('ended_at', models.DateTimeField(blank=True, null=True)),
                ('led_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('script', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='drills', to='incidents.drillscript')),
            ],
            options={
                'ordering': ('-started_at', 'pk'),
            },
        ),
        migrations.CreateModel(
            name='PlannedDrill',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('day', models.DateField()),
                ('planned_at', models.DateTimeField()),
                ('called_off_at', models.DateTimeField(blank=True, null=True)),
                ('crew', models.ManyToManyField(related_name='+', to=settings.AUTH_USER_MODEL)),
                ('planned_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('script', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='planned', to='incidents.drillscript')),
            ],
            options={
                'ordering': ('day', 'pk'),
            },
        ),
        migrations.CreateModel(
            name='DrillAnswer',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('action', models.PositiveSmallIntegerField()),
                ('look', models.CharField(blank=True, max_length=30)),
                ('at', models.DateTimeField()),
                ('drill', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='answers', to='incidents.drill')),
                ('entry', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='incidents.logentry')),
                ('person', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('at', 'pk'),
                'constraints': [models.UniqueConstraint(fields=('entry', 'person'), name='one_answer_to_an_inject')],
            },
        ),
        migrations.CreateModel(
            name='DrillMember',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('role', models.CharField(choices=[('commander', 'Incident commander'), ('safety_officer', 'Safety officer'), ('technician', 'Technician'), ('medical', 'Medical'), ('training_officer', 'Training officer'), ('viewer', 'Viewer')], max_length=20)),
                ('drill', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='crew', to='incidents.drill')),
                ('person', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='drills', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('pk',),
                'constraints': [models.UniqueConstraint(fields=('drill', 'person'), name='one_part_in_a_drill')],
            },
        ),
        migrations.RunPython(guard, lift),
    ]
