from django.conf import settings
from django.db import models

from incidents.models.incident import Incident


class ImportedWorksheet(models.Model):
    """The file that an incident was made from: an incident with one is read only.

    The bytes are kept as they came, so that an export gives the same file again. The
    log holds them converted: its ids are UUIDs, numbers and words are the file's.
    """

    incident = models.OneToOneField(
        Incident, on_delete=models.PROTECT, related_name="imported", primary_key=True
    )
    file = models.BinaryField()
    sha256 = models.CharField(max_length=64)
    imported_at = models.DateTimeField()
    imported_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )

    def __str__(self) -> str:
        return f"{self.incident_id} from {self.sha256[:12]}"
