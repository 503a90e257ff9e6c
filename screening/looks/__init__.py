"""What one reading can and cannot tell, hazard by hazard, before what it found is known.

A quiet reading passes for "not found" only through here. Its sentences are those of the
table of methods, which the sheet and the report show. A reading that can tell does so of
what it measured, where it was held; whether that is enough for "not found" is a matter of
all the readings at the place (`screening.reach`).
"""

from collections.abc import Iterator
from typing import TypeAlias

from screening.looks import meter
from screening.looks.look import Look, LookFacts, with_further
from screening.methods import doubts, reason
from screening.methods.notes import noted_against
from screening.readings import (
    Dosimeter,
    Entry,
    FluoridePaper,
    GasMeter,
    KiStarchPaper,
    PhPaper,
    ThermalImager,
)
from screening.rules.found import figure
from screening.verdicts import Hazard

__all__ = ["Look", "LookFacts", "looks_of", "meter"]

_Strip: TypeAlias = PhPaper | KiStarchPaper | FluoridePaper

LIQUID_NOT_AIR = reason("liquid_not_air")


def looks_of(entry: Entry, facts: LookFacts) -> Iterator[Look]:
    """Every hazard that the reading was a look for."""
    match entry:
        case PhPaper():
            yield from _ph(entry, facts)
        case KiStarchPaper():
            yield from _ki_starch(entry, facts)
        case FluoridePaper():
            yield from _fluoride(entry, facts)
        case GasMeter():
            yield from meter.looks(entry, facts)
        case ThermalImager():
            yield from _thermal(entry, facts)
        case Dosimeter():
            yield _gamma(entry, facts)


def _ph(reading: PhPaper, facts: LookFacts) -> Iterator[Look]:
    tells, because = _ph_tells(reading, facts)
    for hazard in (Hazard.ACID_VAPOUR, Hazard.BASE_VAPOUR):
        yield Look(hazard=hazard, tells=tells, because=because)
    if reading.sample == "liquid":
        blind = reading.bleached or reading.faded
        yield _of_liquid(
            Hazard.CORROSIVE_LIQUID,
            reason("ph_liquid_blind" if blind else "ph_liquid"),
            reading,
            tells=not blind,
        )


def _of_liquid(hazard: Hazard, because: str, strip: _Strip, *, tells: bool) -> Look:
    """A strip on the liquid itself: neither dry nor frozen, but perhaps old."""
    noted = noted_against("strip", strip.note)
    return Look(hazard=hazard, tells=tells and not noted, because=noted or because)


def _ph_tells(reading: PhPaper, facts: LookFacts) -> tuple[bool, str]:
    if reading.sample == "liquid":
        return False, LIQUID_NOT_AIR
    if reading.bleached:
        return False, reason("ph_white")
    if reading.faded:
        return False, reason("ph_faded")
    if reading.moistened:
        return _if_fit(reason("ph_wet"), reading, facts)
    humidity = facts.context.weather.relative_humidity_percent
    if humidity is None:
        return False, reason("ph_dry_unknown")
    if humidity < facts.context.profile["dry_air_percent"]:
        return False, reason("ph_dry_air", humidity=figure(humidity))
    damp = reason("ph_dry_damp_air", humidity=figure(humidity))
    return _if_fit(damp, reading, facts)


def _if_fit(because: str, strip: _Strip, facts: LookFacts) -> tuple[bool, str]:
    """A strip with water on it tells, unless it was old or the water may be ice."""
    if noted := noted_against("strip", strip.note):
        return False, noted
    frost = doubts.of_wet_strip(facts.context.weather)
    if not frost:
        return True, because
    if strip.moistened and doubts.wetted_with_glycerol(strip.note):
        return True, with_further(because, [reason("strip_glycerol")])
    return False, with_further(frost[0], frost[1:])


def _ki_starch(reading: KiStarchPaper, facts: LookFacts) -> Iterator[Look]:
    vapour = Hazard.OXIDISER_VAPOUR
    if reading.sample == "vapour":
        tells, because = False, reason("ki_dry")
        if reading.moistened:
            tells, because = _if_fit(reason("ki_wet"), reading, facts)
        yield Look(hazard=vapour, tells=tells, because=because)
        return
    because = LIQUID_NOT_AIR
    if not reading.edge_checked and reading.result == "no_change":
        because = with_further(because, [reason("ki_edge_hint")])
    yield Look(hazard=vapour, tells=False, because=because)
    yield _of_liquid(
        Hazard.OXIDISER_LIQUID,
        reason("ki_liquid" if reading.edge_checked else "ki_edge_open"),
        reading,
        tells=reading.edge_checked,
    )


def _fluoride(reading: FluoridePaper, facts: LookFacts) -> Iterator[Look]:
    vapour = Hazard.FLUORIDE_VAPOUR
    if reading.sample == "liquid":
        yield Look(hazard=vapour, tells=False, because=LIQUID_NOT_AIR)
        yield _of_liquid(
            Hazard.FLUORIDE_LIQUID, reason("fluoride_liquid"), reading, tells=True
        )
        return
    tells, because = False, reason("fluoride_dry")
    if reading.moistened:
        tells, because = _if_fit(reason("fluoride_wet"), reading, facts)
    yield Look(hazard=vapour, tells=tells, because=because)


def _thermal(reading: ThermalImager, facts: LookFacts) -> Iterator[Look]:
    hazards = {
        "closed_container": Hazard.CONTAINER_HEATING,
        "relief_valve_discharge": Hazard.HOT_RELIEF_DISCHARGE,
    }
    hazard = hazards.get(reading.target)
    if hazard is None:
        return
    around = reading.surroundings_degf
    if around is None:
        around = facts.context.weather.air_temperature_degf
    if reading.shiny:
        tells, because = False, reason("imager_shiny")
    elif hidden := noted_against("imager", reading.note):
        tells, because = False, hidden
    elif around is None:
        tells, because = False, reason("imager_alone")
    else:
        tells, because = True, reason("imager_dull")
        if hazard is Hazard.CONTAINER_HEATING:
            because = with_further(because, [reason("imager_skin")])
    yield Look(
        hazard=hazard,
        tells=tells,
        because=because,
        subjects=frozenset({reading.container}),
    )


def _gamma(reading: Dosimeter, facts: LookFacts) -> Look:
    by_rate = reading.dose_rate_rem_per_hour is not None
    hazard = Hazard.GAMMA_RADIATION
    if not by_rate and reading.alarm is None:
        return Look(hazard=hazard, tells=False, because=reason("dose_alone"))
    if not by_rate and (hazard, "rate") in facts.standing:
        return Look(hazard=hazard, tells=False, because=reason("alarm_after_rate"))
    because = with_further(
        reason("rate_read" if by_rate else "alarm_read"),
        (reason("gamma_only"), *doubts.of_distance(reading.distance_m)),
    )
    subjects = frozenset({"rate", "alarm"} if by_rate else {"alarm"})
    return Look(hazard=hazard, tells=True, because=because, subjects=subjects)
