from django.conf import settings
from django.db import models

from incidents.models.agency import Agency
from incidents.models.incident import Incident


class SigningKey(models.Model):
    """An agency's key for reports, with the root that certifies it.

    Both private keys are kept encrypted under SIGNING_PASSPHRASE.
    """

    agency = models.ForeignKey(
        Agency, on_delete=models.PROTECT, related_name="signing_keys"
    )
    created_at = models.DateTimeField()
    retired_at = models.DateTimeField(null=True, blank=True)
    encrypted_key = models.BinaryField()
    certificate = models.BinaryField()
    encrypted_root_key = models.BinaryField()
    root_certificate = models.BinaryField()
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

    class Meta:
        ordering = ("-created_at", "-pk")

    def __str__(self) -> str:
        return f"{self.incident_id} at entry {self.head_seq}"
