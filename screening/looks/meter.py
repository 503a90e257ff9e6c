"""What a set of gas-meter figures can tell: LEL, oxygen, and the cells and lamp for gases."""

from collections.abc import Iterator
from decimal import Decimal
from functools import lru_cache
from typing import Final

from screening.incident import Context, Instrument
from screening.looks.look import Look, LookFacts, with_further
from screening.methods import doubts, reason
from screening.methods.notes import noted_against, spoiled_by_note
from screening.readings import GasMeter
from screening.rules.found import figure
from screening.substances import WEAK_TO_LAMPS
from screening.suspected import (
    HEAVY_OILS,
    SPOILERS,
    Suspect,
    among,
    key_of,
    lel_shows_at,
    listed,
    suspected,
)
from screening.verdicts import Hazard

# Below this an electrochemical cell cannot be relied on (training manual on three-electrode
# cells, check-value G-17).
OXYGEN_FLOOR_CELLS: Final = Decimal(5)
# A lamp of this energy shows the vapour of oils that an LEL sensor answers poorly to
# (common practice, no source).
OIL_LAMP_EV: Final = Decimal("10.6")

_NOTHING: Final[frozenset[str]] = frozenset()
_LABELS: Final = {
    "co": "carbon monoxide (CO)",
    "h2s": "hydrogen sulfide (H2S)",
    "voc": "organic vapour",
    "rate": "the dose rate",
    "alarm": "the alarm",
}


def label_of(subject: str) -> str:
    """What was measured, in words: "carbon monoxide (CO)"."""
    return _LABELS.get(subject, subject)


def looks(reading: GasMeter, facts: LookFacts) -> Iterator[Look]:
    """Every hazard that a set of figures was a look for."""
    yield from _flammable(reading, facts)
    yield from _oxygen(reading, facts)
    yield from _toxic(reading, facts)


def _labels(names: frozenset[str]) -> str:
    return ", ".join(label_of(name) for name in sorted(names))


def _around(reading: GasMeter, facts: LookFacts) -> tuple[str, ...]:
    """What stands behind a reading that tells."""
    air = doubts.of_air(facts.context.weather)
    return (*doubts.of_height(reading.height), *air)


def unfit(reading: GasMeter, facts: LookFacts) -> str:
    """Why no sensor of the meter can be relied on; "" where nothing is known against it."""
    if spoiled_by_note(reading.note) == "all":
        return reason("spoiled_noted")
    if facts.spoiled == "all":
        return reason("spoiled_before")
    if noted := noted_against("meter", reading.note):
        return noted
    air = doubts.of_air(facts.context.weather)
    if air and not facts.bumped_here:
        return with_further(air[0], air[1:])
    return ""


def _flammable(reading: GasMeter, facts: LookFacts) -> Iterator[Look]:
    if reading.lel_percent is None and "lel" not in reading.over_range:
        return
    because, covers = _lel_blind(reading, facts), _NOTHING
    tells = not because
    if tells and reading.lel_percent is not None and reading.oxygen_percent is not None:
        shown = reason(
            "lel_tells",
            lel=figure(reading.lel_percent),
            oxygen=figure(reading.oxygen_percent),
        )
        spoilers = among(facts.context.suspects, SPOILERS)
        after_use = (
            [reason("lel_spoiled_by_suspect", names=listed(spoilers, "or"))]
            if spoilers
            else []
        )
        because = with_further(shown, (*_around(reading, facts), *after_use))
        covers = _answers_to(facts.context.instruments.get(reading.instrument))
    yield Look(
        hazard=Hazard.FLAMMABLE_ATMOSPHERE,
        tells=tells,
        because=because,
        covers=covers,
        height=reading.height,
    )


def _answers_to(instrument: Instrument | None) -> frozenset[str]:
    """The gases that its LEL sensor is known to see: what it was calibrated with, and what
    its maker gives a factor for."""
    if instrument is None:
        return _NOTHING
    names = (instrument.lel_basis, *instrument.correction_factors)
    return frozenset(key_of(name) for name in names if name)


def _lel_blind(reading: GasMeter, facts: LookFacts) -> str:
    """Why the LEL figure cannot tell; "" where it can."""
    profile, oxygen = facts.context.profile, reading.oxygen_percent
    if facts.latched:
        return reason("lel_latched")
    if "lel" in reading.over_range or reading.lel_percent is None:
        return reason("lel_over_range")
    if "oxygen" in reading.over_range:
        return reason("lel_oxygen_over_range")
    if oxygen is None:
        return reason("lel_without_oxygen")
    if oxygen < profile["oxygen_min_for_lel"]:
        return reason("lel_little_oxygen", oxygen=figure(oxygen))
    if oxygen > profile["oxygen_enriched_percent"]:
        return reason("lel_much_oxygen", oxygen=figure(oxygen))
    if spoiled_by_note(reading.note):
        return reason("spoiled_noted")
    if facts.spoiled:
        return reason("spoiled_before")
    spoilers = among(facts.context.suspects, SPOILERS)
    if spoilers and not facts.bumped:
        return reason("lel_maybe_spoiled", names=listed(spoilers, "or"))
    return unfit(reading, facts)


def _oxygen(reading: GasMeter, facts: LookFacts) -> Iterator[Look]:
    over = "oxygen" in reading.over_range
    if reading.oxygen_percent is None and not over:
        return
    if over or reading.oxygen_percent is None:
        tells, because = False, reason("oxygen_over_range")
    elif blind := unfit(reading, facts):
        tells, because = False, blind
    else:
        shown = reason("oxygen_read", oxygen=figure(reading.oxygen_percent))
        tells, because = True, with_further(shown, _around(reading, facts))
    for hazard in (Hazard.OXYGEN_ENRICHED, Hazard.OXYGEN_DEFICIENT):
        yield Look(hazard=hazard, tells=tells, because=because, height=reading.height)


