"""What people typed, kept as it can be stored, or refused at its place."""

from incidents.services.errors import EntryRefusedError
from incidents.text import clean_text
from screening.worksheet import DocumentError


def refused(pointer: str, expected: str, value: object = "") -> EntryRefusedError:
    """A refusal of one thing; `pointer` is the place in what was sent."""
    error = DocumentError(pointer=pointer, value=str(value), expected=expected)
    return EntryRefusedError((error,))


def typed(
    text: str,
    pointer: str,
    *,
    longest: int = 2_000,
    one_line: bool = False,
    needed: str = "",
) -> str:
    """The text as it is kept. `needed` is what is expected where it must not be empty.

    Raises `EntryRefusedError` at the pointer.
    """
    try:
        kept = clean_text(text, max_length=longest, one_line=one_line)
    except ValueError as error:
        raise refused(pointer, str(error)) from error
    if needed and not kept:
        raise refused(pointer, needed)
    return kept
