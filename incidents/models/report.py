from django.conf import settings
from django.db import models

from incidents.models.agency import Agency
from incidents.models.incident import Incident


class SigningKey(models.Model):
    """An agency's key for reports, with the root that certifies it.

    Private keys are kept encrypted under SIGNING_PASSPHRASE. A retired key stays: what
    it signed is checked against it. One that was imported has its root's key elsewhere.
    """

    agency = models.ForeignKey(
        Agency, on_delete=models.PROTECT, related_name="signing_keys"
    )
    created_at = models.DateTimeField()
    retired_at = models.DateTimeField(null=True, blank=True)
    encrypted_key = models.BinaryField()
    certificate = models.BinaryField()
    encrypted_root_key = models.BinaryField(blank=True, default=b"")
    root_certificate = models.BinaryField()
    # As PEM, from the signer's to the root's; of imported keys only.
    between = models.BinaryField(blank=True, default=b"")
    imported = models.BooleanField(default=False)
    fingerprint = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ("-created_at", "-pk")
        constraints = (
            models.UniqueConstraint(
                fields=("agency",),
                condition=models.Q(retired_at__isnull=True),
                name="one_live_key_per_agency",
            ),
        )

    def __str__(self) -> str:
        return self.fingerprint


class KeyRevocation(models.Model):
    """From when on a key is not to be trusted, and why. Never changed, never deleted."""

    class Reason(models.TextChoices):
        COMPROMISED = "key_compromise", "Somebody else may have the key"
        SUPERSEDED = "superseded", "Another key took its place"
        ENDED = "cessation_of_operation", "The key is not used any more"

    key = models.OneToOneField(
        SigningKey, on_delete=models.PROTECT, related_name="revocation"
    )
    since = models.DateTimeField()
    recorded_at = models.DateTimeField()
    recorded_by = models.CharField(max_length=150)
    reason = models.CharField(max_length=30, choices=Reason.choices)
    words = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering = ("recorded_at", "pk")

    def __str__(self) -> str:
        return f"{self.key_id} since {self.since}"


class Report(models.Model):
    """A sealed report: the bytes, their hash, and the head of the chain they print."""

    incident = models.ForeignKey(
        Incident, on_delete=models.PROTECT, related_name="reports"
    )
    created_at = models.DateTimeField()
    created_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    pdf = models.BinaryField()
    sha256 = models.CharField(max_length=64, db_index=True)
    head_seq = models.PositiveIntegerField()
    head_hash = models.CharField(max_length=64)
    certificate_fingerprint = models.CharField(max_length=64)
    level = models.CharField(max_length=10, help_text="Of PAdES: B-B, B-T or B-LT")
    clock = models.CharField(max_length=300, help_text="By whose clock it was signed")

    class Meta:
        ordering = ("-created_at", "-pk")

    def __str__(self) -> str:
        return f"{self.incident_id} at entry {self.head_seq}"
