"""One line of what came over the radio."""

import uuid
from collections.abc import Mapping
from datetime import datetime
from typing import Any, ClassVar

from django import forms
from django.core.exceptions import ValidationError

from incidents.forms.fields import PlainForm, PlainText, device_time
from incidents.radio.line import LONGEST


class RadioForm(PlainForm):
    """`shown` is what was understood when it was last on the page (see the view)."""

    kind: ClassVar[str] = "radio"
    client_uuid = forms.UUIDField(
        widget=forms.HiddenInput,
        error_messages={"required": "Open the page again: its identifier is missing."},
    )
    observed_at = forms.CharField(widget=forms.HiddenInput, required=False)
    shown = forms.CharField(widget=forms.HiddenInput, required=False)
    line = PlainText(
        longest=LONGEST,
        label="What came over the radio",
        help_text="Such as: entry 1 tank room lel 4 o2 20.8",
    )

    def __init__(self, data: Any = None, *, now: datetime) -> None:
        super().__init__(data, initial={"client_uuid": uuid.uuid4()})
        self.now = now
        self.understood: Mapping[str, Any] = {}
        self.fields["line"].error_messages["required"] = "Type what was said."
        self.fields["line"].widget.attrs |= {
            "autocomplete": "off",
            "autocapitalize": "off",
            "spellcheck": "false",
            "autofocus": True,
        }

    def clean_observed_at(self) -> datetime | None:
        return device_time(self.cleaned_data["observed_at"], self.now)

    def clean_line(self) -> str:
        line: str = self.cleaned_data["line"]
        if not line.strip():
            raise ValidationError("Type what was said.")
        return line

    def body(self) -> dict[str, Any]:
        """The entry as it was understood, in the worksheet's own form."""
        moment = self.cleaned_data["observed_at"]
        at = {"at": moment.isoformat()} if moment else {}
        return {**at, **self.understood}
