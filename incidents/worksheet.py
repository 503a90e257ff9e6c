"""An incident as the worksheet document that `python -m screening` reads."""

from typing import Any

from incidents.documents import dumps, loads
from incidents.models import APP_KINDS, ImportedWorksheet, Incident


def worksheet_document(incident: Incident) -> dict[str, Any]:
    """The whole worksheet up to the incident's head (`documents.dumps` it).

    The application's own records are left out; the set-up is the one that holds now. A
    drill says that it is one.
    """
    log = incident.entries.filter(seq__lte=incident.head_seq)
    log = log.exclude(kind__in=APP_KINDS).order_by("seq")
    setup: dict[str, Any] = loads(incident.setup)
    return {
        **setup,
        **({"drill": True} if incident.is_drill else {}),
        "log": [loads(body) for body in log.values_list("body", flat=True)],
    }


def worksheet_file(incident: Incident) -> bytes:
    """The worksheet as a file; of an imported incident the very file that came in."""
    files = ImportedWorksheet.objects.filter(incident=incident)
    file = files.values_list("file", flat=True).first()
    if file is not None:
        return bytes(file)
    return dumps(worksheet_document(incident)).encode()
