"""An understood line held against the engine's own reader, its refusals put at words."""

from dataclasses import replace
from datetime import datetime
from typing import Final

from incidents.documents import dumps
from incidents.radio.understood import Problem, Understood
from screening.incident import Context
from screening.readings import Entry
from screening.worksheet import WorksheetErrors, load_json, parse_entry

_ID: Final = "line"


def check(
    understood: Understood, line: str, context: Context, now: datetime
) -> tuple[Understood, Entry | None]:
    """The entry as the engine reads it; None, with the problems, where it does not."""
    if not understood.whole:
        return understood, None
    text = dumps({"id": _ID, "at": now.isoformat(), **understood.body})
    try:
        return understood, parse_entry(load_json(text), context)
    except WorksheetErrors as error:
        problems = tuple(
            _at_word(understood, line, refused.pointer, refused.expected)
            for refused in error.errors
        )
        return replace(understood, problems=problems), None


def _at_word(understood: Understood, line: str, pointer: str, expected: str) -> Problem:
    field = pointer.strip("/").split("/")[0]
    start, end = understood.spans.get(field, (len(line), len(line)))
    return Problem(start, end, expected)
