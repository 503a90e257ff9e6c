from django.conf import settings
from django.db import models

from incidents.models.agency import Agency


class SignInRecord(models.Model):
    """One try to sign in, or a change of how someone signs in. Only ever added.

    A name that nobody has is not kept: people type their password into that field.
    `key` stands for name and origin together, so that tries can be counted without it.
    """

    class Outcome(models.TextChoices):
        SIGNED_IN = "signed_in", "Signed in"
        RECOVERY_CODE = "recovery_code", "Signed in with a recovery code"
        SIGNED_OUT = "signed_out", "Signed out"
        WRONG_PASSWORD = "wrong_password", "Wrong password"
        WRONG_CODE = "wrong_code", "Wrong code of the second step"
        UNKNOWN_NAME = "unknown_name", "A name that nobody has"
        NOT_ACTIVE = "not_active", "Tried, but may not sign in"
        HELD_BACK = "held_back", "Held back after too many tries"
        WRONG_INVITATION = "wrong_invitation", "Wrong invitation code"
        PASSWORD_CHANGED = "password_changed", "Changed the password"
        PASSWORD_GIVEN = "password_given", "Was given a new password"
        SECOND_STEP_ON = "second_step_on", "Set up the second step"
        SECOND_STEP_OFF = "second_step_off", "Second step removed"
        SHUT_OUT = "shut_out", "May not sign in any more"
        LET_IN = "let_in", "May sign in again"

    at = models.DateTimeField()
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        related_name="sign_ins",
        null=True,
    )
    agency = models.ForeignKey(
        Agency, on_delete=models.PROTECT, related_name="sign_ins", null=True
    )
    name = models.CharField(max_length=150, blank=True, help_text="As it was that day")
    address = models.GenericIPAddressField(null=True)
    outcome = models.CharField(max_length=20, choices=Outcome.choices)
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.PROTECT,
        related_name="+",
        null=True,
        help_text="Who did it, where that was someone else",
    )
    key = models.CharField(max_length=64, blank=True)

    class Meta:
        ordering = ("-at", "-pk")
        verbose_name = "sign-in"
        indexes = (
            models.Index(fields=("key", "-at"), name="sign_in_tries"),
            models.Index(fields=("agency", "-at"), name="sign_in_by_agency"),
        )

    def __str__(self) -> str:
        return f"{self.name or 'somebody'}: {self.get_outcome_display()}"
