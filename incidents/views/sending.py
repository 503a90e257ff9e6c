"""One way from a form to the log, and refusals back to their fields."""

from typing import Any

from django import forms
from django.http import HttpRequest
from django.utils import timezone

from incidents import services
from incidents.forms.entry import EntryForm
from incidents.models import Incident, Person

DEVICE_LENGTH = 120
# Where the engine's field is not the form's.
_FIELDS = {
    "ph": "reading",
    "result": "reading",
    "at": "other_time",
    "surface": "surface",
    "hazard": "hazard_at",
    "gases": "gas_name",
}


def send(
    request: HttpRequest, incident: Incident, form: EntryForm
) -> services.Appended | None:
    """Append what the form says; None, with the errors in the form, where refused."""
    assert isinstance(request.user, Person)
    try:
        return services.append_entry(
            incident_id=incident.pk,
            person=request.user,
            body=form.body(),
            client_uuid=form.cleaned_data["client_uuid"],
            recorded_at=timezone.now(),
            device=request.headers.get("User-Agent", "")[:DEVICE_LENGTH],
        )
    except services.EntryRefusedError as refusal:
        for error in refusal.errors:
            add_refusal(form, error.pointer, error.expected)
    except services.RefusalError as refusal:
        form.add_error(None, str(refusal))
    return None


def add_refusal(form: forms.Form, pointer: str, expected: Any) -> None:
    """Put a refusal of the engine beside the field that it is about."""
    part = pointer.strip("/").split("/")[0]
    field = _FIELDS.get(part, part)
    words = f"Not taken: expected {expected}."
    if field in form.fields:
        form.add_error(field, words)
    else:
        form.add_error(None, f"{words[:-1]} ({pointer})." if pointer else words)
