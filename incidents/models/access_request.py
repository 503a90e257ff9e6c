from django.conf import settings
from django.db import models

from incidents.models.agency import Agency


class AccessRequest(models.Model):
    """Somebody asked for records of a person. Only ever added.

    29 CFR 1910.1020(e)(1)(i): access within fifteen working days of its receipt, or the
    reason in writing and the earliest day. What became of it are its `answers`.
    """

    class AskedAs(models.TextChoices):
        PERSON = "person", "The person, of themself"
        REPRESENTATIVE = "representative", "Somebody with a written authorisation"
        UNION = "union", "The union that represents the person"

    class What(models.TextChoices):
        EXPOSURE = "exposure", "Exposure records"
        MEDICAL = "medical", "Medical records"
        ANALYSES = "analyses", "Analyses made from such records"

    agency = models.ForeignKey(
        Agency, on_delete=models.PROTECT, related_name="access_requests"
    )
    person_name = models.CharField(max_length=120)
    person_code = models.CharField(max_length=16, help_text="The name, for addresses")
    asked_by = models.CharField(max_length=120)
    asked_as = models.CharField(max_length=20, choices=AskedAs.choices)
    authority = models.CharField(
        max_length=500, blank=True, help_text="The written authorisation: of whom, when"
    )
    what = models.CharField(max_length=20, choices=What.choices)
    wanted = models.CharField(max_length=1000, blank=True)
    received_on = models.DateField()
    due_on = models.DateField()
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return f"{self.pk}: {self.person_name}"


class AccessAnswer(models.Model):
    """What was answered to a request, and when. Only ever added.

    After a reason for a delay another answer follows; after the others none.
    """

    class Outcome(models.TextChoices):
        GIVEN = "given", "Access was given"
        LATER = "later", "The reason for a delay was given in writing"
        WITHDRAWN = "withdrawn", "The request was taken back"

    request = models.ForeignKey(
        AccessRequest, on_delete=models.PROTECT, related_name="answers"
    )
    outcome = models.CharField(max_length=20, choices=Outcome.choices)
    answered_on = models.DateField()
    words = models.CharField(max_length=2000)
    earliest_on = models.DateField(null=True, blank=True)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return f"{self.request_id}: {self.outcome}"
