"""A medical check as it is typed, and a decision of medical."""

import uuid
from datetime import datetime
from decimal import Decimal
from typing import Any, Final
from zoneinfo import ZoneInfo

from django import forms

from incidents.forms.fields import DecimalText, OneOf, PlainForm, PlainText, time_said
from incidents.forms.instruments import quantity
from incidents.models import MedicalCheck

Kind = MedicalCheck.Kind
NONE: Final = "none"
REPORTED: Final = "reported"


class TimedForm(PlainForm):
    """What is sent once, now or at another time of today."""

    client_uuid = forms.UUIDField(
        widget=forms.HiddenInput,
        error_messages={"required": "Open the page again: its identifier is missing."},
    )
    other_time = PlainText(
        required=False,
        longest=8,
        label="At another time",
        help_text="Hours and minutes, such as 14:02. Empty means now.",
    )

    def __init__(
        self, data: Any = None, *, now: datetime, zone: ZoneInfo, initial: Any = None
    ) -> None:
        super().__init__(data, initial={"client_uuid": uuid.uuid4()} | (initial or {}))
        self.now, self.zone = now, zone

    def clean_other_time(self) -> datetime:
        text = self.cleaned_data["other_time"]
        return time_said(text, self.now, self.zone) if text else self.now


class CheckForm(TimedForm):
    """What was measured of one person. What was not taken stays empty."""

    name = PlainText(longest=120, label="Name")
    kind = OneOf(
        [(k.value, str(k.label)) for k in (Kind.BEFORE, Kind.AFTER, Kind.RECHECK)],
        label="Check",
        missing="Choose which check it is.",
    )
    pulse = DecimalText(required=False, label="Pulse, beats a minute")
    systolic = DecimalText(required=False, label="Systolic pressure, mmHg")
    diastolic = DecimalText(required=False, label="Diastolic pressure, mmHg")
    temperature = DecimalText(required=False, label="Temperature")
    temperature_unit = forms.ChoiceField(
        choices=(("degF", "°F"), ("degC", "°C")), label="Unit of temperature"
    )
    breaths = DecimalText(required=False, label="Breaths a minute")
    spo2 = DecimalText(required=False, label="Oxygen saturation, %")
    weight = DecimalText(required=False, label="Weight")
    weight_unit = forms.ChoiceField(
        choices=(("lb", "lb"), ("kg", "kg")), label="Unit of weight"
    )
    asked = OneOf(
        ((NONE, "None reported"), (REPORTED, "Reported")),
        label="Symptoms",
        missing="Ask, and choose whether symptoms are reported.",
    )
    symptoms = PlainText(
        required=False, longest=2000, one_line=False, label="Which symptoms"
    )
    note = PlainText(required=False, longest=2000, one_line=False, label="Note")

    def __init__(
        self,
        data: Any = None,
        *,
        name: str = "",
        correcting: bool = False,
        **given: Any,
    ) -> None:
        super().__init__(data, **given)
        self.fields["name"].error_messages["required"] = "Say who it is."
        if name:
            del self.fields["name"]
        self.known_name = name
        if correcting:
            self.fields["note"].required = True
            self.fields["note"].label = "What was wrong with the other one"
            self.fields["note"].error_messages["required"] = "Say what was wrong."

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        reported, words = cleaned.get("asked") == REPORTED, cleaned.get("symptoms")
        if reported and not words:
            self.add_error("symptoms", "Say which symptoms.")
        if cleaned.get("asked") == NONE and words:
            self.add_error("asked", "Symptoms are written below: choose “Reported”.")
        return cleaned

    def person_name(self) -> str:
        return self.known_name or str(self.cleaned_data["name"])

    def values(self) -> dict[str, Any]:
        """As `services.record_check` takes them."""
        cleaned = self.cleaned_data
        return {
            **{
                name: cleaned[name]
                for name in ("pulse", "systolic", "diastolic", "breaths", "spo2")
            },
            "temperature": _quantity(cleaned, "temperature"),
            "weight": _quantity(cleaned, "weight"),
            "symptoms": cleaned["symptoms"],
        }


def _quantity(cleaned: dict[str, Any], name: str) -> dict[str, Any] | None:
    value: Decimal | None = cleaned[name]
    return quantity(value, cleaned[f"{name}_unit"])


class DecideForm(TimedForm):
    """Medical lets somebody in, or keeps them out."""

    fit = OneOf(
        (("yes", "May go in"), ("no", "May not go in")),
        label="Decision",
        missing="Choose whether this person may go in.",
    )
    reason = PlainText(longest=2000, one_line=False, label="Reason")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["reason"].error_messages["required"] = "Give the reason."
