"""Notes, orders and Maydays: the application's own records, not the engine's."""

from typing import Any

from django import forms

from incidents.forms.deciding import DecisionForm
from incidents.forms.fields import OneOf, PlainText
from incidents.forms.photos import PhotoFile


class RecordForm(DecisionForm):
    """`record` gives what the service of that record takes beside who and when."""

    needs_team = False
    gathers_place = False

    def record(self) -> dict[str, Any]:
        return {}


class NoteForm(RecordForm):
    kind = "note"
    needs_team = True
    gathers_place = True
    text = PlainText(longest=10_000, one_line=False, label="What is noted")
    photo = PhotoFile(
        required=False,
        label="Photo",
        help_text="It is scaled, and what the camera wrote into it is left out, unless "
        "the SOP keeps it.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["text"].error_messages["required"] = "Write the note."
        team = self.fields["team"]
        assert isinstance(team, forms.ChoiceField)
        team.required = False
        team.choices = [("", "No team"), *self.choices.teams]
        del self.fields["note"]

    def record(self) -> dict[str, Any]:
        said = {key: self.cleaned_data[key] for key in ("text", "team", "place")}
        return said | {"picture": self.cleaned_data["photo"]}


class OrderForm(RecordForm):
    """The team leaves now; the button names it."""

    kind = "order"
    needs_team = True
    team_by_button = True
    reason = PlainText(required=False, longest=500, label="Why")

    def record(self) -> dict[str, Any]:
        return {key: self.cleaned_data[key] for key in ("team", "reason")}


class MaydayForm(RecordForm):
    """One touch: nothing is asked."""

    kind = "mayday"


class MaydayOverForm(RecordForm):
    """`people` are those of the incident that can stand by it, beside the sender."""

    kind = "mayday_over"
    who = OneOf(required=False, label="Who else says that all are accounted for")
    second = PlainText(required=False, longest=150, label="Or another name")

    def __init__(self, *args: Any, people: list[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        who = self.fields["who"]
        assert isinstance(who, forms.ChoiceField)
        who.choices = [(name, name) for name in people]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not cleaned.get("who") and not cleaned.get("second"):
            self.add_error("second", "Give the name of a second person.")
        return cleaned

    def record(self) -> dict[str, Any]:
        return {"second": self.cleaned_data["second"] or self.cleaned_data["who"]}
