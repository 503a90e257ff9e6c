"""What every decision carries beside an entry: what its page knew of the log."""

from typing import Any, ClassVar

from django import forms

from incidents.forms.entry import EntryForm
from incidents.forms.fields import OneOf


class DecisionForm(EntryForm):
    team_by_button: ClassVar[bool] = False  # the button that saves names the team
    # The last entry when the page was opened; what others decided since is said.
    opened = forms.IntegerField(required=False, widget=forms.HiddenInput)

    def chosen_team(self) -> str:
        """The id of the team as it stands in the form, "" for none of this incident."""
        chosen = str(self["team"].value() or "") if "team" in self.fields else ""
        return chosen if chosen in dict(self.choices.teams) else ""


class NamesForm(DecisionForm):
    """The names of one team, each ticked; the button says all of them or those ticked."""

    gathers_place = False
    names = forms.MultipleChoiceField(
        required=False, widget=forms.CheckboxSelectMultiple, label="Names"
    )
    answer = OneOf(
        (("all", "All"), ("ticked", "Those ticked")),
        missing="Say whether it is all of them or those ticked.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        names = self.fields["names"]
        assert isinstance(names, forms.MultipleChoiceField)
        names.choices = list(self.members())
        names.error_messages["invalid_choice"] = "One of them is in another team."

    def members(self) -> tuple[tuple[str, str], ...]:
        return self.choices.members.get(self.chosen_team(), ())

    def missing(self) -> list[str]:
        """The ids of those who are not ticked."""
        if self.cleaned_data["answer"] == "all":
            return []
        ticked = self.cleaned_data["names"]
        return [key for key, _ in self.members() if key not in ticked]

    def named(self) -> str:
        """Such as "Alder, Birch"."""
        missing = self.missing()
        return ", ".join(name for key, name in self.members() if key not in missing)