def _toxic(reading: GasMeter, facts: LookFacts) -> Iterator[Look]:
    measured = {name for name, _ in reading.gases}
    if reading.co_ppm is not None:
        measured.add("co")
    if reading.h2s_ppm is not None:
        measured.add("h2s")
    if not measured and reading.voc_ppm is None:
        return
    yield _of_cells(reading, frozenset(measured), facts)


def _of_cells(reading: GasMeter, measured: frozenset[str], facts: LookFacts) -> Look:
    context = facts.context
    subjects = measured | ({"voc"} if reading.voc_ppm is not None else _NOTHING)
    covers = _NOTHING
    tells = partly = False
    of_lamp = _of_lamp(reading, context)
    if blind := _cells_blind(reading, measured, facts):
        because = blind
    elif not measured:
        partly = True
        because = with_further(reason("voc_alone"), of_lamp)
        covers = _seen_by_lamp(reading, context)
        if _lamp_is_quiet(reading, context):
            subjects = _NOTHING  # spec section 6: it cannot tell, so it ends nothing
    else:
        hidden = doubts.hidden_cells(
            frozenset(key_of(name) for name in measured), context.suspects
        )
        free = frozenset(name for name in measured if key_of(name) not in hidden)
        tells, partly, subjects = bool(free), True, subjects - (measured - free)
        because = _and_hidden(measured, tuple(hidden.values()), tells)
        because = with_further(because, (*of_lamp, *_around(reading, facts)))
        covers = _seen_by_lamp(reading, context) | _seen_by_lel(reading, facts)
    return Look(
        hazard=Hazard.TOXIC_GAS,
        tells=tells,
        because=because,
        subjects=subjects,
        partly=partly,
        covers=covers,
        height=reading.height,
    )


def _and_hidden(measured: frozenset[str], hidden: tuple[str, ...], tells: bool) -> str:
    """What was measured and what is hidden of it; first why it does not tell."""
    shown = reason("gases_measured", names=_labels(measured))
    first, *rest = (shown, *hidden) if tells else (*hidden, shown)
    return with_further(first, rest)


def _cells_blind(reading: GasMeter, measured: frozenset[str], facts: LookFacts) -> str:
    oxygen = reading.oxygen_percent
    if measured and oxygen is not None and oxygen < OXYGEN_FLOOR_CELLS:
        return reason("cells_little_oxygen", oxygen=figure(oxygen))
    return unfit(reading, facts)


def _of_lamp(reading: GasMeter, context: Context) -> tuple[str, ...]:
    if reading.voc_ppm is None:
        return ()
    lamp = lamp_ev(reading, context)
    return (
        *doubts.of_lamp(lamp, context.suspects),
        *doubts.of_moist_air(context.weather),
    )


def lamp_ev(reading: GasMeter, context: Context) -> Decimal | None:
    """The lamp's energy as logged, else as listed with the instrument."""
    if reading.lamp_ev is None and reading.instrument in context.instruments:
        return context.instruments[reading.instrument].lamp_ev
    return reading.lamp_ev


def _seen_by_lamp(reading: GasMeter, context: Context) -> frozenset[str]:
    """The suspects that would have shown in a figure of the lamp's that is quiet."""
    lamp = lamp_ev(reading, context)
    if lamp is None or not _lamp_is_quiet(reading, context):
        return _NOTHING
    if doubts.is_moist(context.weather):
        return _NOTHING
    return frozenset(
        one.key for one in suspected(context.suspects) if _ionises(lamp, one)
    )


def _lamp_is_quiet(reading: GasMeter, context: Context) -> bool:
    voc = reading.voc_ppm
    if voc is None or "voc" in reading.over_range:
        return False
    return voc < context.profile["voc_caution_ppm"]


def _ionises(lamp: Decimal, suspect: Suspect) -> bool:
    if suspect.key in HEAVY_OILS:
        return lamp >= OIL_LAMP_EV
    substance = suspect.substance
    if substance is None or not substance.gives_vapour:
        return False
    energy = substance.ionisation
    if energy is None or energy.status == "memory" or substance.name in WEAK_TO_LAMPS:
        return False
    return energy.value < lamp


def _seen_by_lel(reading: GasMeter, facts: LookFacts) -> frozenset[str]:
    """The suspects that show on a quiet LEL sensor before they reach a limit."""
    context, lel = facts.context, reading.lel_percent
    least = context.profile["lel_caution_percent"]
    if lel is None or lel >= least or _lel_blind(reading, facts):
        return _NOTHING
    return _in_time(context.suspects, least)


@lru_cache(maxsize=128)
def _in_time(suspects: tuple[str, ...], least_percent: Decimal) -> frozenset[str]:
    return frozenset(
        one.key for one in suspected(suspects) if _shows_in_time(one, least_percent)
    )


def _shows_in_time(suspect: Suspect, least_percent: Decimal) -> bool:
    """By values that were read in their sources: one from memory rules nothing out."""
    substance = suspect.substance
    shown = None if substance is None else lel_shows_at(substance, least_percent)
    if substance is None or shown is None:
        return False
    ppm, _, limit = shown
    by_memory = "memory" in (substance.lel["us"].status, limit.status)
    return ppm <= limit.value and not by_memory
