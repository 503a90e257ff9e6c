"""The profile part of a document: limits that an agency sets, and its paper chart."""

from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType
from typing import Final

from screening.profile import (
    DEFAULT_PAPER_CHART,
    DEFAULTS,
    LIMITS,
    ORDERED,
    Limit,
    Profile,
    with_unit,
)
from screening.units import Dimension
from screening.worksheet.fields import (
    DIFFERENCE,
    DOSE_LIMIT,
    DOSE_RATE_LIMIT,
    DURATION,
    FRACTION,
    LONGEST_NAME,
    PERCENT,
    PH,
    PPM,
    Fields,
    Range,
    exact,
)
from screening.worksheet.problems import Problems
from screening.worksheet.text import collapsed, is_blank, refused

_PROFILE: Final = frozenset({"name", "version", "limits", "paper_chart"})
_QUANTITIES: Final[Mapping[str, tuple[Dimension, Range]]] = {
    "delta_degF": (Dimension.TEMPERATURE_DIFFERENCE, DIFFERENCE),
    "rem": (Dimension.DOSE, DOSE_LIMIT),
    "rem/h": (Dimension.DOSE_RATE, DOSE_RATE_LIMIT),
    "s": (Dimension.TIME, DURATION),
}
_NUMBERS: Final[Mapping[str, Range]] = {
    "pH": PH,
    "%": PERCENT,
    "ppm": PPM,
    "fraction": FRACTION,
}
_BAND_EXPECTED: Final = "the lowest and the highest pH of the colour, such as [4, 5]"


def parse_profile(document: object, pointer: str = "") -> Profile:
    """A profile from its document; `pointer` is where that stands in a greater one.

    Raises `WorksheetErrors` with everything that is wrong.
    """
    problems = Problems()
    profile = read_profile(document, pointer, problems)
    problems.raise_any()
    return profile


def read_profile(document: object, pointer: str, problems: Problems) -> Profile:
    """As `parse_profile`, reporting to `problems`; then with defaults for what is wrong."""
    fields = Fields.of(document, pointer, problems)
    if fields is None:
        return Profile.default()
    fields.allow(_PROFILE, "a profile")
    name = fields.name("name", required=True)
    version = fields.name("version", required=True)
    limits, entered = _limits(fields)
    return Profile(
        name=name,
        version=version,
        limits=MappingProxyType({**DEFAULTS, **limits}),
        paper_chart=_paper_chart(fields),
        entered=MappingProxyType(entered),
    )


def _limits(profile: Fields) -> tuple[dict[str, Decimal], dict[str, str]]:
    """The limits that the document sets, and how it wrote them."""
    fields = profile.inner("limits")
    if fields is None:
        return {}, {}
    fields.allow(LIMITS.keys(), "the table of limits")
    limits: dict[str, Decimal] = {}
    for key in fields.raw:
        limit = LIMITS.get(key)
        value = None if limit is None else _limit(fields, limit)
        if value is not None:
            limits[key] = value
    _check_order(fields, limits)
    entered = {
        key: fields.shown[key] for key in limits if LIMITS[key].unit in _QUANTITIES
    }
    return limits, entered


def _limit(fields: Fields, limit: Limit) -> Decimal | None:
    if limit.unit in _NUMBERS:
        return fields.number(limit.key, _NUMBERS[limit.unit])
    dimension, bound = _QUANTITIES[limit.unit]
    measured = fields.quantity(limit.key, dimension, bound)
    return None if measured is None else measured.value


def _check_order(fields: Fields, limits: Mapping[str, Decimal]) -> None:
    """Limits that contradict each other: a stop that comes before its caution, say."""
    for low, high, may_be_equal in ORDERED:
        wrong = {low, high} & (fields.raw.keys() - limits.keys())
        if wrong or not (low in limits or high in limits):
            continue
        below = limits.get(low, DEFAULTS.get(low))
        above = limits.get(high, DEFAULTS.get(high))
        if below is None or above is None or below < above:
            continue
        if below == above and may_be_equal:
            continue
        relation = "at most" if may_be_equal else "below"
        if low in limits:
            limit = with_unit(above, LIMITS[high].unit)
            fields.wrong(low, f"{relation} {high}, which is {limit}")
        else:
            limit = with_unit(below, LIMITS[low].unit)
            relation = "at least" if may_be_equal else "above"
            fields.wrong(high, f"{relation} {low}, which is {limit}")


def _paper_chart(profile: Fields) -> Mapping[str, tuple[Decimal, Decimal]]:
    fields = profile.inner("paper_chart")
    if fields is None:
        return DEFAULT_PAPER_CHART
    if not fields.raw:
        profile.wrong("paper_chart", "at least one colour")
    chart = {}
    for colour, value in fields.raw.items():
        band = _band(value)
        if band is None:
            fields.wrong(colour, _BAND_EXPECTED)
        elif is_blank(colour) or len(colour) > LONGEST_NAME or refused(colour):
            fields.wrong(colour, "a colour with a name")
        else:
            chart[collapsed(colour)] = band
    return MappingProxyType(chart)


def _band(value: object) -> tuple[Decimal, Decimal] | None:
    if not isinstance(value, (list, tuple)) or len(value) != 2:
        return None
    low, high = exact(value[0]), exact(value[1])
    if low is None or high is None or not (PH.low <= low <= high <= PH.high):
        return None
    return low, high
