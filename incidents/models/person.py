from django.contrib.auth.models import AbstractUser
from django.db import models

from incidents.models.agency import Agency


class Person(AbstractUser):
    """Someone who signs in. What they may do follows from their role per incident."""

    agency = models.ForeignKey(
        Agency, on_delete=models.PROTECT, null=True, blank=True, related_name="people"
    )
    display_name = models.CharField(max_length=120, blank=True)
    may_open = models.BooleanField("may open an incident", default=False)

    @property
    def shown_name(self) -> str:
        """The name that pages, reports and the log carry."""
        return self.display_name or self.get_full_name() or self.username
