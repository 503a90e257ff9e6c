"""One way from a form to the log, and refusals back to their fields."""

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

from django import forms
from django.http import HttpRequest
from django.utils import timezone

from incidents import services
from incidents.forms.decisions import AcknowledgeForm, EnterForm
from incidents.forms.entry import EntryForm
from incidents.forms.radio import RadioForm
from incidents.forms.records import RecordForm
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
# What records the application's own, each from what its form gives.
_RECORDS: Mapping[str, Callable[..., services.Appended]] = MappingProxyType(
    {
        "note": services.write_note,
        "order": services.order_out,
        "mayday": services.call_mayday,
        "mayday_over": services.end_mayday,
    }
)


def send(
    request: HttpRequest, incident: Incident, form: EntryForm | RadioForm
) -> services.Appended | None:
    """Append what the form says; None, with the errors in the form, where refused.

    Raises `AlreadyDoneError` where somebody was first.
    """
    assert isinstance(request.user, Person)
    now = timezone.now()
    cleaned = form.cleaned_data
    by = {
        "incident_id": incident.pk,
        "person": request.user,
        "client_uuid": cleaned["client_uuid"],
        "recorded_at": now,
        "device": request.headers.get("User-Agent", "")[:DEVICE_LENGTH],
    }
    at = cleaned.get("other_time") or cleaned.get("observed_at") or now
    try:
        if isinstance(form, AcknowledgeForm) and cleaned["alarm"]:
            alarm, seen = form.heard()
            return services.hear(alarm=alarm, seen=seen, at=at, **by)
        if isinstance(form, RecordForm):
            return _RECORDS[form.kind](at=at, **form.record(), **by)
        if isinstance(form, EnterForm):
            anyway = form.go_anyway()
            return services.enter_team(body=form.body(), go_anyway=anyway, **by)
        return services.append_entry(body=form.body(), **by)
    except services.AlreadyDoneError:
        raise
    except services.NotReadyError as refusal:
        assert isinstance(form, EnterForm)
        form.keep_out(refusal.lacks)
    except services.RefusalError as refusal:
        refuse(form, refusal)
    return None


def refuse(
    form: forms.Form, refusal: services.RefusalError, *, within: str = ""
) -> None:
    """Say a refusal in the form: at its field where it names one, else over the form.

    `within` is where the form's fields lie in what the service was given.
    """
    if not isinstance(refusal, services.EntryRefusedError):
        form.add_error(None, str(refusal))
        return
    for error in refusal.errors:
        _add_refusal(form, error.pointer.removeprefix(within), error.expected)


def _add_refusal(form: forms.Form, pointer: str, expected: Any) -> None:
    """Put a refusal of the engine beside the field that it is about."""
    part = pointer.strip("/").split("/")[0]
    field = _FIELDS.get(part, part)
    words = f"Not taken: expected {expected}."
    if field in form.fields:
        form.add_error(field, words)
    else:
        form.add_error(None, f"{words[:-1]} ({pointer})." if pointer else words)
