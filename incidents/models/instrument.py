from django.db import models

from incidents.models.agency import Agency


class Instrument(models.Model):
    """A meter, imager or dosimeter of the agency, to be taken into an incident."""

    agency = models.ForeignKey(
        Agency, on_delete=models.PROTECT, related_name="instruments"
    )
    key = models.SlugField(max_length=60)
    label = models.CharField(max_length=120)
    kind = models.CharField(max_length=40)
    document = models.TextField(help_text="The worksheet's instrument object, as JSON")

    class Meta:
        ordering = ("label", "pk")
        constraints = (
            models.UniqueConstraint(
                fields=("agency", "key"), name="one_instrument_per_key"
            ),
        )

    def __str__(self) -> str:
        return self.label
