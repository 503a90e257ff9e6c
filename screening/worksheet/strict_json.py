"""JSON read strictly: exact numbers, no key twice, bounds on size and depth.

Whatever bytes come in, the answer is a document or `WorksheetErrors`.
"""

import json
from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any, Final

from screening.worksheet.problems import Problems, WorksheetErrors, step_into

LARGEST_DOCUMENT: Final = 20_000_000  # bytes
DEEPEST: Final = 32
# Far beyond any reading, and few enough figures that arithmetic on them stays exact.
MOST_FIGURES: Final = 20
_LARGEST_EXPONENT: Final = 15
_SMALLEST_EXPONENT: Final = -20
_LONGEST_LITERAL: Final = 60
NUMBER_EXPECTED: Final = (
    f"a number of at most {MOST_FIGURES} figures, below 1e{_LARGEST_EXPONENT + 1}"
)


class _RefusedNumber:
    """Stands in the document for a number that is none, until its place is known."""

    def __init__(self, literal: str) -> None:
        self.literal = literal

    def __str__(self) -> str:
        return self.literal


class _RepeatedKeys(dict[str, Any]):
    """An object in which these keys stand more than once."""

    repeated: tuple[str, ...] = ()


def is_sane(number: Decimal) -> bool:
    """Finite, and within the bounds of anything that an instrument can show."""
    if not number.is_finite():
        return False
    _, digits, exponent = number.as_tuple()
    return (
        len(digits) <= MOST_FIGURES
        and isinstance(exponent, int)
        and exponent >= _SMALLEST_EXPONENT
        and len(digits) + exponent <= _LARGEST_EXPONENT + 1
    )


def load_json(data: bytes | str) -> dict[str, Any]:
    """A JSON object with every number a `Decimal`.

    Takes UTF-8, with or without a byte order mark. Raises `WorksheetErrors`, with the
    pointer of each refused number and repeated key, or the line where reading stopped.
    """
    problems = Problems()
    text = _text(data, problems)
    problems.raise_any()
    document = _parsed(text, problems)
    problems.raise_any()
    if not isinstance(document, dict):
        problems.wrong("", document, "an object")
        raise WorksheetErrors(problems.errors)
    _check(document, problems)
    problems.raise_any()
    return document


def dump_json(document: object) -> str:
    """The document as JSON text, every `Decimal` to the letter; `load_json` takes it back.

    Raises TypeError for anything that JSON has no word for, a float included: its last
    figures are not what was read.
    """
    if isinstance(document, Decimal):
        if not document.is_finite():
            raise TypeError(f"{document} is no JSON number")
        return str(document)
    if document is None or isinstance(document, (bool, int, str)):
        return json.dumps(document, ensure_ascii=False)
    if isinstance(document, Mapping):
        members = (
            f"{_key(key)}: {dump_json(value)}" for key, value in document.items()
        )
        return "{" + ", ".join(members) + "}"
    if isinstance(document, (list, tuple)):
        return "[" + ", ".join(map(dump_json, document)) + "]"
    raise TypeError(f"{type(document).__name__} has no place in a document")


def _key(key: object) -> str:
    if not isinstance(key, str):
        raise TypeError("the keys of an object are text")
    return json.dumps(key, ensure_ascii=False)


def _text(data: bytes | str, problems: Problems) -> str:
    if len(data) > LARGEST_DOCUMENT:
        problems.found("", f"{len(data)} bytes", f"at most {LARGEST_DOCUMENT} bytes")
        return ""
    if isinstance(data, str):
        return data.removeprefix("\ufeff")
    expected = "JSON in UTF-8"
    if data.startswith(b"\x1f\x8b"):
        problems.found("", "a gzip-packed file", expected)
        return ""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        problems.found("", "a file in UTF-16 or UTF-32", expected)
        return ""
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        problems.found("", f"bytes that are no UTF-8 in line {line}", expected)
        return ""


def _parsed(text: str, problems: Problems) -> object:
    try:
        return json.loads(
            text,
            parse_float=_number,
            parse_int=_number,
            parse_constant=_RefusedNumber,
            object_pairs_hook=_object,
        )
    except json.JSONDecodeError as error:
        ends_early = error.pos >= len(text.rstrip()) or error.msg.startswith(
            "Unterminated string"
        )
        if ends_early:
            line = text.count("\n") + 1
            problems.found("", f"a file that ends early at line {line}", "whole JSON")
        else:
            found = f"{error.msg} in line {error.lineno}, column {error.colno}"
            problems.found("", found, "JSON")
    except RecursionError:
        problems.found("", "objects and lists in each other without end", _DEPTH)
    return None


_DEPTH: Final = f"objects and lists at most {DEEPEST} deep"


def _number(literal: str) -> Decimal | _RefusedNumber:
    if len(literal) > _LONGEST_LITERAL:
        return _RefusedNumber(literal)
    try:
        number = Decimal(literal)
    except ArithmeticError:  # an exponent beyond Decimal's own
        return _RefusedNumber(literal)
    if not is_sane(number):
        return _RefusedNumber(literal)
    return number if number else abs(number)  # -0 is 0


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) == len(pairs):
        return made
    seen: set[str] = set()
    twice: dict[str, None] = {}
    for key, _ in pairs:
        if key in seen:
            twice[key] = None
        seen.add(key)
    marked = _RepeatedKeys(made)
    marked.repeated = tuple(twice)
    return marked


def _check(document: dict[str, Any], problems: Problems) -> None:
    """Walk the document once for what only a pointer can name, holding one path at a time."""
    path: list[Iterator[tuple[str, Any]]] = [iter([("", document)])]
    while path:
        member = next(path[-1], None)
        if member is None:
            path.pop()
            continue
        pointer, value = member
        if isinstance(value, _RefusedNumber):
            problems.wrong(pointer, value, NUMBER_EXPECTED)
        elif len(path) > DEEPEST:
            problems.wrong(pointer, value, _DEPTH)
            return
        else:
            if isinstance(value, _RepeatedKeys):
                for key in value.repeated:
                    repeated = step_into(pointer, key)
                    problems.found(repeated, "a key given twice", "it once")
            path.append(_inner(pointer, value))


def _inner(
    pointer: str, container: dict[str, Any] | list[Any]
) -> Iterator[tuple[str, Any]]:
    members = container.items() if isinstance(container, dict) else enumerate(container)
    for key, value in members:
        if isinstance(value, (dict, list, _RefusedNumber)):
            yield step_into(pointer, key), value
