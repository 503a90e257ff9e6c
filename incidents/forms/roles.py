from typing import Any

from django import forms

from incidents.forms.fields import Choices, OneOf, PlainForm
from incidents.models import IncidentRole


class RoleForm(PlainForm):
    """Gives one person a part in the incident."""

    person = forms.ChoiceField(label="Person")
    role = OneOf(IncidentRole.Role.choices, label="Part", missing="Choose the part.")

    def __init__(self, data: Any = None, *, people: Choices) -> None:
        super().__init__(data)
        person = self.fields["person"]
        assert isinstance(person, forms.ChoiceField)
        person.choices = list(people)
