"""What a password may not be, beside Django's own checks.

As NIST SP 800-63B has it (from memory): a least length, nothing from a list of common
ones, nothing made of the place it is used in, nothing that repeats. No rules about kinds
of characters, and no expiry.
"""

import re
from typing import Final

from django.core.exceptions import ValidationError

from incidents.models import Person

# Words that anyone would try here, beside the person's and the agency's names.
OF_HERE: Final = ("hazmat", "incident", "worksheet", "command", "password", "fire")
LEAST_OF_ITS_OWN: Final = 6
FEWEST_CHARACTERS: Final = 5


class NotOfHereValidator:
    """Refuses what is little more than names from here, or a few characters repeated."""

    def validate(self, password: str, user: Person | None = None) -> None:
        if len(set(password)) < FEWEST_CHARACTERS:
            raise ValidationError(
                "This repeats a few characters. Take several words instead.",
                code="password_repeats",
            )
        left = password.casefold()
        for word in sorted(_words_of(user), key=len, reverse=True):
            left = left.replace(word, "")
        if len(re.sub(r"[\W\d_]", "", left)) < LEAST_OF_ITS_OWN and left != (
            password.casefold()
        ):
            raise ValidationError(
                "This is made of names and words from here, which others would try.",
                code="password_of_here",
            )

    def get_help_text(self) -> str:
        return "Not made of your name, your agency's name or words of the job alone."


def _words_of(user: Person | None) -> set[str]:
    words = set(OF_HERE)
    if user is not None:
        names = [user.username, user.display_name]
        if user.agency is not None:
            names.append(user.agency.name)
        for name in names:
            words |= {part for part in re.split(r"\W+", name.casefold()) if part}
    return {word for word in words if len(word) > 2}
