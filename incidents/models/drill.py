from django.conf import settings
from django.db import models

from incidents.models.agency import Agency
from incidents.models.incident import Incident, IncidentRole
from incidents.models.log import LogEntry


class DrillScript(models.Model):
    """A drill as it was written (`review.scripts`). Never changed: another is another.

    `document` is the text as it came; the database refuses to change or delete it.
    """

    agency = models.ForeignKey(
        Agency, on_delete=models.PROTECT, related_name="drill_scripts"
    )
    name = models.CharField(max_length=200)
    document = models.TextField(help_text="JSON, with every number as it was written")
    sha256 = models.CharField(max_length=64)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    # Seen by who reviews the agency's incidents alone, as the script itself is.
    from_incident = models.ForeignKey(
        Incident, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )

    class Meta:
        ordering = ("name", "pk")

    def __str__(self) -> str:
        return self.name


class Drill(models.Model):
    """One drill from a script: an incident of its own, its crew and its pace."""

    BY_HAND = 0

    incident = models.OneToOneField(
        Incident, on_delete=models.PROTECT, primary_key=True, related_name="drill"
    )
    script = models.ForeignKey(
        DrillScript, on_delete=models.PROTECT, related_name="drills"
    )
    led_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    speed = models.PositiveSmallIntegerField(
        help_text="Times as fast as the script; 0 is step by step, by hand"
    )
    answer_seconds = models.PositiveSmallIntegerField()
    started_at = models.DateTimeField()
    # The moment in the log at which the script begins, so that nothing lies ahead.
    begins_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("-started_at", "pk")

    def __str__(self) -> str:
        return str(self.incident)

    @property
    def by_hand(self) -> bool:
        return self.speed == self.BY_HAND

    @property
    def is_over(self) -> bool:
        return self.ended_at is not None


class DrillMember(models.Model):
    """One of the crew, and the part in the drill."""

    drill = models.ForeignKey(Drill, on_delete=models.PROTECT, related_name="crew")
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="drills"
    )
    role = models.CharField(max_length=20, choices=IncidentRole.Role.choices)

    class Meta:
        ordering = ("pk",)
        constraints = (
            models.UniqueConstraint(
                fields=("drill", "person"), name="one_part_in_a_drill"
            ),
        )

    def __str__(self) -> str:
        return f"{self.person_id}: {self.get_role_display()}"


class DrillAnswer(models.Model):
    """What one of the crew decided after one inject. Never changed; one of each.

    It stands beside the log, which everyone with a part reads: an answer is for the person
    and the training officer.
    """

    drill = models.ForeignKey(Drill, on_delete=models.PROTECT, related_name="answers")
    entry = models.ForeignKey(LogEntry, on_delete=models.PROTECT, related_name="+")
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    action = models.PositiveSmallIntegerField()  # `screening.verdicts.Action`
    look = models.CharField(max_length=30, blank=True)  # of `review.scoring.LOOKS`
    at = models.DateTimeField()

    class Meta:
        ordering = ("at", "pk")
        constraints = (
            models.UniqueConstraint(
                fields=("entry", "person"), name="one_answer_to_an_inject"
            ),
        )

    def __str__(self) -> str:
        return f"{self.person_id}: {self.action}"


class PlannedDrill(models.Model):
    """A day on which a script is to be run, and with whom."""

    script = models.ForeignKey(
        DrillScript, on_delete=models.PROTECT, related_name="planned"
    )
    day = models.DateField()
    crew = models.ManyToManyField(settings.AUTH_USER_MODEL, related_name="+")
    planned_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    planned_at = models.DateTimeField()
    called_off_at = models.DateTimeField(null=True, blank=True)
    begun_as = models.OneToOneField(
        Drill, on_delete=models.PROTECT, null=True, blank=True, related_name="planned"
    )

    class Meta:
        ordering = ("day", "pk")

    def __str__(self) -> str:
        return f"{self.day}: {self.script}"
