"""Phones of the warm zone: offered, revoked, and what they sent that waits."""

import json
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from incidents.forms.fields import Choices, OneOf, PlainForm, PlainText
from incidents.models.device import LONGEST_NAME

LARGEST_FILE = 2_000_000
FILE_FORMAT = "worksheet-phone-entries"


class OfferForm(PlainForm):
    team = OneOf(label="Logs for", missing="Choose the team.")
    name = PlainText(
        longest=LONGEST_NAME, label="Whose phone", help_text="Such as Alder's phone."
    )

    def __init__(self, data: Any = None, *, teams: Choices) -> None:
        super().__init__(data)
        team = self.fields["team"]
        assert isinstance(team, forms.ChoiceField)
        team.choices = list(teams)
        if len(teams) == 1:
            self.initial["team"] = teams[0][0]
        self.fields["name"].error_messages["required"] = "Say whose phone it is."


class HeldForm(PlainForm):
    take = OneOf(
        (("yes", "Take it into the log"), ("no", "Leave it out")),
        label="Decision",
        missing="Choose one of the two.",
    )
    reason = PlainText(longest=1000, one_line=False, label="Why")

    def __init__(self, data: Any = None) -> None:
        super().__init__(data)
        self.fields["reason"].error_messages["required"] = "Give the reason."


class HandedOverForm(PlainForm):
    """A file that a phone made of what it could not send."""

    file = forms.FileField(label="The phone's file")

    def clean_file(self) -> list[dict[str, Any]]:
        file = self.cleaned_data["file"]
        if file.size > LARGEST_FILE:
            raise ValidationError("The file is too large to be a phone's.")
        try:
            data = json.load(file)
        except (ValueError, RecursionError) as error:
            raise ValidationError(f"This is no file of a phone: {error}.") from error
        if not isinstance(data, dict) or data.get("format") != FILE_FORMAT:
            raise ValidationError(f"This is no file of a phone: no {FILE_FORMAT}.")
        entries = data.get("entries")
        if not isinstance(entries, list) or not entries:
            raise ValidationError("The file holds no entries.")
        return entries
