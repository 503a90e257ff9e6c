"""Reading one JSON object field by field: values out, problems collected on the way.

A reader of a field that is wrong reports it and answers as if it were missing, so that
reading goes on and every error is found in one go. Callers look at `Problems`.
"""

import re
from collections.abc import Collection, Iterator, Mapping
from collections.abc import Set as AbstractSet
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any, Final, NamedTuple

from screening.units import EXAMPLES, Dimension, factor, pretty, to_canonical
from screening.worksheet.problems import Problems, step_into
from screening.worksheet.strict_json import NUMBER_EXPECTED, is_sane
from screening.worksheet.text import collapsed, is_blank, refused

LONGEST_NAME: Final = 200
LONGEST_NOTE: Final = 10_000

EXPOSURE_CAUTION: Final = (
    "Readings in R or mR are exposure; they are taken as rem or mrem one for one."
)

_MOMENT: Final = re.compile(
    r"(\d{4})-\d\d-\d\dT\d\d:\d\d(:\d\d(\.\d{1,6})?)?(Z|[+-]\d\d:\d\d)", re.ASCII
)
_DAY: Final = re.compile(r"(\d{4})-\d\d-\d\d", re.ASCII)
_MOMENT_EXPECTED: Final = (
    'a date and time with its offset from UTC, such as "2026-03-04T14:02:00-05:00"'
)
_DAY_EXPECTED: Final = 'a date such as "2026-06-01"'
_YEARS: Final = range(1970, 2200)  # beyond lie typing errors, and UTC may overflow
_WIDEST_OFFSET: Final = timedelta(hours=14)


class Range(NamedTuple):
    """Hard bounds in canonical units; what lies outside is no reading at all."""

    low: Decimal
    high: Decimal
    words: str
    open_below: bool = False  # `low` itself lies outside

    def holds(self, value: Decimal) -> bool:
        above = value > self.low if self.open_below else value >= self.low
        return above and value <= self.high


def bounds(low: int | str, high: int, words: str, *, open_below: bool = False) -> Range:
    return Range(Decimal(low), Decimal(high), words, open_below)


PH: Final = bounds(0, 14, "a pH from 0 to 14")
PERCENT: Final = bounds(0, 100, "a number from 0 to 100")
PPM: Final = bounds(0, 1_000_000, "a number from 0 to 1,000,000 ppm")
DEGREES: Final = bounds(0, 360, "a number of degrees from 0 to 360")
LAMP: Final = bounds(0, 30, "a number of eV above 0, at most 30", open_below=True)
FACTOR: Final = bounds(0, 1_000, "a number above 0, at most 1,000", open_below=True)
FRACTION: Final = bounds(0, 1, "a number above 0, at most 1", open_below=True)

TEMPERATURE: Final = bounds(
    "-459.67", 20_000, "above absolute zero, at most 20,000 °F", open_below=True
)
DIFFERENCE: Final = bounds(0, 1_000, "above 0, at most 1,000 Δ°F", open_below=True)
DOSE: Final = bounds(0, 1_000_000, "from 0 to 1,000,000 rem")
DOSE_LIMIT: Final = bounds(0, 1_000_000, "above 0 rem", open_below=True)
DOSE_RATE: Final = bounds(0, 1_000_000, "from 0 to 1,000,000 rem/h")
DOSE_RATE_LIMIT: Final = bounds(0, 1_000_000, "above 0 rem/h", open_below=True)
PRESSURE: Final = bounds(0, 100_000, "from 0 to 100,000 psi")
RATED_PRESSURE: Final = bounds(
    0, 100_000, "above 0, at most 100,000 psi", open_below=True
)
VOLUME: Final = bounds(0, 100_000, "above 0, at most 100,000 L", open_below=True)
DISTANCE: Final = bounds(0, 100_000, "above 0, at most 100,000 m", open_below=True)
WIND: Final = bounds(0, 200, "from 0 to 200 m/s")
DURATION: Final = bounds(0, 604_800, "above 0, at most 7 days", open_below=True)


class Measured(NamedTuple):
    """A quantity: canonical value, and as it was entered."""

    value: Decimal
    shown: str
    unit: str


