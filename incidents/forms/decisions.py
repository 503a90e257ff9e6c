"""What the commander decides, and what a technician puts right."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

from django import forms

from command.scene import Lack
from incidents.forms.deciding import DecisionForm
from incidents.forms.fields import OneOf, PlainForm, PlainText
from incidents.forms.records import MaydayForm, MaydayOverForm, NoteForm, OrderForm
from incidents.forms.roll_call import ExitForm, ParForm
from screening.ensembles import Ensemble
from screening.verdicts import Action, Hazard

ANYWAY_REASONS = (
    (
        "Rescue before the full team has assembled",
        "Rescue before the full team has assembled",
    ),
    ("It is ready, not yet recorded", "It is ready, not yet recorded"),
    ("", "Another reason"),
)


class EnterForm(DecisionForm):
    """A team goes in. What keeps it out is shown with a place to say why it goes anyway.

    29 CFR 1910.134(g), note 2 lets a rescue begin before the full team is there.
    """

    kind = "enter"
    anyway = OneOf(ANYWAY_REASONS, required=False, label="Go anyway, and why")
    anyway_words = PlainText(required=False, longest=500, label="In your own words")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.lacks: tuple[Lack, ...] = ()

    def go_anyway(self) -> str:
        """The reason to go in all the same; "" where none was given."""
        given = (self.cleaned_data["anyway"], self.cleaned_data["anyway_words"])
        return ": ".join(filter(None, given))

    def keep_out(self, lacks: tuple[Lack, ...]) -> None:
        self.lacks = lacks
        self.add_error(
            None, "Not ready yet. Nothing was logged: see what is open, or say why."
        )


# What is most often done; common practice, no source. Each is a button that saves.
VENTILATIONS: Final = (
    "Doors and windows opened",
    "Fan blowing in",
    "The building's own ventilation",
)


class VentilateForm(DecisionForm):
    kind = "ventilate"
    needs_team = False
    known_place = OneOf(required=False, label="Where")
    quick = OneOf(tuple((how, how) for how in VENTILATIONS), required=False)
    method = PlainText(
        required=False,
        label="Or another way",
        help_text="Such as fan at the north door.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        known = self.fields["known_place"]
        assert isinstance(known, forms.ChoiceField)
        known.choices = [(place, place) for place in self.choices.places]
        place = self.initial.pop("place", "")
        if place in self.choices.places:
            self.initial["known_place"] = place
        self.fields["place"].label = "Or another place" if known.choices else "Place"

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not cleaned.get("quick") and not cleaned.get("method"):
            self.add_error("method", "Say how it is ventilated.")
        return cleaned

    def said(self) -> dict[str, Any]:
        cleaned = self.cleaned_data
        return {
            "place": cleaned["place"] or cleaned["known_place"],
            "method": cleaned["quick"] or cleaned["method"],
        }


class ChangeEnsembleForm(DecisionForm):
    """What the team wears now; each is a button that saves."""

    kind = "change_ensemble"
    gathers_place = False
    ensemble = OneOf(
        tuple((e.value, e.label) for e in Ensemble),
        label="Wears now",
        missing="Choose what the team wears now.",
    )

    def said(self) -> dict[str, Any]:
        return {"ensemble": self.cleaned_data["ensemble"]}


class BumpTestForm(DecisionForm):
    kind = "bump_test"
    needs_team = False
    gathers_place = False
    passed = OneOf(
        (("yes", "Passed"), ("no", "Failed")),
        label="Test",
        missing="Choose passed or failed.",
    )

    def _offer_instruments(self) -> None:
        del self.fields["borrowed"]
        every = [pair for pairs in self.choices.instruments.values() for pair in pairs]
        instrument = self.fields["instrument"]
        assert isinstance(instrument, forms.ChoiceField)
        instrument.choices = every
        instrument.required = True
        instrument.error_messages["required"] = "Choose the instrument."

    def said(self) -> dict[str, Any]:
        return {"passed": self.cleaned_data["passed"] == "yes"}


class ByForm(DecisionForm):
    """A decision that carries the name of whoever makes it; the view gives the name."""

    needs_team = False
    gathers_place = False

    def __init__(self, *args: Any, by: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.by = by

    def said(self) -> dict[str, Any]:
        return {"by": self.by}


class AcknowledgeForm(ByForm):
    """Heard: an alarm as it was shown ("key:stop"), or the findings of one entry."""

    kind = "acknowledge"
    alarm = forms.RegexField(
        r"^[0-9a-f]{16}:(stop|withdraw)$", required=False, widget=forms.HiddenInput
    )
    entry = forms.UUIDField(required=False, widget=forms.HiddenInput)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not cleaned.get("alarm") and not cleaned.get("entry"):
            self.add_error(None, "Choose what was heard.")
        return cleaned

    def heard(self) -> tuple[str, Action]:
        """The alarm's key, and how severe it was when it was shown."""
        key, _, word = self.cleaned_data["alarm"].partition(":")
        return key, Action[word.upper()]

    def said(self) -> dict[str, Any]:
        return super().said() | {"entry": str(self.cleaned_data["entry"])}


@dataclass(frozen=True, slots=True, kw_only=True)
class Clearable:
    """A hazard that stands at a place, and what speaks against clearing it now."""

    value: str
    label: str
    why_not: str  # "" where a clear would hold


# Each is a button that saves; common practice, no source.
CLEAR_REASONS: Final = (
    "Read again, nothing found",
    "Source stopped, read again",
    "Ventilated, read again",
)


class ClearForm(ByForm):
    """Clears one hazard at one place; `standing` offers what stands."""

    kind = "clear"
    hazard_at = OneOf(label="Hazard and place", missing="Choose the hazard to clear.")
    quick = OneOf(tuple((why, why) for why in CLEAR_REASONS), required=False)
    reason = PlainText(
        required=False, longest=1000, one_line=False, label="Or in your own words"
    )

    def __init__(self, *args: Any, standing: list[Clearable], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.standing = standing
        hazard_at = self.fields["hazard_at"]
        assert isinstance(hazard_at, forms.ChoiceField)
        hazard_at.choices = [(one.value, one.label) for one in standing]
        if len(standing) == 1:
            self.initial.setdefault("hazard_at", standing[0].value)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not cleaned.get("quick") and not cleaned.get("reason"):
            self.add_error("reason", "Give the reason why it no longer stands.")
        return cleaned

    def said(self) -> dict[str, Any]:
        hazard, _, place = self.cleaned_data["hazard_at"].partition("|")
        return super().said() | {
            "hazard": Hazard(hazard).value,
            "place": place,
            "reason": self.cleaned_data["quick"] or self.cleaned_data["reason"],
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


DECISION_FORMS: Final[Mapping[str, type[DecisionForm]]] = MappingProxyType(
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
            NoteForm,
            OrderForm,
            MaydayForm,
            MaydayOverForm,
        )
    }
)
