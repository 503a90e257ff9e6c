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
    may_edit_sop = models.BooleanField("may write the SOP's limits", default=False)
    may_review = models.BooleanField(
        "reviews the agency's incidents",
        default=False,
        help_text="Sees every incident of the agency, with a part in it or without",
    )
    is_agency_owner = models.BooleanField(
        "runs the agency",
        default=False,
        help_text="Adds people, gives new passwords, sees who signed in",
    )
    # The password was made by someone else and is to be changed at the first sign-in.
    must_change_password = models.BooleanField(default=False)

    class Meta:
        verbose_name = "person"
        verbose_name_plural = "people"

    @property
    def reviews(self) -> bool:
        """Whether they look back on every incident of their agency, and run its drills."""
        return self.is_active and self.may_review and self.agency_id is not None

    @property
    def shown_name(self) -> str:
        """The name that pages, reports and the log carry."""
        return self.display_name or self.get_full_name() or self.username
