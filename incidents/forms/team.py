from typing import Any

from django import forms

from incidents.forms.opening import TeamForm, member_documents
from incidents.text import unique_key


class AddedTeamForm(TeamForm):
    """A team that comes later."""

    pressure_unit = forms.ChoiceField(
        choices=(("psi", "psi"), ("bar", "bar")), label="Air gauges read"
    )

    def __init__(self, data: Any = None, *, taken: list[str]) -> None:
        super().__init__(data)
        self.taken = taken
        self.fields["name"].required = True
        self.fields["name"].error_messages["required"] = "Name the team."

    def document(self) -> dict[str, Any]:
        """The worksheet's team object, with the names people use."""
        cleaned = self.cleaned_data
        return {
            "id": unique_key(cleaned["name"], self.taken, "team"),
            "name": cleaned["name"],
            "role": cleaned["role"],
            "ensemble": cleaned["ensemble"],
            "members": member_documents(cleaned["members"], cleaned["pressure_unit"]),
        }
