from django.conf import settings
from django.db import models

from incidents.models.incident import NO_HASH, Incident


class MedicalCheck(models.Model):
    """What was measured of one person, and whether they may go in. Only ever added.

    Kept apart from the log: no page, report or file of the incident carries a value of it.
    `fit` alone is for everyone; the rest is for medical and the safety officer, and each
    look at it is noted in `MedicalAccess`. A wrong row is put right by a new one that
    `corrects` it. The rows of an incident are chained like its log, in a chain of their own.
    """

    class Kind(models.TextChoices):
        BEFORE = "before", "Before entry"
        AFTER = "after", "After coming out"
        RECHECK = "recheck", "Check again"
        DECISION = "decision", "Decided by medical"

    incident = models.ForeignKey(
        Incident, on_delete=models.PROTECT, related_name="medical_checks"
    )
    seq = models.PositiveIntegerField()
    client_uuid = models.UUIDField()
    person_name = models.CharField(max_length=120)
    person_code = models.CharField(max_length=16, help_text="The name, for addresses")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    at = models.DateTimeField()
    recorded_at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    by_name = models.CharField(max_length=150, help_text="As it was that day")
    fit = models.BooleanField()
    values = models.TextField(help_text="What was measured, as entered; JSON")
    reasons = models.TextField(help_text="Why, with the limits of that day; JSON")
    corrects = models.ForeignKey(
        "self",
        on_delete=models.PROTECT,
        related_name="corrections",
        null=True,
        blank=True,
    )
    prev_hash = models.CharField(max_length=64, default=NO_HASH)
    hash = models.CharField(max_length=64)
    canonical = models.BinaryField()

    class Meta:
        ordering = ("seq",)
        constraints = (
            models.UniqueConstraint(
                fields=("incident", "seq"), name="one_check_per_seq"
            ),
            models.UniqueConstraint(
                fields=("incident", "client_uuid"), name="one_check_per_uuid"
            ),
            models.UniqueConstraint(
                fields=("incident", "prev_hash"), name="one_check_after_each"
            ),
        )

    def __str__(self) -> str:
        return f"{self.seq} {self.kind}"


class MedicalAccess(models.Model):
    """Who looked at whose medical values, when. Only ever added."""

    incident = models.ForeignKey(
        Incident, on_delete=models.PROTECT, related_name="medical_looks"
    )
    at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    by_name = models.CharField(max_length=150, help_text="As it was that day")
    role = models.CharField(max_length=20)
    person_name = models.CharField(max_length=120, help_text="Whose values")

    class Meta:
        ordering = ("-at", "-pk")
        verbose_name_plural = "medical looks"

    def __str__(self) -> str:
        return f"{self.by_name} at {self.at:%Y-%m-%d %H:%M}"

    @property
    def role_words(self) -> str:
        return self.role.replace("_", " ")
