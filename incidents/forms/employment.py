from django import forms

from incidents.forms.fields import PlainForm


class EmploymentEndForm(PlainForm):
    """When somebody left the agency; empty means that they are employed."""

    ended_on = forms.DateField(
        required=False,
        label="Last day of employment",
        help_text="Empty: employed.",
        widget=forms.DateInput(attrs={"type": "date"}),
        error_messages={"invalid": "Enter a day, such as 2026-03-04."},
    )
