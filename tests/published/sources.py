"""Small helpers so that a check reads as: source, inputs, expected."""

import pytest


def check(source, *values):
    """One row of a table of checks; `from memory of ...` is marked as such."""
    marks = [pytest.mark.from_memory] if source.startswith("from memory of") else []
    return pytest.param(*values, id=source, marks=marks)


def near(quantity, unit, expected, tolerance):
    """Whether a quantity is within `tolerance` of a printed number, in `unit`."""
    return abs(float(quantity.to(unit).magnitude) - expected) <= tolerance
