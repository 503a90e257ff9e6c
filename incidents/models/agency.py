from django.db import models

from incidents.time_zones import known_time_zone


class Agency(models.Model):
    """One fire department, team or site. Nothing of one is visible to another."""

    name = models.CharField(max_length=200, unique=True)
    slug = models.SlugField(max_length=60, unique=True)
    time_zone = models.CharField(
        max_length=60, default="UTC", validators=[known_time_zone]
    )

    class Meta:
        verbose_name_plural = "agencies"

    def __str__(self) -> str:
        return self.name
