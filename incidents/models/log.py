from typing import Final

from django.conf import settings
from django.db import models

from incidents.models.incident import Incident

# Records that the application makes about the incident itself; the engine never sees
# them. Every other kind is one of `screening.readings.KINDS`.
OPENING: Final = "opening"
AMENDMENT: Final = "amendment"
CLOSING: Final = "closing"
REOPENING: Final = "reopening"
DEVICE: Final = "device"  # a phone joined, was revoked, or what it sent was decided on
PLAN: Final = "plan"  # one part of the commander's plan (`command.parts`)
NOTE: Final = "note"
ORDER: Final = "order"  # to leave; stands until the team is out
MAYDAY: Final = "mayday"
MAYDAY_OVER: Final = "mayday_over"
HEARD: Final = "heard"  # of what time alone raised; an entry is heard by `acknowledge`
UNDONE: Final = "undone"  # strikes one of these records; an entry is struck by `strike`
CORRECTION: Final = "correction"  # which entry stands in the place of a struck one
ADDENDUM: Final = "addendum"  # said after the incident was closed
DRILL: Final = "drill"  # a drill began or ended
SIGN_OFF: Final = "sign_off"  # somebody stands for the record so far, or dissents
# The bytes of a photo came: from then on they are missing, and not only late.
PHOTO_ARRIVED: Final = "photo_arrived"
# What people write of their own accord, beside readings and decisions.
WRITTEN_KINDS: Final = frozenset(
    {
        NOTE,
        ORDER,
        MAYDAY,
        MAYDAY_OVER,
        HEARD,
        UNDONE,
        CORRECTION,
        ADDENDUM,
        SIGN_OFF,
        DRILL,
    }
)
APP_KINDS: Final = WRITTEN_KINDS | {
    OPENING, AMENDMENT, CLOSING, REOPENING, DEVICE, PLAN, PHOTO_ARRIVED,
}  # fmt: skip


class LogEntry(models.Model):
    """One record of the log. Never changed and never deleted; the database refuses it.

    `canonical` holds the exact bytes whose SHA-256 is `hash` (`incidents.chain`).
    """

    incident = models.ForeignKey(
        Incident, on_delete=models.PROTECT, related_name="entries"
    )
    seq = models.PositiveIntegerField()
    client_uuid = models.UUIDField()
    kind = models.CharField(max_length=30)
    body = models.TextField(help_text="JSON, with every number as it was entered")
    observed_at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    author = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    author_name = models.CharField(max_length=150, help_text="As it was that day")
    device = models.CharField(max_length=120, blank=True)
    prev_hash = models.CharField(max_length=64)
    hash = models.CharField(max_length=64)
    canonical = models.BinaryField()

    class Meta:
        ordering = ("seq",)
        verbose_name_plural = "log entries"
        constraints = (
            models.UniqueConstraint(
                fields=("incident", "seq"), name="one_entry_per_seq"
            ),
            models.UniqueConstraint(
                fields=("incident", "client_uuid"), name="one_entry_per_uuid"
            ),
            # Makes a fork of the chain impossible.
            models.UniqueConstraint(
                fields=("incident", "prev_hash"), name="one_entry_after_each"
            ),
        )

    def __str__(self) -> str:
        return f"{self.seq} {self.kind}"

    @property
    def key(self) -> str:
        """The id by which the engine and the worksheet document know this entry."""
        return str(self.client_uuid)

    @property
    def is_for_engine(self) -> bool:
        return self.kind not in APP_KINDS
