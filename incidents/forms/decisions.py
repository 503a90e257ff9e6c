"""What the commander decides, and what a technician puts right."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Final

from django import forms

from incidents.forms.entry import EntryForm
from incidents.forms.fields import OneOf, PlainForm, PlainText
from screening.ensembles import Ensemble
from screening.verdicts import Hazard


class EnterForm(EntryForm):
    kind = "enter"


class ExitForm(EntryForm):
    kind = "exit"
    gathers_place = False


class ParForm(EntryForm):
    kind = "par"
    gathers_place = False
    unanswered = forms.MultipleChoiceField(
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label="Not heard or seen",
        help_text="Leave all open when everyone has answered.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        unanswered = self.fields["unanswered"]
        assert isinstance(unanswered, forms.MultipleChoiceField)
        unanswered.choices = self.choices.all_members()

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        chosen = cleaned.get("team")
        if chosen and any(
            value.partition("/")[0] != chosen for value in cleaned.get("unanswered", ())
        ):
            self.add_error("unanswered", "One of them is in another team.")
        return cleaned

    def said(self) -> dict[str, Any]:
        missing = [v.partition("/")[2] for v in self.cleaned_data["unanswered"]]
        return {"unanswered": missing} if missing else {}


class VentilateForm(EntryForm):
    kind = "ventilate"
    needs_team = False
    method = PlainText(
        longest=200, label="How", help_text="Such as fan at the north door."
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["method"].error_messages["required"] = "Say how it is ventilated."

    def said(self) -> dict[str, Any]:
        return {"method": self.cleaned_data["method"]}


class ChangeEnsembleForm(EntryForm):
    kind = "change_ensemble"
    gathers_place = False
    ensemble = OneOf(
        tuple((e.value, e.label) for e in Ensemble),
        label="Wears now",
        missing="Choose what the team wears now.",
    )

    def said(self) -> dict[str, Any]:
        return {"ensemble": self.cleaned_data["ensemble"]}


class BumpTestForm(EntryForm):
    kind = "bump_test"
    needs_team = False
    gathers_place = False
    passed = OneOf(
        (("yes", "Passed"), ("no", "Failed")),
        label="Test",
        missing="Choose passed or failed.",
    )

    def _offer_instruments(self) -> None:
        every = [pair for pairs in self.choices.instruments.values() for pair in pairs]
        instrument = self.fields["instrument"]
        assert isinstance(instrument, forms.ChoiceField)
        instrument.choices = every
        instrument.required = True
        instrument.error_messages["required"] = "Choose the instrument."

    def said(self) -> dict[str, Any]:
        return {"passed": self.cleaned_data["passed"] == "yes"}


class ByForm(EntryForm):
    """A decision that carries the name of whoever makes it; the view gives the name."""

    needs_team = False
    gathers_place = False

    def __init__(self, *args: Any, by: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.by = by

    def said(self) -> dict[str, Any]:
        return {"by": self.by}


class AcknowledgeForm(ByForm):
    kind = "acknowledge"
    entry = OneOf(label="Heard", missing="Choose what was heard.")

    def __init__(
        self, *args: Any, open_entries: list[tuple[str, str]], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        entry = self.fields["entry"]
        assert isinstance(entry, forms.ChoiceField)
        entry.choices = open_entries
        if len(open_entries) == 1:
            self.initial.setdefault("entry", open_entries[0][0])

    def said(self) -> dict[str, Any]:
        return super().said() | {"entry": self.cleaned_data["entry"]}


class ClearForm(ByForm):
    """Clears one hazard at one place; `standing` offers what stands."""

    kind = "clear"
    hazard_at = OneOf(label="Hazard and place", missing="Choose the hazard to clear.")
    reason = PlainText(longest=1000, one_line=False, label="Why it no longer stands")

    def __init__(
        self, *args: Any, standing: list[tuple[str, str]], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["reason"].error_messages["required"] = "Give the reason."
        hazard_at = self.fields["hazard_at"]
        assert isinstance(hazard_at, forms.ChoiceField)
        hazard_at.choices = standing

    def said(self) -> dict[str, Any]:
        hazard, _, place = self.cleaned_data["hazard_at"].partition("|")
        return super().said() | {
            "hazard": Hazard(hazard).value,
            "place": place,
            "reason": self.cleaned_data["reason"],
        }


STRIKE_REASONS = (
    ("Wrong value", "Wrong value"),
    ("Wrong team", "Wrong team"),
    ("Wrong place", "Wrong place"),
    ("Wet and dry mixed up", "Wet and dry mixed up"),
    ("Wrong time", "Wrong time"),
    ("Logged twice", "Logged twice"),
)


class StrikeForm(ByForm):
    kind = "strike"
    common = OneOf(STRIKE_REASONS, required=False, label="What was wrong")
    reason = PlainText(required=False, longest=500, label="Or in your own words")

    def __init__(self, *args: Any, struck: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.struck = struck

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not cleaned.get("common") and not cleaned.get("reason"):
            self.add_error("common", "Say what was wrong with it.")
        return cleaned

    def said(self) -> dict[str, Any]:
        cleaned = self.cleaned_data
        reason = ": ".join(filter(None, (cleaned["common"], cleaned["reason"])))
        return super().said() | {"entry": self.struck, "reason": reason}


class ReasonForm(PlainForm):
    """Closing and reopening; a reason where something still stands."""

    reason = PlainText(required=False, longest=2000, one_line=False, label="Reason")

    def __init__(self, data: Any = None, *, needed: str = "") -> None:
        super().__init__(data)
        if needed:
            self.fields["reason"].required = True
            self.fields["reason"].error_messages["required"] = needed


DECISION_FORMS: Final[Mapping[str, type[EntryForm]]] = MappingProxyType(
    {
        form.kind: form
        for form in (
            EnterForm,
            ExitForm,
            ParForm,
            VentilateForm,
            ClearForm,
            ChangeEnsembleForm,
            AcknowledgeForm,
            BumpTestForm,
        )
    }
)
