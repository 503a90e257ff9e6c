"""Rules on the three papers: pH, potassium iodide-starch, fluoride (rules 1-9 and 27)."""

from collections.abc import Iterator
from decimal import Decimal

from screening.readings import FluoridePaper, KiStarchPaper, PhPaper
from screening.rules.found import (
    ALL_CAUTION,
    STOP_UNLESS_VAPOUR_TIGHT,
    Found,
    ReadingFacts,
    Severity,
    figure,
)
from screening.verdicts import Action, Hazard

# Splash gear stops a liquid; turnout gear and a work uniform do not.
_CORROSIVE_LIQUID: Severity = (
    Action.CAUTION, Action.CAUTION, Action.STOP, Action.CAUTION, Action.STOP,
)  # fmt: skip
_FLUORIDE_LIQUID: Severity = (
    Action.CAUTION, Action.CAUTION, Action.STOP, Action.STOP, Action.STOP,
)  # fmt: skip

_FLUORIDE_NEXT = "Fluoride paper next: any acid may be hydrogen fluoride."
_FLUORIDE_ADVICE = (
    "Treat as hydrogen fluoride until shown otherwise: the skin can be injured without "
    "early pain.",
    "Tell medical control; calcium gluconate per local protocol.",
)
_LIQUID_SAYS_NOTHING_OF_AIR = (
    "A test of the liquid tells nothing of the vapour: test the air as well."
)


def _read(reading: PhPaper) -> str:
    if reading.band:
        return f"{reading.band.replace('_', '-')}, pH {_span(reading)}"
    return f"pH {_span(reading)}"


def _span(reading: PhPaper) -> str:
    low, high = reading.low, reading.high
    if low is None or high is None:
        return "none"
    return figure(low) if low == high else f"{figure(low)} to {figure(high)}"


def _how(reading: PhPaper) -> str:
    where = "held in the air" if reading.sample == "vapour" else "on the liquid"
    return f"on {'wet' if reading.moistened else 'dry'} paper {where}"


def _acid_end(reading: PhPaper, sample: str) -> Decimal | None:
    """The pH to judge on the acid side: of a colour band, its more acid end."""
    return reading.low if reading.sample == sample else None


def _base_end(reading: PhPaper, sample: str) -> Decimal | None:
    return reading.high if reading.sample == sample else None


def acid_vapour_at_stop(reading: PhPaper, facts: ReadingFacts) -> Iterator[Found]:
    """Rule 1. Stop at `acid_stop_ph` itself and below; of a band, by its acid end."""
    limit = facts.context.profile["acid_stop_ph"]
    ph = _acid_end(reading, "vapour")
    if ph is None or ph > limit:
        return
    yield Found(
        hazard=Hazard.ACID_VAPOUR,
        severity=STOP_UNLESS_VAPOUR_TIGHT,
        because=f"{_read(reading)} {_how(reading)}, stop at {figure(limit)} or below "
        "unless vapour-tight",
        advice=(
            "Hold and back out of the place; only vapour-tight gear goes on.",
            _FLUORIDE_NEXT,
            "Ventilate hard and try again, or wait for the right ensemble.",
        ),
    )


def acid_vapour_weak(reading: PhPaper, facts: ReadingFacts) -> Iterator[Found]:
    """Rule 2. Above the stop limit, up to and with `acid_caution_ph`."""
    profile = facts.context.profile
    ph = _acid_end(reading, "vapour")
    if ph is None or not profile["acid_stop_ph"] < ph <= profile["acid_caution_ph"]:
        return
    yield Found(
        hazard=Hazard.ACID_VAPOUR,
        severity=ALL_CAUTION,
        because=f"{_read(reading)} {_how(reading)}, caution from "
        f"{figure(profile['acid_caution_ph'])} down",
        advice=("Read again nearer and lower, with fresh wet paper.", _FLUORIDE_NEXT),
    )


def base_vapour(reading: PhPaper, facts: ReadingFacts) -> Iterator[Found]:
    """Rule 3. At or above `base_stop_ph` as rule 1; from `base_caution_ph` as rule 2."""
    profile = facts.context.profile
    ph = _base_end(reading, "vapour")
    if ph is None or ph < profile["base_caution_ph"]:
        return
    stop = ph >= profile["base_stop_ph"]
    limit = profile["base_stop_ph"] if stop else profile["base_caution_ph"]
    yield Found(
        hazard=Hazard.BASE_VAPOUR,
        severity=STOP_UNLESS_VAPOUR_TIGHT if stop else ALL_CAUTION,
        because=f"{_read(reading)} {_how(reading)}, "
        + (
            f"stop at {figure(limit)} or above unless vapour-tight"
            if stop
            else f"caution from {figure(limit)} up"
        ),
        advice=(
            ("Hold and back out of the place; only vapour-tight gear goes on.",)
            if stop
            else ("Read again nearer, with fresh wet paper.",)
        )
        + ("Ammonia burns too: watch LEL with oxygen.",),
    )


