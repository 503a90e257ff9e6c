from django.conf import settings
from django.db import models

from incidents.models.incident import NO_HASH, Incident


class RecordAnchor(models.Model):
    """Where both chains of an incident stood at one moment. Only ever added.

    A tail that is cut off or written anew fits itself; it does not fit what was kept
    before. A report prints a head too, so its row counts as an anchor of the log.
    """

    class Why(models.TextChoices):
        SHIFT = "shift", "the end of a shift"
        CLOSING = "closing", "closing the incident"
        SIGN_OFF = "sign_off", "signing off"
        TRANSFER = "transfer", "passing command on"
        KEPT = "kept", "a head kept by command"

    incident = models.ForeignKey(
        Incident, on_delete=models.PROTECT, related_name="anchors"
    )
    why = models.CharField(max_length=10, choices=Why.choices)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        related_name="+",
        null=True,
        blank=True,
    )
    seq = models.PositiveIntegerField()
    hash = models.CharField(max_length=64)
    medical_seq = models.PositiveIntegerField(default=0)
    medical_hash = models.CharField(max_length=64, default=NO_HASH)

    class Meta:
        ordering = ("seq", "pk")
        indexes = (models.Index(fields=("incident", "seq"), name="anchor_by_seq"),)

    def __str__(self) -> str:
        return f"{self.incident_id} at entry {self.seq}: {self.get_why_display()}"
