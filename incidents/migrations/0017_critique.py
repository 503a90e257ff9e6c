"""Keep what was said in looking back on an incident. A note and its steps are only added."""

import importlib

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

guards = importlib.import_module(
    "incidents.migrations.0002_refuse_changes_to_the_record"
)
APPEND_ONLY = ("incidents_critiquenote", "incidents_critiquestep")


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
        ('incidents', '0016_what_if_runs'),
    ]

    operations = [
        migrations.CreateModel(
            name='CritiqueNote',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('record', models.CharField(choices=[('debrief', 'Debriefing'), ('analysis', 'Post-incident analysis'), ('critique', 'Critique')], max_length=10)),
                ('kind', models.CharField(choices=[('strength', 'Strength'), ('improvement', 'Improvement'), ('note', 'Note')], max_length=12)),
                ('at', models.DateTimeField(help_text='The moment of the incident that it is about')),
                ('client_uuid', models.UUIDField(unique=True)),
                ('written_at', models.DateTimeField()),
                ('author_name', models.CharField(help_text='As it was that day', max_length=150)),
                ('entry', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='incidents.logentry')),
                ('incident', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='critique_notes', to='incidents.incident')),
                ('written_by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('at', 'pk'),
            },
        ),
        migrations.CreateModel(
            name='CritiqueStep',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('client_uuid', models.UUIDField(unique=True)),
                ('state', models.CharField(choices=[('open', 'Open'), ('done', 'Done'), ('dropped', 'Dropped'), ('taken_back', 'Taken back')], max_length=10)),
                ('text', models.TextField()),
                ('owner_name', models.CharField(blank=True, max_length=150)),
                ('due_on', models.DateField(blank=True, null=True)),
                ('said', models.TextField(blank=True, help_text='What was done, or why it was dropped or taken back')),
                ('done_on', models.DateField(blank=True, null=True)),
                ('at', models.DateTimeField()),
                ('by_name', models.CharField(help_text='As it was that day', max_length=150)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('note', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='steps', to='incidents.critiquenote')),
                ('owner', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ('pk',),
            },
        ),
        migrations.AddIndex(
            model_name='critiquenote',
            index=models.Index(fields=['incident', 'at'], name='critique_by_moment'),
        ),
        migrations.AddIndex(
            model_name='critiquestep',
            index=models.Index(fields=['note', '-id'], name='critique_last_step'),
        ),
        migrations.RunPython(guard, lift),
    ]
