from django.db import models

from incidents.models.agency import Agency
from incidents.models.incident import Incident
from screening.verdicts import Action


class ArchiveRow(models.Model):
    """What the archive finds an incident by, and its figures. No truth is in it.

    All of it follows from the log and the findings; `manage.py rebuild` makes it again.
    A drill has none. Text is folded (`incidents.text.folded`); lists are kept between
    line ends, so that "\\nX\\n" finds a whole item.
    """

    incident = models.OneToOneField(
        Incident, on_delete=models.CASCADE, related_name="archived", primary_key=True
    )
    agency = models.ForeignKey(Agency, on_delete=models.CASCADE, related_name="+")
    opened_at = models.DateTimeField()
    head_seq = models.PositiveIntegerField(help_text="The last record it is made from")
    entries = models.PositiveIntegerField()
    worst = models.PositiveSmallIntegerField(
        choices=[(action.value, action.label) for action in Action]
    )
    hazards = models.TextField(blank=True)
    rules = models.TextField(blank=True)
    places = models.TextField(blank=True)
    substances = models.TextField(blank=True)
    people = models.TextField(blank=True)
    words = models.TextField(blank=True, help_text="Each word once")
    figures = models.TextField(help_text="Of `incidents.measured`, as JSON")

    class Meta:
        indexes = (
            models.Index(
                fields=("agency", "-opened_at", "incident"), name="archive_newest"
            ),
        )

    def __str__(self) -> str:
        return f"{self.incident_id} as of entry {self.head_seq}"
