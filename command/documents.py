"""Parts as JSON: read strictly, every error with its pointer; and written back."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any, Final

from command.parts import PARTS, Part
from command.questions import UNKNOWN, Amount, Kind, Point, Question, questions_of
from screening.worksheet.fields import Fields, bounds
from screening.worksheet.problems import Problems, WorksheetErrors
from screening.worksheet.text import collapsed, is_blank

LATITUDE: Final = bounds(-90, 90, "a latitude from -90 to 90 degrees")
LONGITUDE: Final = bounds(-180, 180, "a longitude from -180 to 180 degrees")
MOST_NAMES: Final = 200
_BODY: Final = frozenset({"part", "item", "says", "based_on", "reason"})
_POINT: Final = frozenset({"latitude", "longitude"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Body:
    """What one record of the plan says. `says` is None where the item is taken out."""

    part: Part
    item: str
    says: Any
    based_on: int | None
    reason: str


def read_body(raw: object) -> Body:
    """The body of a `plan` record. Raises `WorksheetErrors` with all that is wrong."""
    problems = Problems()
    fields = Fields.of(raw, "", problems)
    body = None if fields is None else _body(fields)
    problems.raise_any()
    assert body is not None  # otherwise a problem was reported
    return body


def read_says(part: Part, raw: object) -> Any:
    """The answers of one part. Raises `WorksheetErrors`; pointers begin at the part."""
    problems = Problems()
    fields = Fields.of(raw, "", problems)
    says = None if fields is None else _says(part, fields)
    problems.raise_any()
    return says


def _body(fields: Fields) -> Body | None:
    fields.allow(_BODY, "a record of the plan")
    part = PARTS.get(fields.choice("part", tuple(PARTS)))
    if part is None:
        return None
    reason = fields.note("reason")
    says = None
    if fields.raw.get("says", ...) is None:  # taken out: why is part of the record
        if not part.many:
            fields.wrong("says", "an object")
        elif not reason:
            fields.wrong("reason", "why it is taken out")
    else:
        inner = fields.inner("says", required=True)
        says = None if inner is None else _says(part, inner)
    return Body(
        part=part,
        item=_item(fields, part),
        says=says,
        based_on=_based_on(fields),
        reason=reason,
    )


def _item(fields: Fields, part: Part) -> str:
    if not part.many:
        if fields.raw.get("item", "") != "":
            fields.wrong("item", "no item: this part is one")
        return ""
    if part.items is not None:
        return fields.choice("item", tuple(part.items))
    return fields.identifier("item")


def _based_on(fields: Fields) -> int | None:
    raw = fields.raw.get("based_on")
    if raw is None:
        return None
    whole = isinstance(raw, (int, Decimal)) and not isinstance(raw, bool)
    if not whole or raw != int(raw) or raw < 1:
        fields.wrong("based_on", "the number of a record, or null")
        return None
    return int(raw)


def _says(part: Part, fields: Fields) -> Any:
    """The answers; what is wrong with one is reported and it is left out."""
    asked = dict(questions_of(part.shape))
    fields.allow(asked.keys(), f"the part “{part.title}”")
    before = len(fields.problems.errors)
    answers = {name: _read(name, question, fields) for name, question in asked.items()}
    if len(fields.problems.errors) > before:
        return None
    says = part.shape(**answers)
    if part.check is not None:
        part.check(says, fields)
    return says


def _read(name: str, question: Question, fields: Fields) -> Any:
    match question.kind:
        case Kind.LINE:
            return fields.name(name, required=question.required)
        case Kind.ANSWER:
            return fields.name(name) or UNKNOWN
        case Kind.NOTE:
            return fields.note(name, required=question.required)
        case Kind.CHOICE:
            if fields.raw.get(name) == "" and not question.required:
                return ""
            return fields.choice(
                name, tuple(question.options), required=question.required
            )
        case Kind.AMOUNT:
            return _amount(name, question, fields)
        case Kind.NUMBER:
            assert question.bound is not None
            return fields.number(name, question.bound, required=question.required)
        case Kind.MOMENT:
            if name not in fields.raw and not question.required:
                return None
            return fields.moment(name)
        case Kind.NAMES:
            return _names(name, question, fields)
        case Kind.POINTS:
            return tuple(_points(name, fields))


def _amount(name: str, question: Question, fields: Fields) -> Amount | None:
    assert question.dimension is not None
    assert question.bound is not None
    measured = fields.quantity(
        name, question.dimension, question.bound, required=question.required
    )
    if measured is None:
        return None
    value = Decimal(str(fields.raw[name]["value"]))
    return Amount(value=value, unit=measured.unit, canonical=measured.value)


def _names(name: str, question: Question, fields: Fields) -> tuple[str, ...]:
    given = tuple(dict.fromkeys(text for text, _ in fields.names(name)))
    if question.required and not given:
        fields.wrong(name, "at least one")
    if len(given) > MOST_NAMES:
        fields.wrong(name, f"at most {MOST_NAMES}")
    return given


def _points(name: str, fields: Fields) -> Iterable[Point]:
    for index, raw in enumerate(fields.items(name) or ()):
        corner = Fields.of(raw, f"{fields.at(name)}/{index}", fields.problems)
        if corner is None:
            continue
        corner.allow(_POINT, "a point")
        latitude = corner.number("latitude", LATITUDE, required=True)
        longitude = corner.number("longitude", LONGITUDE, required=True)
        if latitude is not None and longitude is not None:
            yield Point(latitude, longitude)


def write(says: Any) -> dict[str, Any]:
    """The answers as JSON values; what was not said is left out."""
    document: dict[str, Any] = {}
    for name, _ in questions_of(type(says)):
        value = _written(getattr(says, name))
        if value not in (None, "", []):
            document[name] = value
    return document


def _written(value: Any) -> Any:
    match value:
        case Amount():
            return {"value": value.value, "unit": value.unit}
        case datetime():
            return value.isoformat()
        case Point():
            return {"latitude": value.latitude, "longitude": value.longitude}
        case tuple():
            return [_written(each) for each in value]
    return value


def same_name(first: str, second: str) -> bool:
    """Whether two names that people typed are one."""
    return name_key(first) == name_key(second)


def name_key(name: str) -> str:
    return "" if is_blank(name) else collapsed(name).casefold()


__all__ = [
    "Body",
    "WorksheetErrors",
    "name_key",
    "read_body",
    "read_says",
    "same_name",
    "write",
]
