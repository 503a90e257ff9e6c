import uuid

from django.conf import settings
from django.db import models

from incidents.models.agency import Agency
from incidents.models.person import Person
from incidents.models.profile import SopProfile

NO_HASH = "0" * 64


class IncidentRows(models.QuerySet["Incident"]):
    def real(self) -> "IncidentRows":
        """Those that are no drill: what the archive and its figures are about."""
        return self.filter(is_drill=False)

    def of_own_people(self) -> "IncidentRows":
        """Those that say something of the agency's own people.

        In an imported worksheet a name that happens to match is somebody else's; in a
        drill nobody met anything.
        """
        return self.real().filter(imported__isnull=True)


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
    # A drill is one from its first record on, and never enters what is real.
    is_drill = models.BooleanField(default=False)
    setup = models.TextField(
        help_text="The worksheet document without its log, as JSON"
    )
    # The version whose limits stand in the set-up; None for the built-in ones.
    sop = models.ForeignKey(
        SopProfile,
        on_delete=models.PROTECT,
        related_name="incidents",
        null=True,
        blank=True,
    )
    # Goes up with everything that a page could show; the sheet polls it.
    revision = models.PositiveIntegerField(default=0)
    head_seq = models.PositiveIntegerField(default=0)
    head_hash = models.CharField(max_length=64, default=NO_HASH)

    objects = IncidentRows.as_manager()

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


class RoleRows(models.QuerySet["IncidentRole"]):
    def that_count(self) -> "RoleRows":
        """Those that let someone in.

        A row across the border of an agency counts only where it was given as mutual
        aid: one that came about by mistake opens nothing.
        """
        return self.filter(
            models.Q(mutual_aid=True)
            | models.Q(person__agency=models.F("incident__agency")),
            person__is_active=True,
            person__agency__isnull=False,
        )


class IncidentRole(models.Model):
    """What one person may do in one incident."""

    class Role(models.TextChoices):
        COMMANDER = "commander", "Incident commander"
        SAFETY_OFFICER = "safety_officer", "Safety officer"
        TECHNICIAN = "technician", "Technician"
        MEDICAL = "medical", "Medical"
        TRAINING_OFFICER = "training_officer", "Training officer"
        VIEWER = "viewer", "Viewer"

    incident = models.ForeignKey(
        Incident, on_delete=models.PROTECT, related_name="roles"
    )
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="roles"
    )
    role = models.CharField(max_length=20, choices=Role.choices)
    mutual_aid = models.BooleanField(
        default=False, help_text="Given to someone of another agency, by invitation"
    )
    given_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        related_name="+",
        null=True,
        blank=True,
    )
    given_at = models.DateTimeField(null=True, blank=True)

    objects = RoleRows.as_manager()

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
        """The person's role there; "" for none.

        Across the border of an agency only what was given as mutual aid counts.
        """
        rows = cls.objects.that_count().filter(incident=incident, person=person)
        return rows.values_list("role", flat=True).first() or ""


class Invitation(models.Model):
    """A part in one incident, offered to whoever of another agency brings the code.

    The code is kept only as a keyed hash, works once and not for long.
    """

    incident = models.ForeignKey(
        Incident, on_delete=models.PROTECT, related_name="invitations"
    )
    role = models.CharField(max_length=20, choices=IncidentRole.Role.choices)
    meant_for = models.CharField(max_length=120)
    code_hash = models.CharField(max_length=64, unique=True)
    invited_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    invited_at = models.DateTimeField()
    good_until = models.DateTimeField()
    accepted_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        related_name="+",
        null=True,
        blank=True,
    )
    withdrawn_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("-invited_at", "-pk")

    def __str__(self) -> str:
        return f"{self.get_role_display()} for {self.meant_for}"
