"""A photo with what it shows: as a phone names it, and as a file handed in at the post."""

from typing import Any, Final

from django import forms
from django.core.exceptions import ValidationError

from incidents.forms.entry import EntryForm
from incidents.forms.fields import OneOf, PlainForm, PlainText
from incidents.photo_claims import Claim

# A phone's camera makes less; the file is scaled before it is kept.
LARGEST_FILE: Final = 25_000_000
SHOWS: Final = tuple(
    (words, words)
    for words in ("Paper strip", "Label or placard", "Container", "Screen", "Scene")
)


class PhotoFile(forms.FileField):
    """The bytes of a file of at most `LARGEST_FILE`; whether they are a picture is asked
    by the service."""

    widget = forms.FileInput(attrs={"accept": "image/*"})

    def clean(self, data: Any, initial: Any = None) -> bytes:
        file = super().clean(data, initial)
        if not file:
            return b""
        if file.size > LARGEST_FILE:
            most = LARGEST_FILE // 1_000_000
            raise ValidationError(f"The file is too large: at most {most} MB.")
        return bytes(file.read())


class MissingPhotoForm(PlainForm):
    """The photo of an entry that never came, as a file of the phone."""

    photo = PhotoFile(label="The photo's file", help_text="As the phone has it.")


class PhotoForm(EntryForm):
    """A note with a photo, as a phone sends it; the bytes follow by themselves."""

    kind = "note"
    shows = OneOf(SHOWS, missing="Say what it shows.", label="What it shows")
    words = PlainText(
        required=False, longest=500, label="In words", help_text="Such as UN 1017."
    )
    photo_sha256 = forms.CharField(widget=forms.HiddenInput)
    photo_type = forms.CharField(widget=forms.HiddenInput)
    photo_size = forms.IntegerField(widget=forms.HiddenInput)
    photo_original = forms.BooleanField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["note"]

    def said(self) -> dict[str, Any]:
        cleaned = self.cleaned_data
        claim = Claim(
            sha256=cleaned["photo_sha256"],
            media_type=cleaned["photo_type"],
            size=cleaned["photo_size"],
            original=cleaned["photo_original"],
        )
        text = ", ".join(filter(None, (cleaned["shows"], cleaned["words"])))
        return {"text": text, "photo": claim.body()}

    def body(self) -> dict[str, Any]:
        whole = super().body()
        whole.pop("note", None)
        return whole
