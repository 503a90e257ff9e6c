from typing import Any

from django import forms

from incidents.forms.fields import Choices, OneOf, PlainForm, PlainText
from incidents.models import IncidentRole
from incidents.services.parts import INVITABLE


class RoleForm(PlainForm):
    """Gives one person a part in the incident."""

    person = forms.ChoiceField(label="Person")
    role = OneOf(IncidentRole.Role.choices, label="Part", missing="Choose the part.")

    def __init__(self, data: Any = None, *, people: Choices) -> None:
        super().__init__(data)
        person = self.fields["person"]
        assert isinstance(person, forms.ChoiceField)
        person.choices = list(people)


class InviteForm(PlainForm):
    """Offers a part to someone of another agency."""

    meant_for = PlainText(
        label="Name and agency",
        longest=120,
        help_text="As they gave it to you. It stands here until they have come.",
        error_messages={"required": "Say whom the invitation is for."},
    )
    role = OneOf(
        [(role.value, role.label) for role in INVITABLE],
        label="Part",
        missing="Choose the part.",
    )


class InvitationCodeForm(PlainForm):
    """Takes the part that a code offers."""

    code = PlainText(
        label="Code of the invitation",
        longest=40,
        help_text="Twelve letters and figures. Capitals and hyphens do not matter.",
        error_messages={"required": "Enter the code that the commander gave you."},
        widget=forms.TextInput(
            attrs={
                "autocomplete": "off",
                "autocapitalize": "none",
                "spellcheck": "false",
            }
        ),
    )
