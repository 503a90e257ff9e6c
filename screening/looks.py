"""What one reading can and cannot tell, hazard by hazard, before what it found is known.

A quiet reading passes for "not found" only through here. Its sentences are those of the
table of methods, which the sheet and the report show. Behind the reason of a reading that
can tell stands how far its quiet goes (`screening.methods.doubts`).
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from screening.incident import Context
from screening.methods import doubts, reason
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

# Below this an electrochemical cell cannot be relied on (training manual on three-electrode
# cells, check-value G-17).
OXYGEN_FLOOR_CELLS = Decimal(5)

LIQUID_NOT_AIR = reason("liquid_not_air")


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    hazard: Hazard
    tells: bool
    because: str
    # Which gas, container or kind of signal the reading covers; None is all there is.
    subjects: frozenset[str] | None = None
    # Ends a caution on what it measured, though of the hazard as a whole it cannot tell.
    ends: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class LookFacts:
    context: Context
    latched: bool = False  # this LEL sensor went over range and the team is not out yet
    standing: frozenset[tuple[Hazard, str]] = frozenset()  # what stands at the place
    # Heights of a meter that quiet readings in date have covered here before this one.
    heights: frozenset[str] = frozenset()


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
            yield from _flammable(entry, facts)
            yield from _oxygen(entry, facts)
            yield from _toxic(entry, facts)
        case ThermalImager():
            yield from _thermal(entry, facts)
        case Dosimeter():
            yield _gamma(entry, facts)


def _with(because: str, further: Iterable[str]) -> str:
    """A reason with what stands behind it."""
    return "; ".join((because, *further))


def _ph(reading: PhPaper, facts: LookFacts) -> Iterator[Look]:
    tells, because = _ph_tells(reading, facts)
    for hazard in (Hazard.ACID_VAPOUR, Hazard.BASE_VAPOUR):
        yield Look(hazard=hazard, tells=tells, because=because)
    if reading.sample == "liquid":
        blind = reading.bleached or reading.faded
        yield Look(
            hazard=Hazard.CORROSIVE_LIQUID,
            tells=not blind,
            because=reason("ph_liquid_blind" if blind else "ph_liquid"),
        )


def _ph_tells(reading: PhPaper, facts: LookFacts) -> tuple[bool, str]:
    if reading.sample == "liquid":
        return False, LIQUID_NOT_AIR
    if reading.bleached:
        return False, reason("ph_white")
    if reading.faded:
        return False, reason("ph_faded")
    weather, further = facts.context.weather, doubts.of_ph(facts.context.suspects)
    if reading.moistened:
        frost = doubts.of_wet_strip(weather)
        return True, _with(reason("ph_wet"), (*frost, *further))
    humidity = weather.relative_humidity_percent
    if humidity is None:
        return False, reason("ph_dry_unknown")
    if humidity < facts.context.profile["dry_air_percent"]:
        return False, reason("ph_dry_air", humidity=figure(humidity))
    return True, _with(reason("ph_dry_damp_air", humidity=figure(humidity)), further)


def _ki_starch(reading: KiStarchPaper, facts: LookFacts) -> Iterator[Look]:
    vapour = Hazard.OXIDISER_VAPOUR
    if reading.sample == "vapour":
        because = reason("ki_wet" if reading.moistened else "ki_dry")
        if reading.moistened:
            frost = doubts.of_wet_strip(facts.context.weather)
            further = doubts.of_ki_starch(facts.context.suspects)
            because = _with(because, (*frost, *further))
        yield Look(hazard=vapour, tells=reading.moistened, because=because)
        return
    because = LIQUID_NOT_AIR
    if not reading.edge_checked and reading.result == "no_change":
        because = _with(because, [reason("ki_edge_hint")])
    yield Look(hazard=vapour, tells=False, because=because)
    yield Look(
        hazard=Hazard.OXIDISER_LIQUID,
        tells=reading.edge_checked,
        because=reason("ki_liquid" if reading.edge_checked else "ki_edge_open"),
    )


def _fluoride(reading: FluoridePaper, facts: LookFacts) -> Iterator[Look]:
    vapour = Hazard.FLUORIDE_VAPOUR
    if reading.sample == "liquid":
        yield Look(hazard=vapour, tells=False, because=LIQUID_NOT_AIR)
        yield Look(
            hazard=Hazard.FLUORIDE_LIQUID, tells=True, because=reason("fluoride_liquid")
        )
    elif reading.moistened:
        frost = doubts.of_wet_strip(facts.context.weather)
        yield Look(
            hazard=vapour, tells=True, because=_with(reason("fluoride_wet"), frost)
        )
    else:
        yield Look(hazard=vapour, tells=False, because=reason("fluoride_dry"))


def _flammable(reading: GasMeter, facts: LookFacts) -> Iterator[Look]:
    if reading.lel_percent is None and "lel" not in reading.over_range:
        return
    tells, because = _lel_tells(reading, facts)
    if tells:
        suspects = facts.context.suspects
        further = (*_around(reading, facts), *doubts.of_lel(reading.note, suspects))
        because = _with(because, further)
    yield Look(hazard=Hazard.FLAMMABLE_ATMOSPHERE, tells=tells, because=because)


def _around(reading: GasMeter, facts: LookFacts) -> Iterator[str]:
    """How far any sensor of the meter goes: height, cold, heat, dry air."""
    context = facts.context
    yield from doubts.of_height(reading.height, context.suspects, facts.heights)
    yield from doubts.of_air(context.weather)


def _lel_tells(reading: GasMeter, facts: LookFacts) -> tuple[bool, str]:
    profile, oxygen = facts.context.profile, reading.oxygen_percent
    if facts.latched:
        return False, reason("lel_latched")
    if "lel" in reading.over_range or reading.lel_percent is None:
        return False, reason("lel_over_range")
    if oxygen is None:
        return False, reason("lel_without_oxygen")
    if oxygen < profile["oxygen_min_for_lel"]:
        return False, reason("lel_little_oxygen", oxygen=figure(oxygen))
    if oxygen > profile["oxygen_enriched_percent"]:
        return False, reason("lel_much_oxygen", oxygen=figure(oxygen))
    lel = figure(reading.lel_percent)
    return True, reason("lel_tells", lel=lel, oxygen=figure(oxygen))


def _oxygen(reading: GasMeter, facts: LookFacts) -> Iterator[Look]:
    over = "oxygen" in reading.over_range
    if reading.oxygen_percent is None and not over:
        return
    if over or reading.oxygen_percent is None:
        because = reason("oxygen_over_range")
    else:
        shown = reason("oxygen_read", oxygen=figure(reading.oxygen_percent))
        because = _with(shown, _around(reading, facts))
    for hazard in (Hazard.OXYGEN_ENRICHED, Hazard.OXYGEN_DEFICIENT):
        yield Look(hazard=hazard, tells=not over, because=because)


def _toxic(reading: GasMeter, facts: LookFacts) -> Iterator[Look]:
    named = {name for name, _ in reading.gases}
    cells = {"co": reading.co_ppm, "h2s": reading.h2s_ppm}
    measured = {key for key, ppm in cells.items() if ppm is not None} | named
    if not measured and reading.voc_ppm is None:
        return
    subjects = frozenset(measured | ({"voc"} if reading.voc_ppm is not None else set()))
    tells, because = _toxic_tells(reading, measured, facts)
    missing = [] if not tells else _not_measured_again(reading, measured, facts)
    if missing:
        because = reason("not_measured_again", names=_gases(missing))
    yield Look(
        hazard=Hazard.TOXIC_GAS,
        tells=tells and not missing,
        ends=tells,
        because=because,
        subjects=subjects,
    )


def _toxic_tells(
    reading: GasMeter, measured: set[str], facts: LookFacts
) -> tuple[bool, str]:
    context, voc = facts.context, reading.voc_ppm is not None
    lamp = _lamp_ev(reading, context) if voc else None
    of_lamp: tuple[str, ...] = ()
    if voc:
        of_lamp = (
            *doubts.of_lamp(lamp, context.suspects),
            *doubts.of_moist_air(context.weather),
        )
    if not measured:
        return False, _with(reason("voc_alone"), of_lamp)
    oxygen = reading.oxygen_percent
    if oxygen is not None and oxygen < OXYGEN_FLOOR_CELLS:
        return False, reason("cells_little_oxygen", oxygen=figure(oxygen))
    further = (
        *doubts.of_cells(frozenset(measured), lamp, context.suspects),
        *of_lamp,
        *_around(reading, facts),
    )
    return True, _with(reason("gases_measured", names=_gases(measured)), further)


def _lamp_ev(reading: GasMeter, context: Context) -> Decimal | None:
    """The lamp's energy as logged, else as listed with the instrument."""
    if reading.lamp_ev is None and reading.instrument in context.instruments:
        return context.instruments[reading.instrument].lamp_ev
    return reading.lamp_ev


def _not_measured_again(
    reading: GasMeter, measured: set[str], facts: LookFacts
) -> list[str]:
    """What was found here and is not in this set: the set cannot speak for it."""
    covered = measured | ({"voc"} if reading.voc_ppm is not None else set())
    return sorted(
        subject
        for hazard, subject in facts.standing
        if hazard is Hazard.TOXIC_GAS and subject not in covered
    )


def _gases(names: set[str] | list[str]) -> str:
    labels = {
        "co": "carbon monoxide (CO)",
        "h2s": "hydrogen sulfide (H2S)",
        "voc": "organic vapour",
    }
    return ", ".join(labels.get(name, name) for name in sorted(names))


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
    elif around is None:
        tells, because = False, reason("imager_alone")
    else:
        tells, because = True, reason("imager_dull")
        if hazard is Hazard.CONTAINER_HEATING:
            because = _with(because, [reason("imager_skin")])
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
    because = _with(
        reason("rate_read" if by_rate else "alarm_read"),
        (reason("gamma_only"), *doubts.of_distance(reading.distance_m)),
    )
    subjects = frozenset({"rate", "alarm"} if by_rate else {"alarm"})
    return Look(hazard=hazard, tells=True, because=because, subjects=subjects)
