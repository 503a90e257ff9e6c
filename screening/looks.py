"""What one reading can and cannot tell, hazard by hazard, before what it found is known.

A quiet reading passes for "not found" only through here. The sentences are the ones that
the sheet and the report show.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from screening.incident import Context
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
from screening.substances import find as find_substance
from screening.verdicts import Hazard

# Below this an electrochemical cell cannot be relied on (training manual on three-electrode
# cells, check-value G-17).
OXYGEN_FLOOR_CELLS = Decimal(5)

LIQUID_NOT_AIR = "only a liquid was tested, which tells nothing of the vapour"


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


def looks_of(entry: Entry, facts: LookFacts) -> Iterator[Look]:
    """Every hazard that the reading was a look for."""
    match entry:
        case PhPaper():
            yield from _ph(entry, facts)
        case KiStarchPaper():
            yield from _ki_starch(entry)
        case FluoridePaper():
            yield from _fluoride(entry)
        case GasMeter():
            yield from _flammable(entry, facts)
            yield from _oxygen(entry)
            yield from _toxic(entry, facts)
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
        yield Look(
            hazard=Hazard.CORROSIVE_LIQUID,
            tells=not blind,
            because="the paper went white or faded"
            if blind
            else "pH paper on the liquid",
        )


def _ph_tells(reading: PhPaper, facts: LookFacts) -> tuple[bool, str]:
    if reading.sample == "liquid":
        return False, LIQUID_NOT_AIR
    if reading.bleached:
        return False, "the paper went white, which says nothing of acid or base"
    if reading.faded:
        return False, "the paper has faded, and a faded paper clears nothing"
    if reading.moistened:
        return True, "wet pH paper held in the air"
    humidity = facts.context.weather.relative_humidity_percent
    if humidity is None:
        return False, "pH paper was dry and the humidity is not known"
    if humidity < facts.context.profile["dry_air_percent"]:
        return False, f"pH paper was dry, at {figure(humidity)} % humidity"
    return True, (
        f"dry pH paper at {figure(humidity)} % humidity; a wetted strip tells more"
    )


def _ki_starch(reading: KiStarchPaper) -> Iterator[Look]:
    vapour = Hazard.OXIDISER_VAPOUR
    if reading.sample == "vapour":
        tells = reading.moistened
        because = (
            "wet KI-starch paper held in the air"
            if tells
            else "KI-starch paper was dry"
        )
        yield Look(hazard=vapour, tells=tells, because=because)
        return
    because = LIQUID_NOT_AIR
    if not reading.edge_checked and reading.result == "no_change":
        because += "; on the liquid, look at the edge between wet and dry"
    yield Look(hazard=vapour, tells=False, because=because)
    yield Look(
        hazard=Hazard.OXIDISER_LIQUID,
        tells=reading.edge_checked,
        because="KI-starch paper on the liquid"
        if reading.edge_checked
        else "the edge between wet and dry was not looked at",
    )


def _fluoride(reading: FluoridePaper) -> Iterator[Look]:
    vapour = Hazard.FLUORIDE_VAPOUR
    if reading.sample == "liquid":
        yield Look(hazard=vapour, tells=False, because=LIQUID_NOT_AIR)
        yield Look(
            hazard=Hazard.FLUORIDE_LIQUID,
            tells=True,
            because="fluoride paper on the liquid",
        )
    elif reading.moistened:
        because = "wet fluoride paper held in the air"
        yield Look(hazard=vapour, tells=True, because=because)
    else:
        yield Look(hazard=vapour, tells=False, because="fluoride paper was dry")


def _flammable(reading: GasMeter, facts: LookFacts) -> Iterator[Look]:
    if reading.lel_percent is None and "lel" not in reading.over_range:
        return
    tells, because = _lel_tells(reading, facts)
    yield Look(hazard=Hazard.FLAMMABLE_ATMOSPHERE, tells=tells, because=because)


def _lel_tells(reading: GasMeter, facts: LookFacts) -> tuple[bool, str]:
    profile, oxygen = facts.context.profile, reading.oxygen_percent
    if facts.latched:
        return (
            False,
            "the LEL sensor went over range and the team has not been out since",
        )
    if "lel" in reading.over_range or reading.lel_percent is None:
        return False, "the LEL sensor was over range"
    if oxygen is None:
        return False, "oxygen was not measured with the LEL"
    if oxygen < profile["oxygen_min_for_lel"]:
        return False, f"oxygen was {figure(oxygen)} %, too little for the LEL sensor"
    if oxygen > profile["oxygen_enriched_percent"]:
        return False, f"oxygen was {figure(oxygen)} %, too much for the LEL sensor"
    return True, f"LEL {figure(reading.lel_percent)} % with oxygen {figure(oxygen)} %"


def _oxygen(reading: GasMeter) -> Iterator[Look]:
    over = "oxygen" in reading.over_range
    if reading.oxygen_percent is None and not over:
        return
    shown = "over range" if reading.oxygen_percent is None else (
        f"{figure(reading.oxygen_percent)} %"
    )  # fmt: skip
    for hazard in (Hazard.OXYGEN_ENRICHED, Hazard.OXYGEN_DEFICIENT):
        yield Look(hazard=hazard, tells=not over, because=f"oxygen {shown}")


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
        because = f"{_gases(missing)} was found here and not measured again"
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
    if not measured:
        return False, (
            "an organic vapour figure alone says nothing of other gases"
            + _lamp(reading, facts)
        )
    oxygen = reading.oxygen_percent
    if oxygen is not None and oxygen < OXYGEN_FLOOR_CELLS:
        return False, f"oxygen was {figure(oxygen)} %, too little for the gas cells"
    return True, f"{_gases(measured)} measured; says nothing of other gases" + _lamp(
        reading, facts
    )


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


def _lamp(reading: GasMeter, facts: LookFacts) -> str:
    """The suspects that the detector's lamp cannot see, with the energies."""
    lamp = reading.lamp_ev
    if lamp is None and reading.instrument in facts.context.instruments:
        lamp = facts.context.instruments[reading.instrument].lamp_ev
    if reading.voc_ppm is None or lamp is None:
        return ""
    hidden = []
    for name in facts.context.suspects:
        substance = find_substance(name)
        if substance is None or substance.ionisation_ev is None:
            continue
        if substance.ionisation_ev >= lamp:
            hidden.append(f"{name} ({figure(substance.ionisation_ev)} eV)")
    if not hidden:
        return ""
    return f"; the {figure(lamp)} eV lamp cannot see {', '.join(hidden)}"


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
        tells, because = False, "the surface was shiny and shows what it reflects"
    elif around is None:
        tells, because = False, "the surroundings were not read"
    else:
        tells, because = True, "thermal imager on a dull surface"
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
        because = "a dose alone says nothing of the rate here"
        return Look(hazard=hazard, tells=False, because=because)
    if not by_rate and (hazard, "rate") in facts.standing:
        because = (
            "a rate was found here, and the alarm alone does not show that it fell"
        )
        return Look(hazard=hazard, tells=False, because=because)
    because = ("dose rate" if by_rate else "dosimeter alarm") + (
        "; says nothing of alpha, beta or neutrons"
    )
    subjects = frozenset({"rate", "alarm"} if by_rate else {"alarm"})
    return Look(hazard=hazard, tells=True, because=because, subjects=subjects)
