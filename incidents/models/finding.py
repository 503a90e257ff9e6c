from django.conf import settings
from django.db import models

from incidents.models.incident import Incident
from incidents.models.log import LogEntry
from screening.verdicts import Action, Finding, Hazard


class FindingRows(models.QuerySet["StoredFinding"]):
    def cleared(self) -> "FindingRows":
        """Those that a clear ended and nothing raised again."""
        return self.alias(last_turn=_last_turn()).filter(last_turn="cleared")

    def uncleared(self) -> "FindingRows":
        return self.alias(last_turn=_last_turn()).exclude(last_turn="cleared")


def _last_turn() -> models.Subquery:
    turns = FindingEvent.objects.filter(
        finding=models.OuterRef("pk"),
        kind__in=(FindingEvent.Kind.RAISED, FindingEvent.Kind.CLEARED),
    )
    return models.Subquery(turns.order_by("-pk").values("kind")[:1])


class StoredFinding(models.Model):
    """A finding as it was shown, in the words of that day. Never deleted.

    `superseded`: a later arrival changed what would have been said here.
    `late`: it was raised only when an older reading arrived.
    """

    incident = models.ForeignKey(
        Incident, on_delete=models.PROTECT, related_name="findings"
    )
    entry = models.ForeignKey(
        LogEntry, on_delete=models.PROTECT, related_name="findings"
    )
    team_key = models.CharField(max_length=60)
    rule = models.CharField(max_length=80)
    number = models.PositiveSmallIntegerField()
    hazard = models.CharField(max_length=40)
    place = models.CharField(max_length=200, blank=True)
    subject = models.CharField(
        max_length=200, blank=True, help_text="A gas, a container, a member"
    )
    action = models.PositiveSmallIntegerField(
        choices=[(action.value, action.label) for action in Action]
    )
    because = models.TextField()
    advice = models.JSONField(default=list)
    source = models.TextField(blank=True)
    late = models.BooleanField(default=False)
    superseded = models.BooleanField(default=False)
    created_at = models.DateTimeField()

    objects = FindingRows.as_manager()

    class Meta:
        ordering = ("entry", "-action", "pk")
        indexes = (models.Index(fields=("incident", "-action"), name="finding_open"),)

    def __str__(self) -> str:
        return f"{self.get_action_display()}: {self.because}"

    def as_said(self, entry: LogEntry) -> Finding:
        """The engine's finding in the words of that day; `entry` is what it came from."""
        return Finding(
            rule=self.rule,
            number=self.number,
            hazard=Hazard(self.hazard),
            team=self.team_key,
            place=self.place,
            action=Action(self.action),
            because=self.because,
            advice=tuple(self.advice),
            source=self.source,
            entry=entry.key,
            at=entry.observed_at,
        )

    @property
    def action_word(self) -> str:
        return Action(self.action).word

    @property
    def hazard_label(self) -> str:
        try:
            return Hazard(self.hazard).label
        except ValueError:  # written by another version
            return self.hazard.replace("_", " ").capitalize()


class FindingEvent(models.Model):
    """One step in the life of a finding. Only ever added."""

    class Kind(models.TextChoices):
        RAISED = "raised", "Raised"
        ACKNOWLEDGED = "acknowledged", "Acknowledged"
        ACTED_ON = "acted_on", "Acted on"
        CLEARED = "cleared", "Cleared"

    finding = models.ForeignKey(
        StoredFinding, on_delete=models.PROTECT, related_name="events"
    )
    kind = models.CharField(max_length=20, choices=Kind.choices)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    at = models.DateTimeField()
    entry = models.ForeignKey(
        LogEntry, on_delete=models.PROTECT, related_name="finding_events"
    )
    note = models.TextField(blank=True)

    class Meta:
        ordering = ("at", "pk")
        constraints = (
            models.UniqueConstraint(
                fields=("finding", "kind", "entry"), name="one_event_per_entry"
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_kind_display()} at {self.at:%H:%M}"
