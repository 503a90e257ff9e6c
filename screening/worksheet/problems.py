"""What is wrong with a document: every error with its place, the value and what was expected."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

MISSING: Final = "(missing)"
MOST_ERRORS: Final = 10_000  # more help nobody, and would fill the memory
_SHOWN_LENGTH: Final = 60


@dataclass(frozen=True, slots=True)
class DocumentError:
    """`pointer` is an RFC 6901 JSON Pointer; of a missing field, where it should stand."""

    pointer: str
    value: str
    expected: str

    def __str__(self) -> str:
        """One line, printable whatever the document holds."""
        place = printable(self.pointer) or "(whole document)"
        return f"{place}: {self.value}, expected {printable(self.expected)}"


class WorksheetErrors(Exception):  # noqa: N818  the name is the contract
    """Everything that is wrong with a document, in the order of its fields."""

    def __init__(self, errors: Sequence[DocumentError]) -> None:
        self.errors = tuple(errors)
        super().__init__("\n".join(str(error) for error in self.errors))


class Problems:
    """Collects errors while a document is read on, and cautions for what was accepted."""

    def __init__(self) -> None:
        self.errors: list[DocumentError] = []
        self.cautions: dict[str, None] = {}  # in order, each once

    def wrong(self, pointer: str, value: object, expected: str) -> None:
        self._add(DocumentError(pointer, describe(value), expected))

    def found(self, pointer: str, words: str, expected: str) -> None:
        """As `wrong`, where words say more than the value would."""
        self._add(DocumentError(pointer, printable(words), expected))

    def missing(self, pointer: str, expected: str) -> None:
        self._add(DocumentError(pointer, MISSING, expected))

    def _add(self, error: DocumentError) -> None:
        self.errors.append(error)
        if len(self.errors) == MOST_ERRORS:
            more = DocumentError("", "a document with still more errors", "fewer")
            raise WorksheetErrors([*self.errors, more])

    def caution(self, sentence: str) -> None:
        self.cautions[sentence] = None

    def raise_any(self) -> None:
        if self.errors:
            raise WorksheetErrors(self.errors)


def step_into(pointer: str, key: object) -> str:
    """The pointer of a member of the object or list at `pointer`."""
    return f"{pointer}/{str(key).replace('~', '~0').replace('/', '~1')}"


def printable(text: str) -> str:
    """The text with control characters, lone surrogates and bidi marks as escapes."""
    if text.isprintable():
        return text
    return "".join(
        char if char.isprintable() else char.encode("unicode-escape").decode()
        for char in text
    )


def describe(value: object) -> str:
    """A value as a message shows it: short, on one line, in the words of JSON."""
    match value:
        case None:
            return "null"
        case bool():
            return "true" if value else "false"
        case Decimal():
            return _shortened(str(value))
        case int() if abs(value) >= 10**_SHOWN_LENGTH:
            return f"an integer of more than {_SHOWN_LENGTH} digits"
        case str():
            return _shortened(f'"{value}"')
        case Mapping():
            return "an object"
        case Sequence():
            return "a list"
    return _shortened(str(value))


def _shortened(text: str) -> str:
    if len(text) > _SHOWN_LENGTH:
        text = text[: _SHOWN_LENGTH - 1] + "…"
    return printable(text)
