"""Units: exact conversion at the edge, and the one pint registry of the project.

`factor` answers from a table for the units that people write every day, so that reading
an ordinary worksheet never imports pint; any other unit is worked out by pint once and
remembered. `screening.units.ureg` makes the registry when it is first asked for.

Canonical units: degF, delta_degF, rem, rem/h, psi, L, m, m/s, s.
"""

import re
from collections.abc import Mapping
from decimal import Context, Decimal, localcontext
from enum import StrEnum
from functools import lru_cache
from threading import Lock
from typing import TYPE_CHECKING, Any, Final, NamedTuple

if TYPE_CHECKING:
    from pint import Quantity, UnitRegistry

    ureg: UnitRegistry[Decimal]


class Dimension(StrEnum):
    TEMPERATURE = "temperature"
    TEMPERATURE_DIFFERENCE = "temperature difference"
    DOSE = "dose"
    DOSE_RATE = "dose rate"
    PRESSURE = "pressure"
    VOLUME = "volume"
    LENGTH = "length"
    SPEED = "speed"
    TIME = "time"


class Factor(NamedTuple):
    """Canonical value = value × multiplier + offset."""

    multiplier: Decimal
    offset: Decimal = Decimal(0)
    exposure: bool = False  # R or mR, read as rem one for one


CANONICAL: Final[Mapping[Dimension, str]] = {
    Dimension.TEMPERATURE: "degF",
    Dimension.TEMPERATURE_DIFFERENCE: "delta_degF",
    Dimension.DOSE: "rem",
    Dimension.DOSE_RATE: "rem/h",
    Dimension.PRESSURE: "psi",
    Dimension.VOLUME: "L",
    Dimension.LENGTH: "m",
    Dimension.SPEED: "m/s",
    Dimension.TIME: "s",
}

# What a message offers in place of a unit that does not fit.
EXAMPLES: Final[Mapping[Dimension, str]] = {
    Dimension.TEMPERATURE: "degC, degF or kelvin",
    Dimension.TEMPERATURE_DIFFERENCE: "delta_degF, delta_degC or kelvin",
    Dimension.DOSE: "rem, mrem, Sv, mSv, uSv, R or mR",
    Dimension.DOSE_RATE: "rem/h, mrem/h, Sv/h, mSv/h, uSv/h, R/h or mR/h",
    Dimension.PRESSURE: "psi, bar or kPa",
    Dimension.VOLUME: "L or ft^3",
    Dimension.LENGTH: "m or ft",
    Dimension.SPEED: "m/s, km/h, mph or knot",
    Dimension.TIME: "s, min or h",
}

# A factor keeps this many figures: all of a unit that is defined by a finite decimal, and
# enough of the others. Pint's own last figures are rounding noise (32 °F comes out as
# 31.99…), which would move a reading off its limit.
_FIGURES: Final = Context(prec=20)
_PRESSURE_STEP: Final = Decimal("0.000001")
_PRESSURE_BEYOND_SENSE: Final = Decimal("1e15")  # psi; refused later, by its range


def _table(text: str) -> dict[str, Factor]:
    """Lines of `multiplier offset unit unit …`."""
    table = {}
    for line in text.strip().splitlines():
        multiplier, offset, *units = line.split()
        for unit in units:
            table[unit] = Factor(Decimal(multiplier), Decimal(offset))
    return table


_DOSE_UNITS: Final = {
    "rem": "1",
    "mrem": "0.001",
    "urem": "0.000001",
    "µrem": "0.000001",
    "Sv": "100",
    "mSv": "0.1",
    "uSv": "0.0001",
    "µSv": "0.0001",
}
_EXPOSURE_UNITS: Final = {
    "R": "1",
    "mR": "0.001",
    "uR": "0.000001",
    "µR": "0.000001",
}
_PER_HOUR: Final = ("/h", "/hr", "/hour")

# A test works each of these out by pint again.
_KNOWN: Final[Mapping[Dimension, Mapping[str, Factor]]] = {
    Dimension.TEMPERATURE: _table(
        """
        1 0 degF °F
        1.8 32 degC °C
        1.8 -459.67 kelvin K
        """
    ),
    Dimension.TEMPERATURE_DIFFERENCE: _table(
        """
        1 0 delta_degF Δ°F
        1.8 0 delta_degC Δ°C kelvin K
        """
    ),
    Dimension.DOSE: {
        **{unit: Factor(Decimal(rem)) for unit, rem in _DOSE_UNITS.items()},
        **{
            unit: Factor(Decimal(rem), exposure=True)
            for unit, rem in _EXPOSURE_UNITS.items()
        },
    },
    Dimension.DOSE_RATE: {
        **{
            unit + per: Factor(Decimal(rem))
            for unit, rem in _DOSE_UNITS.items()
            for per in _PER_HOUR
        },
        **{
            unit + per: Factor(Decimal(rem), exposure=True)
            for unit, rem in _EXPOSURE_UNITS.items()
            for per in _PER_HOUR
        },
    },
    Dimension.PRESSURE: _table(
        """
        1 0 psi
        14.503773773020921515 0 bar
        0.14503773773020921515 0 kPa
        145.03773773020921515 0 MPa
        """
    ),
    Dimension.VOLUME: _table(
        """
        1 0 L l liter litre
        28.316846592 0 ft^3 ft**3
        1000 0 m^3 m**3
        """
    ),
    Dimension.LENGTH: _table(
        """
        1 0 m meter metre
        0.01 0 cm
        0.3048 0 ft foot feet
        """
    ),
    Dimension.SPEED: _table(
        """
        1 0 m/s
        0.27777777777777777778 0 km/h
        0.44704 0 mph
        0.51444444444444444444 0 knot
        """
    ),
    Dimension.TIME: _table(
        """
        1 0 s second seconds
        60 0 min minute minutes
        3600 0 h hour hours
        """
    ),
}

