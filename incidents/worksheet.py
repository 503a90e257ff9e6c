"""An incident as the worksheet document that `python -m screening` reads."""

from typing import Any

from incidents.documents import loads
from incidents.models import APP_KINDS, Incident


def worksheet_document(incident: Incident) -> dict[str, Any]:
    """The whole worksheet up to the incident's head (`documents.dumps` it).

    The application's own records are left out; the set-up is the one that holds now.
    """
    log = incident.entries.filter(seq__lte=incident.head_seq)
    log = log.exclude(kind__in=APP_KINDS).order_by("seq")
    setup: dict[str, Any] = loads(incident.setup)
    return {
        **setup,
        "log": [loads(body) for body in log.values_list("body", flat=True)],
    }
