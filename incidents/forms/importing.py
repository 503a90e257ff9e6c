from typing import Final

from django import forms

from incidents.forms.fields import PlainForm
from screening.worksheet.strict_json import LARGEST_DOCUMENT

LARGEST_FILE: Final = LARGEST_DOCUMENT


class WorksheetFileForm(PlainForm):
    """A worksheet of another agency, as `manage.py export_worksheet` prints it."""

    file = forms.FileField(
        label="Worksheet (JSON)",
        error_messages={
            "required": "Choose the file of the worksheet.",
            "empty": "The file is empty.",
        },
    )

    def clean_file(self) -> bytes:
        file = self.cleaned_data["file"]
        if file.size > LARGEST_FILE:
            raise forms.ValidationError("The file is too large for a worksheet.")
        content: bytes = file.read()
        return content
