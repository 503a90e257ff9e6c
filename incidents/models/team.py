from django.db import models

from incidents.models.incident import Incident


class EntryTeam(models.Model):
    """A team as it was set up. What it wears now follows from the log."""

    incident = models.ForeignKey(
        Incident, on_delete=models.PROTECT, related_name="teams"
    )
    key = models.CharField(max_length=60)
    name = models.CharField(max_length=120)
    role = models.CharField(max_length=20)
    ensemble = models.CharField(max_length=20)
    position = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ("position", "pk")
        constraints = (
            models.UniqueConstraint(
                fields=("incident", "key"), name="one_team_per_key"
            ),
        )

    def __str__(self) -> str:
        return self.name


class Member(models.Model):
    """One person of a team, with the cylinder as it was filled."""

    team = models.ForeignKey(
        EntryTeam, on_delete=models.PROTECT, related_name="members"
    )
    key = models.CharField(max_length=60)
    name = models.CharField(max_length=120)
    position = models.PositiveSmallIntegerField()
    cylinder = models.TextField(
        blank=True, help_text="The worksheet's cylinder object, as JSON; empty for none"
    )

    class Meta:
        ordering = ("position", "pk")
        constraints = (
            models.UniqueConstraint(fields=("team", "key"), name="one_member_per_key"),
        )

    def __str__(self) -> str:
        return self.name
