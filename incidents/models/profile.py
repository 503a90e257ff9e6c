from django.conf import settings
from django.db import models

from incidents.models.agency import Agency


class SopProfile(models.Model):
    """One version of an agency's limits. A change makes a new version."""

    agency = models.ForeignKey(
        Agency, on_delete=models.PROTECT, related_name="sop_profiles"
    )
    name = models.CharField(max_length=120)
    version = models.CharField(max_length=40)
    document = models.TextField(help_text="The worksheet's profile object, as JSON")
    created_at = models.DateTimeField()
    created_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+", null=True
    )

    class Meta:
        ordering = ("name", "-created_at", "-pk")
        constraints = (
            models.UniqueConstraint(
                fields=("agency", "name", "version"), name="one_profile_per_version"
            ),
        )

    def __str__(self) -> str:
        return f"{self.name}, version {self.version}"
