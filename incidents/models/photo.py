from django.conf import settings
from django.db import models

from incidents.models.incident import Incident


class Photo(models.Model):
    """The bytes of a photo that a note of the log names by its hash. Only ever added.

    They come after the record, or never: the record stands without them.
    """

    incident = models.ForeignKey(
        Incident, on_delete=models.PROTECT, related_name="photos"
    )
    sha256 = models.CharField(max_length=64)
    media_type = models.CharField(max_length=20)
    content = models.BinaryField()
    received_at = models.DateTimeField()
    added_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    device = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ("received_at", "pk")
        constraints = (
            models.UniqueConstraint(
                fields=("incident", "sha256"), name="one_photo_per_hash"
            ),
        )

    def __str__(self) -> str:
        return self.sha256
