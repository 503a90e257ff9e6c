import json
from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal
from functools import cached_property
from typing import Any

from django.conf import settings
from django.db import models

from incidents.house_rules import canonical_values
from incidents.models.agency import Agency


class SopProfile(models.Model):
    """One version of an agency's limits and house rules. A change makes a new version.

    The database refuses to change or delete one. `sha256` is over everything else that
    it holds (`incidents.services.profiles.content`), the version before it included.
    """

    agency = models.ForeignKey(
        Agency, on_delete=models.PROTECT, related_name="sop_profiles"
    )
    name = models.CharField(max_length=120)
    version = models.CharField(max_length=40)
    document = models.TextField(help_text="The worksheet's profile object, as JSON")
    house_rules = models.TextField(
        default="{}",
        help_text="What it sets of incidents.house_rules, as entered; JSON",
    )
    reasons = models.TextField(
        default="{}", help_text="Why a value is looser than its source, by key; JSON"
    )
    approved_by = models.CharField(max_length=120, blank=True)
    effective_on = models.DateField(help_text="In the agency's time zone")
    previous = models.ForeignKey(
        "self",
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="following",
        help_text="The version that it was made from",
    )
    created_at = models.DateTimeField()
    created_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+", null=True
    )
    author_name = models.CharField(
        max_length=150, blank=True, help_text="As it was that day"
    )
    sha256 = models.CharField(max_length=64, blank=True)

    class Meta:
        ordering = ("name", "-created_at", "-pk")
        constraints = (
            models.UniqueConstraint(
                fields=("agency", "name", "version"), name="one_profile_per_version"
            ),
        )

    def __str__(self) -> str:
        return f"{self.name}, version {self.version}"

    @cached_property
    def house_values(self) -> Mapping[str, Decimal]:
        """The house rules that it sets, canonical; see `house_rules.value_of`."""
        return canonical_values(json.loads(self.house_rules, parse_float=Decimal))

    @cached_property
    def reasons_given(self) -> Mapping[str, str]:
        """Why a value is looser than its source, by the key of the limit."""
        given: dict[str, Any] = json.loads(self.reasons)
        return given


class SopWithdrawal(models.Model):
    """A version taken from use for new incidents. Only ever added; it is not undone."""

    profile = models.OneToOneField(
        SopProfile, on_delete=models.PROTECT, related_name="withdrawal"
    )
    at = models.DateTimeField()
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    by_name = models.CharField(max_length=150, help_text="As it was that day")
    reason = models.TextField()

    def __str__(self) -> str:
        at: datetime = self.at
        return f"{self.profile_id} withdrawn {at:%Y-%m-%d}"
