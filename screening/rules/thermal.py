"""Rules on the thermal imager and on what is seen or heard of a container (16-19, 35)."""

from collections.abc import Iterator
from decimal import Decimal

from screening.readings import Sign, ThermalImager
from screening.rules.found import (
    ALL_CAUTION,
    ALL_STOP,
    ALL_WITHDRAW,
    Found,
    ReadingFacts,
    ThermalPoint,
    minutes,
)
from screening.verdicts import Hazard

FAILING_CONTAINER = frozenset({"rising_pitch", "bulging", "discoloured_shell"})

_OUT = "Leave now. Keep walls between you and it."
_NO_FORECAST = "Nobody can tell when or at what temperature it fails: give it distance."


def _surroundings(reading: ThermalImager, facts: ReadingFacts) -> Decimal | None:
    """As read, else the air temperature of the incident."""
    if reading.surroundings_degf is not None:
        return reading.surroundings_degf
    return facts.context.weather.air_temperature_degf


def _warm_by(reading: ThermalImager, facts: ReadingFacts) -> Decimal | None:
    around = _surroundings(reading, facts)
    return None if around is None else reading.surface_degf - around


def _is_warm(reading: ThermalImager, facts: ReadingFacts) -> bool:
    by = _warm_by(reading, facts)
    return by is not None and by >= facts.context.profile["thermal_margin"]


def _against(reading: ThermalImager) -> str:
    surface = reading.shown.get("surface", f"{reading.surface_degf} °F")
    around = reading.shown.get("surroundings")
    if around is None:
        return f"{surface}, warmer than the air temperature given"
    return f"{surface}, surroundings {around}"


def _name(reading: ThermalImager) -> str:
    return reading.container or "Closed container"


def hot_relief_discharge(
    reading: ThermalImager, facts: ReadingFacts
) -> Iterator[Found]:
    """Rule 16. A discharge should be cold: heat means a reaction inside."""
    if reading.target != "relief_valve_discharge" or not _is_warm(reading, facts):
        return
    margin = facts.context.profile.shown("thermal_margin")
    yield Found(
        hazard=Hazard.HOT_RELIEF_DISCHARGE,
        severity=ALL_WITHDRAW,
        everywhere=True,
        subject=reading.container,
        because=f"Relief valve discharge {_against(reading)}, withdraw from {margin} warmer: "
        "a discharge should be cold, heat means a reaction inside",
        advice=(_OUT, _NO_FORECAST),
    )


def warm_container(reading: ThermalImager, facts: ReadingFacts) -> Iterator[Found]:
    """Rule 17. Warm, and whether it rises is not known yet."""
    if reading.target != "closed_container" or not _is_warm(reading, facts):
        return
    if facts.container_steady or _risen_from(facts) is not None:
        return
    margin = facts.context.profile.shown("thermal_margin")
    yield Found(
        hazard=Hazard.CONTAINER_HEATING,
        severity=ALL_STOP,
        subject=reading.container,
        because=f"{_name(reading)} {_against(reading)}, stop from {margin} warmer while it is "
        "not known whether it rises",
        advice=("Hold the approach; read it again from a distance.", _NO_FORECAST),
    )


def _risen_from(facts: ReadingFacts) -> ThermalPoint | None:
    """The earlier reading that this one exceeds by `thermal_rise` or more."""
    lowest = facts.container_lowest
    if lowest is None or not facts.container:
        return None
    rise = facts.container[-1].surface_degf - lowest.surface_degf
    return lowest if rise >= facts.context.profile["thermal_rise"] else None


def rising_container(reading: ThermalImager, facts: ReadingFacts) -> Iterator[Found]:
    """Rule 18. Warmer by `thermal_rise` or more than any earlier reading of it."""
    if reading.target != "closed_container" or facts.container_steady:
        return
    before = _risen_from(facts)
    if before is None:
        return
    span = minutes((reading.at - before.at).total_seconds())
    yield Found(
        hazard=Hazard.CONTAINER_HEATING,
        severity=ALL_WITHDRAW,
        everywhere=True,
        subject=reading.container,
        because=f"{_name(reading)} rose {before.shown} → "
        f"{facts.container[-1].shown} in {span}",
        advice=(_OUT, _NO_FORECAST),
    )


def steady_warm_container(
    reading: ThermalImager, facts: ReadingFacts
) -> Iterator[Found]:
    """Rule 19. Steady over the last three readings, and still warm."""
    if reading.target != "closed_container" or not facts.container_steady:
        return
    if not _is_warm(reading, facts):
        return
    yield Found(
        hazard=Hazard.CONTAINER_HEATING,
        severity=ALL_CAUTION,
        subject=reading.container,
        because=f"{_name(reading)} {_against(reading)}, steady over "
        f"{minutes(_span(facts))}: still warm",
        advice=("Go on reading it from a distance.",),
    )


def _span(facts: ReadingFacts) -> float:
    last = facts.container[-3:]
    return (last[-1].at - last[0].at).total_seconds()


def failing_container(reading: Sign, facts: ReadingFacts) -> Iterator[Found]:
    """Rule 35. A rising pitch, a bulge or a discoloured shell."""
    if reading.what not in FAILING_CONTAINER:
        return
    yield Found(
        hazard=Hazard.CONTAINER_HEATING,
        severity=ALL_WITHDRAW,
        everywhere=True,
        subject=f"sign {reading.what}",
        by_sign=True,
        because=f"{reading.what.replace('_', ' ').capitalize()} seen or heard",
        advice=(_OUT, _NO_FORECAST),
    )


def is_steady(
    points: tuple[ThermalPoint, ...], rise: Decimal, steady_seconds: Decimal
) -> bool:
    """Rule 19's test on the last three readings. A shiny surface proves no steadiness."""
    last = points[-3:]
    if len(last) < 3 or any(point.shiny for point in last):
        return False
    values = [point.surface_degf for point in last]
    return (
        Decimal((last[-1].at - last[0].at).total_seconds()) >= steady_seconds
        and max(values) - min(values) < rise
        and values[-1] <= values[0]
    )
