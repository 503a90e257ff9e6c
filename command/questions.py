"""What is asked in one part of the plan, said once: reading, writing, printing and the
form follow from it.

A part is a frozen dataclass whose fields are made by the functions below. Each gives the
field its default and keeps the `Question` beside it.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, fields
from decimal import Decimal
from enum import StrEnum
from typing import Any, Final

from screening.units import Dimension
from screening.worksheet.fields import Range

UNKNOWN: Final = "unknown"
YES_NO: Final[Mapping[str, str]] = {"yes": "Yes", "no": "No", UNKNOWN: "Not known"}
_KEY: Final = "question"


class Kind(StrEnum):
    LINE = "line"  # a short text; "" where nothing was said
    ANSWER = "answer"  # a short text; nothing said is "unknown"
    NOTE = "note"  # a long text
    CHOICE = "choice"  # one of a few; "" where nothing was said
    AMOUNT = "amount"  # a figure with its unit
    NUMBER = "number"  # a figure in a unit of its own
    MOMENT = "moment"
    NAMES = "names"  # a list of short texts
    POINTS = "points"  # corners on the ground, latitude and longitude in degrees


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    kind: Kind
    label: str
    help: str = ""
    required: bool = False
    options: Mapping[str, str] = field(default_factory=dict)  # key to label
    dimension: Dimension | None = None
    bound: Range | None = None
    units: tuple[str, ...] = ()  # offered, the usual one first
    unit: str = ""  # of a bare figure, such as " %" or "°", as it is printed after it


@dataclass(frozen=True, slots=True, kw_only=True)
class Amount:
    """A figure as it was entered, and in the canonical unit of its dimension."""

    value: Decimal
    unit: str
    canonical: Decimal

    @property
    def shown(self) -> str:
        return f"{self.value:f} {_PRETTY.get(self.unit, self.unit)}"


_PRETTY: Final = {"degC": "°C", "degF": "°F", "knot": "kn"}


@dataclass(frozen=True, slots=True)
class Point:
    """WGS 84, degrees; north and east are positive."""

    latitude: Decimal
    longitude: Decimal


def line(label: str, *, help: str = "", required: bool = False) -> Any:
    return _asked("", kind=Kind.LINE, label=label, help=help, required=required)


def answer(label: str, *, help: str = "") -> Any:
    """Prints "unknown" where nobody said anything else."""
    return _asked(UNKNOWN, kind=Kind.ANSWER, label=label, help=help)


def note(label: str, *, help: str = "", required: bool = False) -> Any:
    return _asked("", kind=Kind.NOTE, label=label, help=help, required=required)


def choice(
    label: str, options: Mapping[str, str], *, help: str = "", required: bool = False
) -> Any:
    return _asked(
        "",
        kind=Kind.CHOICE,
        label=label,
        help=help,
        required=required,
        options=options,
    )


def yes_no(label: str, *, help: str = "", required: bool = False) -> Any:
    return choice(label, YES_NO, help=help, required=required)


def amount(
    label: str,
    dimension: Dimension,
    bound: Range,
    units: tuple[str, ...],
    *,
    help: str = "",
    required: bool = False,
) -> Any:
    return _asked(
        None,
        kind=Kind.AMOUNT,
        label=label,
        help=help,
        required=required,
        dimension=dimension,
        bound=bound,
        units=units,
    )


def number(label: str, bound: Range, unit: str, *, help: str = "") -> Any:
    return _asked(
        None, kind=Kind.NUMBER, label=label, help=help, bound=bound, unit=unit
    )


def moment(label: str, *, help: str = "", required: bool = False) -> Any:
    return _asked(None, kind=Kind.MOMENT, label=label, help=help, required=required)


def names(label: str, *, help: str = "", required: bool = False) -> Any:
    return _asked((), kind=Kind.NAMES, label=label, help=help, required=required)


def points(label: str, *, help: str = "") -> Any:
    return _asked((), kind=Kind.POINTS, label=label, help=help)


def _asked(default: Any, **about: Any) -> Any:
    return field(default=default, metadata={_KEY: Question(**about)})


def questions_of(part: type) -> Iterator[tuple[str, Question]]:
    """The questions of a part by the name of their field, in the order of asking."""
    for each in fields(part):
        yield each.name, each.metadata[_KEY]
