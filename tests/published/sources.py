"""Small helpers so that a check reads as: source, inputs, expected."""

from functools import lru_cache
from typing import Any

import pytest

from screening.source_numbers import FixedNumber, fixed_numbers
from screening.substances import find


def check(source, *values):
    """One row of a table of checks; `from memory of ...` is marked as such."""
    marks = [pytest.mark.from_memory] if source.startswith("from memory of") else []
    return pytest.param(*values, id=source, marks=marks)


def row(name: str) -> Any:
    """The row of the table for a name; a test that asks for no row is wrong."""
    substance = find(name)
    assert substance is not None, name
    return substance


def held(name: str) -> Any:
    """The fixed number of a name, wherever in the engine it stands; one value or wrong."""
    values = {found.number for found in _numbers() if found.name == name}
    assert len(values) == 1, (name, values)
    return values.pop()


@lru_cache(maxsize=1)
def _numbers() -> tuple[FixedNumber, ...]:
    return tuple(fixed_numbers())


def near(quantity, unit, expected, tolerance):
    """Whether a quantity is within `tolerance` of a printed number, in `unit`."""
    return abs(float(quantity.to(unit).magnitude) - expected) <= tolerance
