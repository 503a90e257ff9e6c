"""Papers: what colour, in the air or in the liquid, wet or dry."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from incidents.forms.entry import EntryForm
from incidents.forms.fields import OneOf

SAMPLES = (("vapour", "In the air"), ("liquid", "In the liquid"))
UNREADABLE = "unreadable"
NOT_STORED = (
    "Nothing was stored: a paper that cannot be read says nothing. "
    "Take a fresh strip and read it at once."
)

# The words of the default chart (screening-spec, section 2).
_COLOURS = {
    **dict.fromkeys(range(0, 4), "red"),
    4: "orange",
    **dict.fromkeys((5, 6), "yellow"),
    7: "green",
    **dict.fromkeys((8, 9), "blue-green"),
    **dict.fromkeys(range(10, 13), "blue"),
    **dict.fromkeys((13, 14), "dark blue"),
}
PH_CHOICES = tuple((str(ph), word) for ph, word in sorted(_COLOURS.items()))


class PaperForm(EntryForm):
    """Wet or dry is said by the button that saves: nothing is ever taken to be wet."""

    sample = OneOf(SAMPLES, label="Held", missing="Choose in the air or in the liquid.")
    moistened = forms.ChoiceField(
        choices=(("yes", "wet"), ("no", "dry")), required=False, label="Strip"
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("reading") == UNREADABLE:
            raise ValidationError(NOT_STORED)
        if cleaned.get("sample") == "vapour" and not cleaned.get("moistened"):
            self.add_error("moistened", "Say whether the strip was wet or dry.")
        return cleaned

    def said(self) -> dict[str, Any]:
        cleaned = self.cleaned_data
        body: dict[str, Any] = {"sample": cleaned["sample"]}
        if cleaned["sample"] == "vapour":
            body["moistened"] = cleaned["moistened"] == "yes"
        return body


class PhPaperForm(PaperForm):
    kind = "ph_paper"
    reading = OneOf(
        (*PH_CHOICES, ("white", "Went white"), (UNREADABLE, "Not readable")),
        label="Colour of the strip",
        missing="Choose the colour of the strip.",
    )
    faded = forms.BooleanField(required=False, label="Faded since")
    carried_on = OneOf(
        (
            ("hook", "On a hook"),
            ("hand", "In the hand"),
            ("facepiece", "On the facepiece"),
        ),
        required=False,
        label="Carried",
    )

    def said(self) -> dict[str, Any]:
        cleaned = self.cleaned_data
        body = super().said() | {"carried_on": cleaned["carried_on"]}
        if cleaned["reading"] == "white":
            body["bleached"] = True
        else:
            body["ph"] = int(cleaned["reading"])
        if cleaned["faded"]:
            body["faded"] = True
        return body


class KiStarchPaperForm(PaperForm):
    kind = "ki_starch_paper"
    reading = OneOf(
        (
            ("no_change", "No change"),
            ("blue_black", "Blue-black"),
            ("line_at_wet_edge", "Line at the wet edge"),
            (UNREADABLE, "Not readable"),
        ),
        label="The strip shows",
        missing="Choose what the strip shows.",
    )
    edge_checked = forms.BooleanField(
        required=False, label="Wet and dry edge looked at"
    )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean()
        if (
            cleaned.get("sample") == "vapour"
            and cleaned.get("reading") == "line_at_wet_edge"
        ):
            self.add_error(
                "reading", "A line at the wet edge is read in a liquid only."
            )
        return cleaned

    def said(self) -> dict[str, Any]:
        body = super().said() | {"result": self.cleaned_data["reading"]}
        if self.cleaned_data["sample"] == "liquid":
            body["edge_checked"] = self.cleaned_data["edge_checked"]
        return body


class FluoridePaperForm(PaperForm):
    kind = "fluoride_paper"
    reading = OneOf(
        (
            ("no_change", "No change"),
            ("changed", "Changed colour"),
            (UNREADABLE, "Not readable"),
        ),
        label="The strip shows",
        missing="Choose what the strip shows.",
    )

    def said(self) -> dict[str, Any]:
        return super().said() | {"result": self.cleaned_data["reading"]}