def corrosive_liquid(reading: PhPaper, facts: ReadingFacts) -> Iterator[Found]:
    """Rule 4. A liquid in either stop range: no contact."""
    profile = facts.context.profile
    low, high = _acid_end(reading, "liquid"), _base_end(reading, "liquid")
    acid = low is not None and low <= profile["acid_stop_ph"]
    base = high is not None and high >= profile["base_stop_ph"]
    if not (acid or base):
        return
    yield Found(
        hazard=Hazard.CORROSIVE_LIQUID,
        severity=_CORROSIVE_LIQUID,
        subject="acid" if acid else "base",
        acid_side=acid,
        because=f"{_read(reading)} {_how(reading)}: corrosive, no contact",
        advice=(
            "No contact with the liquid.",
            _LIQUID_SAYS_NOTHING_OF_AIR,
            *((_FLUORIDE_NEXT,) if acid else ()),
        ),
    )


def faded_paper(reading: PhPaper, facts: ReadingFacts) -> Iterator[Found]:
    """Rule 5. The hazard stands as first read; a faded paper clears nothing."""
    if not reading.faded:
        return
    rules = (acid_vapour_at_stop, acid_vapour_weak, base_vapour, corrosive_liquid)
    for rule in rules:
        for first in rule(reading, facts):
            yield Found(
                hazard=first.hazard,
                severity=first.severity,
                subject=f"{first.subject} faded".strip(),
                acid_side=first.acid_side,
                because=f"{_read(reading)} {_how(reading)}, colour gone back since: "
                "it stands as first read",
                advice=(
                    "Humid air brings the colour back, dry air may not: a faded paper "
                    "clears nothing.",
                ),
            )


def oxidiser_vapour(reading: KiStarchPaper, facts: ReadingFacts) -> Iterator[Found]:
    """Rule 6. A colour counts on wet and on dry paper; so does a coloured line."""
    if reading.sample != "vapour" or reading.result == "no_change":
        return
    yield Found(
        hazard=Hazard.OXIDISER_VAPOUR,
        severity=STOP_UNLESS_VAPOUR_TIGHT,
        because=f"KI-starch turned {reading.result.replace('_', '-')} in the air on "
        f"{'wet' if reading.moistened else 'dry'} paper",
        advice=(
            "The free halogens (chlorine, bromine, fluorine, iodine) are the usual cause.",
            "Hold and back out of the place; only vapour-tight gear goes on.",
            "Keep fuels and organics away.",
        ),
    )


def oxidiser_liquid(reading: KiStarchPaper, facts: ReadingFacts) -> Iterator[Found]:
    """Rule 7. A line at the wet edge is a positive too: the middle was bleached."""
    if reading.sample != "liquid" or reading.result == "no_change":
        return
    line = reading.result == "line_at_wet_edge"
    yield Found(
        hazard=Hazard.OXIDISER_LIQUID,
        severity=ALL_CAUTION,
        because="KI-starch showed a line at the wet edge of the liquid: a bleach"
        if line
        else "KI-starch turned blue-black on the liquid",
        advice=(
            "Keep it from fuels, organics, sawdust and other absorbents that burn.",
            _LIQUID_SAYS_NOTHING_OF_AIR,
        ),
    )


def wet_edge_not_looked_at(
    reading: KiStarchPaper, facts: ReadingFacts
) -> Iterator[Found]:
    """Rule 8. No finding on the hazard; coverage says to look at the edge."""
    yield from ()


def fluoride(reading: FluoridePaper, facts: ReadingFacts) -> Iterator[Found]:
    """Rule 9. Changed paper, wet or dry, in the air or on the liquid."""
    if reading.result != "changed":
        return
    vapour = reading.sample == "vapour"
    yield Found(
        hazard=Hazard.FLUORIDE_VAPOUR if vapour else Hazard.FLUORIDE_LIQUID,
        severity=STOP_UNLESS_VAPOUR_TIGHT if vapour else _FLUORIDE_LIQUID,
        because=f"Fluoride paper changed {'in the air' if vapour else 'on the liquid'}",
        advice=(
            *_FLUORIDE_ADVICE,
            *(() if vapour else (_LIQUID_SAYS_NOTHING_OF_AIR,)),
            "A strong oxidiser can bleach the paper too: KI-starch tells them apart.",
        ),
    )


def bleached_paper(reading: PhPaper, facts: ReadingFacts) -> Iterator[Found]:
    """Rule 27. White is a result: an oxidiser. It says nothing of acid or base."""
    if not reading.bleached:
        return
    vapour = reading.sample == "vapour"
    yield Found(
        hazard=Hazard.OXIDISER_VAPOUR if vapour else Hazard.OXIDISER_LIQUID,
        severity=ALL_CAUTION,
        because=f"pH paper went white {'in the air' if vapour else 'on the liquid'}: "
        "an oxidiser took the colour; this says nothing of acid or base",
        advice=("Wet KI-starch paper next.",),
    )
