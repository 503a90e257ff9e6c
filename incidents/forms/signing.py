"""Signing off, the agency's signing key, and a report to look at."""

from datetime import datetime
from typing import Any, Final
from zoneinfo import ZoneInfo

from django import forms

from incidents.forms.fields import OneOf, PlainForm, PlainText
from incidents.models import KeyRevocation
from reports.importing import LARGEST_FILE as LARGEST_KEY

AGREE: Final = "agree"
DISSENT: Final = "dissent"
LARGEST_CERTIFICATE: Final = 200_000
LARGEST_REPORT: Final = 25_000_000


class SignOffForm(PlainForm):
    client_uuid = forms.UUIDField(widget=forms.HiddenInput)
    answer = OneOf(
        ((AGREE, "I stand for it"), (DISSENT, "I dissent")),
        missing="Say whether you stand for it or dissent.",
        label="What the log says so far",
    )
    dissent = PlainText(
        required=False,
        longest=2000,
        one_line=False,
        label="What you do not stand for; it is printed above the signature",
    )


class SizedFile(forms.FileField):
    """A file that is read whole, and therefore not a large one."""

    def __init__(self, *, largest: int, too_large: str, **kwargs: Any) -> None:
        self.largest, self.too_large = largest, too_large
        super().__init__(**kwargs)

    def clean(self, data: Any, initial: Any = None) -> Any:
        file = super().clean(data, initial)
        if file and file.size > self.largest:
            raise forms.ValidationError(self.too_large)
        return file


class ImportKeyForm(PlainForm):
    file = SizedFile(
        label="PKCS #12 file (.p12, .pfx) with the key and its certificates",
        largest=LARGEST_KEY,
        too_large="The file is too large for one key and its certificates.",
        error_messages={"required": "Choose the file.", "empty": "The file is empty."},
    )
    passphrase = forms.CharField(
        required=False,
        strip=False,
        max_length=500,
        widget=forms.PasswordInput(attrs={"autocomplete": "off"}),
        label="The file's passphrase",
    )


class MomentText(PlainText):
    """A day and a time of day as they are typed, in the agency's zone.

    Of an hour that comes twice the earlier one is taken: the stricter of the two.
    """

    zone: ZoneInfo = ZoneInfo("UTC")

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        try:
            naive = datetime.strptime(text, "%Y-%m-%d %H:%M")  # noqa: DTZ007
        except ValueError as error:
            raise forms.ValidationError(
                "Write day and time as 2026-03-04 14:02."
            ) from error
        return naive.replace(tzinfo=self.zone)


class RevokeForm(PlainForm):
    since = MomentText(
        label="Not to be trusted from, as 2026-03-04 14:02",
        error_messages={"required": "Say from when."},
    )
    reason = OneOf(tuple(KeyRevocation.Reason.choices), missing="Say why.", label="Why")
    words = PlainText(
        longest=500,
        one_line=False,
        label="What happened",
        error_messages={"required": "Say what happened."},
    )

    def __init__(self, data: Any = None, *, zone: ZoneInfo, now: datetime) -> None:
        initial = {"since": now.astimezone(zone).strftime("%Y-%m-%d %H:%M")}
        super().__init__(data, initial=initial)
        field = self.fields["since"]
        assert isinstance(field, MomentText)
        field.zone = zone


class VerifyForm(PlainForm):
    file = SizedFile(
        label="The report (PDF)",
        largest=LARGEST_REPORT,
        too_large=f"The file is larger than {LARGEST_REPORT // 1_000_000} MB: no report is.",
        widget=forms.FileInput(attrs={"accept": "application/pdf,.pdf"}),
        error_messages={
            "required": "Choose a report.",
            "empty": "The file is empty.",
        },
    )
    root = SizedFile(
        required=False,
        label="Another agency's root certificate (PEM or DER), if you have it",
        largest=LARGEST_CERTIFICATE,
        too_large="The file is too large for a certificate.",
    )
    revoked = SizedFile(
        required=False,
        label="Its list of revoked certificates (CRL), if you have it",
        largest=LARGEST_CERTIFICATE,
        too_large="The file is too large for such a list.",
    )

    def clean_root(self) -> bytes:
        from reports.keys import certificate_from_file

        file = self.cleaned_data.get("root")
        try:
            return certificate_from_file(file.read()) if file else b""
        except ValueError as error:
            raise forms.ValidationError("This file holds no certificate.") from error

    def clean_revoked(self) -> bytes:
        from reports.revoking import list_from_file

        file = self.cleaned_data.get("revoked")
        try:
            return list_from_file(file.read()) if file else b""
        except ValueError as error:
            raise forms.ValidationError("This file is no such list.") from error
