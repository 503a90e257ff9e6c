from typing import Final

from django.conf import settings
from django.db import models

from incidents.models.incident import Incident
from incidents.models.log import LogEntry

LONGEST_NOTE: Final = 2000


class CritiqueNote(models.Model):
    """What was said of an incident in looking back on it, pinned to a moment. Only added.

    It is apart from the log and from the signed report, and each of the three records of
    row 63 of the job (debrief, post-incident analysis, critique) is one for itself. What
    it says stands in its steps: the last one holds.
    """

    class Record(models.TextChoices):
        DEBRIEF = "debrief", "Debriefing"
        ANALYSIS = "analysis", "Post-incident analysis"
        CRITIQUE = "critique", "Critique"

    class Kind(models.TextChoices):
        STRENGTH = "strength", "Strength"
        IMPROVEMENT = "improvement", "Improvement"
        NOTE = "note", "Note"

    incident = models.ForeignKey(
        Incident, on_delete=models.PROTECT, related_name="critique_notes"
    )
    record = models.CharField(max_length=10, choices=Record.choices)
    kind = models.CharField(max_length=12, choices=Kind.choices)
    at = models.DateTimeField(help_text="The moment of the incident that it is about")
    entry = models.ForeignKey(
        LogEntry, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    client_uuid = models.UUIDField(unique=True)
    written_at = models.DateTimeField()
    written_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    author_name = models.CharField(max_length=150, help_text="As it was that day")

    class Meta:
        ordering = ("at", "pk")
        indexes = (models.Index(fields=("incident", "at"), name="critique_by_moment"),)

    def __str__(self) -> str:
        return f"{self.get_kind_display()} at {self.at:%H:%M:%S}"


class CritiqueStep(models.Model):
    """What a note says from one moment on: the whole of it each time. Only ever added."""

    class State(models.TextChoices):
        OPEN = "open", "Open"
        DONE = "done", "Done"
        DROPPED = "dropped", "Dropped"
        TAKEN_BACK = "taken_back", "Taken back"

    note = models.ForeignKey(
        CritiqueNote, on_delete=models.PROTECT, related_name="steps"
    )
    client_uuid = models.UUIDField(unique=True)
    state = models.CharField(max_length=10, choices=State.choices)
    text = models.TextField()
    # Of an improvement alone.
    owner = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        related_name="+",
        null=True,
        blank=True,
    )
    owner_name = models.CharField(max_length=150, blank=True)
    due_on = models.DateField(null=True, blank=True)
    said = models.TextField(
        blank=True, help_text="What was done, or why it was dropped or taken back"
    )
    done_on = models.DateField(null=True, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    by_name = models.CharField(max_length=150, help_text="As it was that day")

    class Meta:
        ordering = ("pk",)
        indexes = (models.Index(fields=("note", "-id"), name="critique_last_step"),)

    def __str__(self) -> str:
        return f"{self.get_state_display()}: {self.text[:40]}"
