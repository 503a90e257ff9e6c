import uuid

from django import forms

from incidents.forms.fields import PlainForm, PlainText
from incidents.services.corrections import LONGEST_ADDENDUM


class AddendumForm(PlainForm):
    """What is added to a closed incident."""

    client_uuid = forms.UUIDField(
        widget=forms.HiddenInput,
        initial=uuid.uuid4,
        error_messages={"required": "Open the page again: its identifier is missing."},
    )
    text = PlainText(
        longest=LONGEST_ADDENDUM,
        one_line=False,
        label="What is to be added",
        error_messages={"required": "Enter what is to be added."},
    )