class Fields:
    """One object of the document. `shown` gathers figures as entered, by field."""

    __slots__ = ("pointer", "problems", "raw", "shown")

    def __init__(
        self, raw: Mapping[str, Any], pointer: str, problems: Problems
    ) -> None:
        self.raw = raw
        self.pointer = pointer
        self.problems = problems
        self.shown: dict[str, str] = {}

    @classmethod
    def of(cls, raw: object, pointer: str, problems: Problems) -> "Fields | None":
        if isinstance(raw, (dict, Mapping)):
            return cls(raw, pointer, problems)
        problems.wrong(pointer, raw, "an object")
        return None

    def at(self, name: object) -> str:
        return step_into(self.pointer, name)

    def wrong(self, name: str, expected: str) -> None:
        if name in self.raw:
            self.problems.wrong(self.at(name), self.raw[name], expected)
        else:
            self.problems.missing(self.at(name), expected)

    def allow(self, names: AbstractSet[str], whose: str) -> None:
        """Report every key that is not among `names`."""
        if self.raw.keys() <= names:
            return
        expected = f"only the fields of {whose}: {', '.join(sorted(names))}"
        for name in self.raw:
            if name not in names:
                self.problems.wrong(self.at(name), self.raw[name], expected)

    # Text

    def _text(self, name: str, expected: str, longest: int) -> str | None:
        text = self.raw[name]
        if not isinstance(text, str):
            self.wrong(name, expected)
            return None
        if len(text) > longest:
            self.problems.found(
                self.at(name), f"{len(text):,} characters", f"at most {longest:,}"
            )
            return None
        found = refused(text)
        if found:
            self.problems.found(self.at(name), found, f"{expected} without it")
            return None
        return text

    def name(self, name: str, *, required: bool = False) -> str:
        """A short text, white space collapsed. Not required: "" where missing or blank."""
        expected = "a text that is not empty" if required else "a text"
        if name not in self.raw:
            if required:
                self.wrong(name, expected)
            return ""
        text = self._text(name, expected, LONGEST_NAME)
        if text is None:
            return ""
        if is_blank(text):
            if required:
                self.wrong(name, expected)
            return ""
        return collapsed(text)

    def identifier(self, name: str, *, required: bool = True) -> str:
        """An id, kept to the letter: not empty, no white space around it."""
        expected = (
            "an id: a text with no white space around it and nothing unseen in it"
        )
        if name not in self.raw:
            if required:
                self.wrong(name, expected)
            return ""
        text = self._text(name, expected, LONGEST_NAME)
        if text is None:
            return ""
        if is_blank(text) or text != collapsed(text):
            self.wrong(name, expected)
            return ""
        return text

    def note(self, name: str, *, required: bool = False) -> str:
        """A long text as written, line ends included; "" where missing or blank."""
        expected = "a text that is not empty" if required else "a text"
        text = None
        if name in self.raw:
            text = self._text(name, expected, LONGEST_NOTE)
            if text is None:
                return ""
        if text is None or is_blank(text):
            if required:
                self.wrong(name, expected)
            return ""
        return text

    def choice(
        self, name: str, options: Collection[str], *, required: bool = True
    ) -> str:
        if name not in self.raw and not required:
            return ""
        value = self.raw.get(name)
        if isinstance(value, str) and value in options:
            return value
        self.wrong(name, f"one of {', '.join(options)}")
        return ""

    def flag(self, name: str) -> bool | None:
        """true, false, or None where missing."""
        if name not in self.raw:
            return None
        value = self.raw[name]
        if isinstance(value, bool):
            return value
        self.wrong(name, "true or false")
        return None

    # Numbers

    def number(
        self, name: str, bound: Range, *, unit: str = "", required: bool = False
    ) -> Decimal | None:
        """A plain number within hard bounds; None where missing or wrong."""
        if name not in self.raw:
            if required:
                self.wrong(name, bound.words)
            return None
        value = exact(self.raw[name])
        if value is None or not bound.holds(value):
            self.wrong(name, bound.words)
            return None
        self.shown[name] = f"{value:f} {unit}" if unit else f"{value:f}"
        return value

    def quantity(
        self, name: str, dimension: Dimension, bound: Range, *, required: bool = False
    ) -> Measured | None:
        """`{"value": number, "unit": text}` in the canonical unit of its dimension."""
        if name not in self.raw:
            if required:
                self.wrong(name, _quantity_expected(dimension))
            return None
        raw = self.raw[name]
        if not isinstance(raw, (dict, Mapping)):
            self.wrong(name, _quantity_expected(dimension))
            return None
        measured = _measured(
            Fields(raw, self.at(name), self.problems), dimension, bound
        )
        if measured is not None:
            self.shown[name] = measured.shown
        return measured

    # Times

    def moment(self, name: str) -> datetime | None:
        """A time with its offset, as entered; None (and reported) where it is not one."""
        value = self.raw.get(name)
        moment = _moment(value) if isinstance(value, str) else None
        if moment is None:
            self.wrong(name, _MOMENT_EXPECTED)
        return moment

    def day(self, name: str) -> date | None:
        value = self.raw.get(name)
        match = _DAY.fullmatch(value) if isinstance(value, str) else None
        if match is not None and int(match[1]) in _YEARS:
            try:
                return date.fromisoformat(match[0])
            except ValueError:
                pass
        self.wrong(name, _DAY_EXPECTED)
        return None

    # Lists and objects inside

    def inner(self, name: str, *, required: bool = False) -> "Fields | None":
        if name not in self.raw:
            if required:
                self.wrong(name, "an object")
            return None
        return Fields.of(self.raw[name], self.at(name), self.problems)

    def items(self, name: str, *, required: bool = False) -> list[object] | None:
        """A list; None where missing or none, which is reported."""
        if name not in self.raw:
            if required:
                self.wrong(name, "a list")
            return None
        value = self.raw[name]
        if isinstance(value, (list, tuple)):
            return list(value)
        self.wrong(name, "a list")
        return None

    def names(self, name: str) -> Iterator[tuple[str, str]]:
        """The short texts of a list, each with its pointer; wrong ones are reported."""
        items = {str(i): item for i, item in enumerate(self.items(name) or ())}
        listed = Fields(items, self.at(name), self.problems)
        for index in items:
            text = listed.name(index, required=True)
            if text:
                yield text, listed.at(index)


