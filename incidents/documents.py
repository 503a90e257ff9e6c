"""JSON that keeps every digit: what is stored is what was entered.

`7.50` stays `7.50`; a float never gets in. Objects keep the order of their keys.
"""

import json
from collections.abc import Mapping
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any


def dumps(value: object) -> str:
    """Compact JSON of dicts, lists, text, bools, ints, `Decimal` and None.

    Raises `TypeError` for anything else, a float and a non-finite number included.
    """
    parts: list[str] = []
    _write(value, parts)
    return "".join(parts)


def _write(value: object, parts: list[str]) -> None:
    match value:
        case None | bool() | str():
            parts.append(json.dumps(value, ensure_ascii=False))
        case int():
            parts.append(str(value))
        case Decimal() if value.is_finite():
            parts.append(format(value, "f"))
        case Mapping():
            parts.append("{")
            for position, (key, item) in enumerate(value.items()):
                if not isinstance(key, str):
                    raise TypeError(f"a key of a document is text, not {key!r}")
                parts.append("," if position else "")
                parts.append(json.dumps(key, ensure_ascii=False) + ":")
                _write(item, parts)
            parts.append("}")
        case list() | tuple():
            parts.append("[")
            for position, item in enumerate(value):
                parts.append("," if position else "")
                _write(item, parts)
            parts.append("]")
        case _:
            raise TypeError(f"{type(value).__name__} has no place in a document")


def dumps_lines(value: Mapping[str, Any], indent: str = "") -> str:
    """As `dumps`, for people: each member of an object that holds objects on a line."""
    if not any(isinstance(item, Mapping | list | tuple) for item in value.values()):
        return dumps(value)
    deeper = indent + "  "
    lines = (
        f"{deeper}{dumps(key)}: "
        + (dumps_lines(item, deeper) if isinstance(item, Mapping) else dumps(item))
        for key, item in value.items()
    )
    return "{\n" + ",\n".join(lines) + f"\n{indent}}}"


def loads(text: str) -> Any:
    """Read back what `dumps` wrote, every number as a `Decimal`."""
    return json.loads(text, parse_float=Decimal, parse_int=Decimal)


def utc_text(moment: datetime) -> str:
    """The moment in UTC with six digits, the one form that is ever hashed."""
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%fZ")
