import uuid

from django.conf import settings
from django.db import models

from incidents.models.agency import Agency
from incidents.models.person import Person

NO_HASH = "0" * 64


class Incident(models.Model):
    """One incident: what was set up, and where its log stands."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    agency = models.ForeignKey(
        Agency, on_delete=models.PROTECT, related_name="incidents"
    )
    name = models.CharField(max_length=200)
    location = models.CharField(max_length=300, blank=True)
    mission = models.CharField(max_length=40)
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        related_name="+",
        null=True,
        blank=True,
    )
    is_demo = models.BooleanField(default=False)
    setup = models.TextField(
        help_text="The worksheet document without its log, as JSON"
    )
    # Goes up with everything that a page could show; the sheet polls it.
    revision = models.PositiveIntegerField(default=0)
    head_seq = models.PositiveIntegerField(default=0)
    head_hash = models.CharField(max_length=64, default=NO_HASH)

    class Meta:
        ordering = ("-opened_at", "pk")
        indexes = (
            models.Index(fields=("agency", "-opened_at"), name="incident_by_agency"),
        )

    def __str__(self) -> str:
        return self.name

    @property
    def is_closed(self) -> bool:
        return self.closed_at is not None


class IncidentRole(models.Model):
    """What one person may do in one incident."""

    class Role(models.TextChoices):
        COMMANDER = "commander", "Incident commander"
        TECHNICIAN = "technician", "Technician"
        TRAINING_OFFICER = "training_officer", "Training officer"
        VIEWER = "viewer", "Viewer"

    incident = models.ForeignKey(
        Incident, on_delete=models.PROTECT, related_name="roles"
    )
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="roles"
    )
    role = models.CharField(max_length=20, choices=Role.choices)

    class Meta:
        constraints = (
            models.UniqueConstraint(
                fields=("incident", "person"), name="one_role_per_person"
            ),
        )

    def __str__(self) -> str:
        return f"{self.person_id}: {self.get_role_display()}"

    @classmethod
    def of(cls, person: Person, incident: Incident) -> str:
        """The person's role there; "" for none, and always "" in a foreign agency."""
        if not person.is_active or person.agency_id != incident.agency_id:
            return ""
        role = cls.objects.filter(incident=incident, person=person)
        return role.values_list("role", flat=True).first() or ""