def _quantity_expected(dimension: Dimension) -> str:
    return f'{{"value": number, "unit": text}}, a {dimension} in {EXAMPLES[dimension]}'


_QUANTITY: Final = frozenset({"value", "unit"})


def _measured(fields: Fields, dimension: Dimension, bound: Range) -> Measured | None:
    fields.allow(_QUANTITY, "a quantity")
    unit = fields.raw.get("unit")
    conversion = factor(unit, dimension) if isinstance(unit, str) else None
    if conversion is None:
        fields.wrong("unit", f"a unit of {dimension}: {EXAMPLES[dimension]}")
    value = exact(fields.raw.get("value"))
    if value is None:
        fields.wrong("value", NUMBER_EXPECTED)
    if conversion is None or value is None:
        return None
    assert isinstance(unit, str)
    canonical = to_canonical(value, conversion, dimension)
    if not bound.holds(canonical):
        fields.wrong("value", f"a {dimension} {bound.words}")
        return None
    if conversion.exposure:
        fields.problems.caution(EXPOSURE_CAUTION)
    return Measured(canonical, f"{value:f} {pretty(unit)}", unit.strip())


def _moment(text: str) -> datetime | None:
    match = _MOMENT.fullmatch(text)
    if match is None or int(match[1]) not in _YEARS:
        return None
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        return None
    offset = moment.utcoffset()
    if offset is None or abs(offset) > _WIDEST_OFFSET:
        return None
    return moment


def named_numbers(fields: Fields, bound: Range) -> dict[str, Decimal]:
    """An object of numbers by substance: names trimmed and in lower case."""
    numbers: dict[str, Decimal] = {}
    for key in fields.raw:
        value = fields.number(key, bound)
        if is_blank(key) or len(key) > LONGEST_NAME or refused(key):
            fields.wrong(key, "the name of a substance")
            continue
        name = collapsed(key).lower()
        if name in numbers:
            fields.wrong(key, f"each substance once, whatever the case: {name}")
        elif value is not None:
            numbers[name] = value
    return numbers


def exact(value: object) -> Decimal | None:
    """A JSON number as a finite Decimal; None for anything else, booleans included."""
    if isinstance(value, bool) or not isinstance(value, (Decimal, int, float)):
        return None
    if isinstance(value, int) and abs(value) >= 10**16:  # before a slow conversion
        return None
    number = value if isinstance(value, Decimal) else Decimal(repr(value))
    if not is_sane(number):
        return None
    return number if number else abs(number)  # -0 is 0
