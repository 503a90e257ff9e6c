"""What people change about how they sign in."""

from typing import Any

from django import forms
from django.contrib.auth.forms import PasswordChangeForm
from django.core.exceptions import ValidationError

from incidents.forms.fields import PlainForm, PlainText
from incidents.models import Person
from incidents.services import signing_in
from incidents.services.signing_in import HeldBackError, Try

WRONG_PASSWORD = "This is not your password. It tells capitals apart."


def _password(label: str, **kwargs: Any) -> forms.CharField:
    """As it was typed, blanks too; may be pasted."""
    attrs = {"autocomplete": "current-password"}
    return forms.CharField(
        label=label, strip=False, widget=forms.PasswordInput(attrs=attrs), **kwargs
    )


def _checked(form: "NewPasswordForm | WithPassword", person: Person, typed: str) -> str:
    """The password if it is the person's own; `form.held` where no try counts now."""
    try:
        holds = signing_in.password_holds(person, typed, form.attempt)
    except HeldBackError as held:
        form.held = held
        raise ValidationError(str(held)) from held
    if not holds:
        raise ValidationError(WRONG_PASSWORD)
    return typed


class NewPasswordForm(PasswordChangeForm):
    """The old password, and twice the new one."""

    use_required_attribute = False
    error_messages = {
        "password_incorrect": WRONG_PASSWORD,
        "password_mismatch": "The two new passwords are not the same.",
    }
    error_links = PlainForm.error_links
    held: HeldBackError | None = None

    def __init__(self, person: Person, data: Any, *, attempt: Try) -> None:
        super().__init__(person, data)
        self.attempt = attempt
        self.fields["old_password"].label = "Password that you have now"
        self.fields["new_password1"].label = "New password"
        self.fields["new_password2"].label = "New password again"
        self.fields["new_password1"].help_text = (
            "Twelve characters or more. Several plain words with blanks between them "
            "are good and easy to type."
        )
        self.fields["new_password2"].help_text = ""

    def validate_password_for_user(self, user: Person, *args: Any) -> None:
        """What is wrong with the new password stands at the first of its two fields."""
        super().validate_password_for_user(user, "new_password1")

    def clean_old_password(self) -> str:
        return _checked(self, self.user, self.cleaned_data["old_password"])

    def clean_new_password1(self) -> str:
        new: str = self.cleaned_data["new_password1"]
        if new and new == self.cleaned_data.get("old_password"):
            raise ValidationError("Take another password than the one that you have.")
        return new


class WithPassword(PlainForm):
    """Something that only the person themself does, not who finds the tablet open."""

    password = _password("Your password")
    held: HeldBackError | None = None

    def __init__(self, person: Person, data: Any, *, attempt: Try) -> None:
        super().__init__(data)
        self.person, self.attempt = person, attempt

    def clean_password(self) -> str:
        return _checked(self, self.person, self.cleaned_data["password"])


def _code(label: str, help_text: str) -> PlainText:
    return PlainText(
        label=label,
        longest=40,
        help_text=help_text,
        widget=forms.TextInput(
            attrs={
                "autocomplete": "one-time-code",
                "autocapitalize": "none",
                "spellcheck": "false",
            }
        ),
    )


class CodeForm(PlainForm):
    """The second step of signing in."""

    code = _code(
        "Code",
        "Six figures from the authenticator, or one of your recovery codes.",
    )


class SecondStepForm(WithPassword):
    """Puts the second step in force."""

    code = _code("Code", "The six figures that the authenticator shows now.")
    field_order = ("code", "password")
