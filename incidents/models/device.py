from typing import Final

from django.conf import settings
from django.db import models

from incidents.models.incident import Incident
from incidents.models.log import LogEntry

LONGEST_NAME: Final = 60
WRONG_CLOCK_MS: Final = 30_000


class Device(models.Model):
    """A phone that logs for one team of one incident, without anyone's password.

    Both secrets are kept as SHA-256 only: the one of the QR code that lets it join, once
    and soon, and the one in its cookie.
    """

    id = models.UUIDField(primary_key=True, editable=False)
    incident = models.ForeignKey(
        Incident, on_delete=models.PROTECT, related_name="devices"
    )
    team_key = models.CharField(max_length=60)
    name = models.CharField(max_length=LONGEST_NAME)
    offered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    offered_at = models.DateTimeField()
    join_hash = models.CharField(max_length=64, unique=True)
    join_until = models.DateTimeField()
    joined_at = models.DateTimeField(null=True, blank=True)
    token_hash = models.CharField(max_length=64, unique=True, null=True, blank=True)
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)
    revoked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        related_name="+",
        null=True,
        blank=True,
    )
    seen_at = models.DateTimeField(null=True, blank=True)
    # How far its clock was ahead of ours when it was last asked; None while not known.
    clock_ahead_ms = models.BigIntegerField(null=True, blank=True)

    class Meta:
        ordering = ("offered_at", "pk")

    def __str__(self) -> str:
        return self.name

    @property
    def clock_words(self) -> str:
        """Such as "Its clock is 60 min ahead."; "" where it is right within half a minute."""
        ahead = self.clock_ahead_ms
        if ahead is None or abs(ahead) < WRONG_CLOCK_MS:
            return ""
        minutes = max(1, round(abs(ahead) / 60_000))
        return f"Its clock is {minutes} min {'ahead' if ahead > 0 else 'behind'}."


class DeviceEntry(models.Model):
    """An entry as a device sent it: in the log, or kept apart until somebody decides.

    `counter` is the device's own. Never changed, but for the decision on a held one.
    """

    class Decision(models.TextChoices):
        WAITING = "waiting", "Waiting for the commander"
        TAKEN = "taken", "Taken into the log"
        REJECTED = "rejected", "Not taken"

    device = models.ForeignKey(Device, on_delete=models.PROTECT, related_name="entries")
    counter = models.PositiveBigIntegerField()
    client_uuid = models.UUIDField()
    sent = models.TextField(help_text="As it was sent, as JSON")
    received_at = models.DateTimeField()
    entry = models.ForeignKey(
        LogEntry,
        on_delete=models.PROTECT,
        related_name="sent_by",
        null=True,
        blank=True,
    )
    held_because = models.TextField(blank=True)
    decision = models.CharField(max_length=10, choices=Decision.choices, blank=True)
    decided_at = models.DateTimeField(null=True, blank=True)
    decided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        related_name="+",
        null=True,
        blank=True,
    )
    decision_reason = models.TextField(blank=True)

    class Meta:
        ordering = ("device", "counter")
        constraints = (
            models.UniqueConstraint(
                fields=("device", "counter"), name="one_entry_per_counter"
            ),
            models.UniqueConstraint(
                fields=("device", "client_uuid"), name="one_device_entry_per_uuid"
            ),
        )

    def __str__(self) -> str:
        return f"{self.device} {self.counter}"