# Names with small powers, multiplied or divided: everything a unit needs, and nothing
# that could keep pint's evaluator busy ("9**9**9").
_NAME = r"[^\W\d][\w°]*|[°Δ][\w°]+"
_TERM = rf"(?:{_NAME})(?:(?:\*\*|\^)-?[1-9])?"
_UNIT_TEXT: Final = re.compile(rf"{_TERM}(?: ?(?:/|\*|·| per |\s) ?{_TERM})*")
_LONGEST_UNIT: Final = 40


def factor(unit: str, dimension: Dimension) -> Factor | None:
    """How `unit` converts to the canonical unit of `dimension`; None where it does not.

    Exact in Decimal for temperature, dose, dose rate per hour and whole units of time;
    20 significant figures otherwise. `R` and `mR` (and per time) are exposure units and
    are read as rem one for one: `exposure` says so.
    """
    known = _KNOWN[dimension].get(unit)
    if known is not None:
        return known
    unit = unit.strip().replace("μ", "µ")  # Greek mu, micro sign
    known = _KNOWN[dimension].get(unit)
    if known is not None:
        return known
    if len(unit) > _LONGEST_UNIT or not _UNIT_TEXT.fullmatch(unit):
        return None
    return _worked_out(unit, dimension)


def to_canonical(value: Decimal, conversion: Factor, dimension: Dimension) -> Decimal:
    """`value` in the canonical unit; pressures that were not psi to six decimals."""
    multiplier, offset, _ = conversion
    if multiplier == 1 and not offset:
        return value
    converted = value * multiplier + offset
    if dimension is Dimension.PRESSURE and abs(converted) < _PRESSURE_BEYOND_SENSE:
        converted = converted.quantize(_PRESSURE_STEP)
    return converted


@lru_cache(maxsize=512)
def _worked_out(unit: str, dimension: Dimension) -> Factor | None:
    if dimension is Dimension.DOSE_RATE:
        exposure = _exposure_rate(unit)
        if exposure is not None:
            return exposure
    try:
        with localcontext(prec=50):
            return _by_pint(unit, dimension)
    except Exception:  # pint answers bad text with errors of many types
        return None


def _exposure_rate(unit: str) -> Factor | None:
    """R per any time. Pint reads R as the gas constant, so it is never asked."""
    dose, _, per = unit.replace(" per ", "/").partition("/")
    rem = _EXPOSURE_UNITS.get(dose.strip())
    seconds = factor(per, Dimension.TIME) if rem else None
    if rem is None or seconds is None:
        return None
    hourly = _FIGURES.divide(Decimal(rem) * 3600, seconds.multiplier)
    return Factor(hourly, exposure=True)


def _by_pint(unit: str, dimension: Dimension) -> Factor | None:
    registry = _registry()
    parsed = registry.Unit(unit)
    names = tuple(parsed._units)  # pint offers no public list of names
    if not _fits(names, dimension):
        return None
    target = CANONICAL[dimension]
    zero = registry.Quantity(Decimal(0), parsed).to(target).magnitude
    one = registry.Quantity(Decimal(1), parsed).to(target).magnitude
    multiplier = _FIGURES.plus(one - zero).normalize()
    if not multiplier.is_finite() or multiplier <= 0:
        return None
    return Factor(multiplier, _FIGURES.plus(zero).normalize())


def _fits(names: tuple[str, ...], dimension: Dimension) -> bool:
    """What pint's dimensions alone would let through.

    Absorbed dose (Gy, J/kg) has the dimension of dose equivalent, but says nothing of
    its quality factor. A difference is no temperature, nor the other way round.
    """
    difference = any(name.startswith("delta_") for name in names)
    if dimension is Dimension.TEMPERATURE:
        return not difference
    if dimension is Dimension.TEMPERATURE_DIFFERENCE:
        return difference or not any("degree_" in name for name in names)
    if dimension in (Dimension.DOSE, Dimension.DOSE_RATE):
        return sum(name.endswith(("sievert", "rem")) for name in names) == 1
    return True


_making = Lock()


def _registry() -> "UnitRegistry[Decimal]":
    with _making:
        if "ureg" not in globals():
            globals()["ureg"] = _new_registry()
    registry: UnitRegistry[Decimal] = globals()["ureg"]
    return registry


def _new_registry() -> "UnitRegistry[Decimal]":
    import pint

    # Decimal, not float: at a published limit a reading must compare equal.
    registry: UnitRegistry[Decimal] = pint.UnitRegistry(non_int_type=Decimal)
    # Its own dimension: % LEL never compares with % by volume.
    registry.define("percent_lel = [share_of_explosive_limit]")
    return registry


def __getattr__(name: str) -> Any:
    if name == "ureg":
        return _registry()
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def Q(value: Decimal | str | int, unit: str) -> "Quantity[Decimal]":  # noqa: N802
    """Attach a unit of the one registry to an exact number."""
    return _registry().Quantity(Decimal(value), unit)


_PRETTY: Final[Mapping[str, str]] = {
    "degC": "°C",
    "degF": "°F",
    "kelvin": "K",
    "delta_degC": "Δ°C",
    "delta_degF": "Δ°F",
}


@lru_cache(maxsize=512)
def pretty(unit: str) -> str:
    """The unit as people write it: "°C", "µSv/h", "ft³"."""
    unit = unit.strip().replace("μ", "µ")
    if unit in _PRETTY:
        return _PRETTY[unit]
    unit = re.sub(r"\bu(?=(Sv|rem|R)\b)", "µ", unit)
    return re.sub(r"(?:\*\*|\^)([23])", lambda m: "²³"[int(m[1]) - 2], unit)
