"""What every calculation does at its door: exact numbers in, or a ValueError that names them."""

from decimal import Context, Decimal, InvalidOperation
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from pint import Quantity

    Measure: TypeAlias = Quantity[Decimal]

Number: TypeAlias = Decimal | int | float | str

# Pint's conversions leave noise in the last figures (90 °F from degC); a value on the
# edge of a table must not fall off it.
_FIGURES = Context(prec=20)


def number(
    value: Number,
    name: str,
    *,
    low: Number | None = None,
    above: Number | None = None,
    high: Number | None = None,
) -> Decimal:
    """`value` as a finite Decimal within its bounds; a float by its shortest decimal."""
    if isinstance(value, bool):
        raise ValueError(f"{name} must be a number, not {value!r}")
    try:
        exact = Decimal(str(value))
    except InvalidOperation:
        raise ValueError(f"{name} must be a number, not {value!r}") from None
    if not exact.is_finite():
        raise ValueError(f"{name} must be a finite number, not {value!r}")
    if low is not None and exact < Decimal(str(low)):
        raise ValueError(f"{name} must be {low} or more, not {value}")
    if above is not None and exact <= Decimal(str(above)):
        raise ValueError(f"{name} must be above {above}, not {value}")
    if high is not None and exact > Decimal(str(high)):
        raise ValueError(f"{name} must be {high} or less, not {value}")
    return exact


def magnitude(
    quantity: "Measure",
    unit: str,
    name: str,
    *,
    low: Number | None = None,
    above: Number | None = None,
) -> Decimal:
    """The number of `quantity` in `unit`; ValueError where it does not convert."""
    if not hasattr(quantity, "to"):
        raise ValueError(f"{name} must be a quantity in {unit}, not {quantity!r}")
    exact = type(quantity)(number(quantity.magnitude, name), quantity.units)
    try:
        converted = exact.to(unit)
    except Exception as error:
        # Pint's DimensionalityError is a TypeError, and pint is not imported here.
        raise ValueError(f"{name} must be in {unit}: {error}") from error
    if converted.units == quantity.units:
        value = exact.magnitude
    else:
        value = _FIGURES.plus(Decimal(converted.magnitude))
    return number(value, name, low=low, above=above)


def quantity(value: Decimal, unit: str) -> "Measure":
    """A quantity of the project's one registry."""
    from screening.units import Q

    return Q(value, unit)
