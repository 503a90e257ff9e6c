from django.conf import settings
from django.db import models

from incidents.models.agency import Agency


class EmploymentEnd(models.Model):
    """When somebody's employment ended; the newest row of a name counts. Only ever added.

    Records are kept for thirty years from then (29 CFR 1910.1020(d)(1)). `ended_on` None
    takes an earlier row back: the person is employed.
    """

    agency = models.ForeignKey(
        Agency, on_delete=models.PROTECT, related_name="employment_ends"
    )
    person_name = models.CharField(max_length=120)
    person_code = models.CharField(max_length=16, help_text="The name, for addresses")
    ended_on = models.DateField(null=True, blank=True)
    recorded_at = models.DateTimeField()
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering = ("pk",)
        indexes = (
            models.Index(fields=("agency", "person_code"), name="employment_by_name"),
        )

    def __str__(self) -> str:
        return f"{self.person_name}: {self.ended_on or 'employed'}"
