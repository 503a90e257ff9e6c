"""Rules on the gas meter (rules 10-15, 26, 28-30)."""

from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal

from screening.incident import Context
from screening.planning_numbers import displaced_share
from screening.readings import GasMeter
from screening.rules.found import (
    ALL_CAUTION,
    ALL_WITHDRAW,
    Found,
    LelPoint,
    ReadingFacts,
    Severity,
    by_scba,
    figure,
    minutes,
)
from screening.substances import find as find_substance
from screening.trends import forecast, trend
from screening.verdicts import Action, Hazard

# Rule 26: a figure that falls this far this fast went off the scale.
SPIKE_FROM = Decimal(50)
SPIKE_TO = Decimal(10)
SPIKE_WITHIN = timedelta(minutes=2)
# Below this a catalytic sensor hardly burns anything at all (maker's notes; a widely
# quoted floor).
OXYGEN_FLOOR = Decimal(10)

_OUT = "Leave the area now, everyone, whatever is worn."
_NO_SPARK = "No switches, no engines; ventilate from outside."


def lel_at_withdraw(reading: GasMeter, facts: ReadingFacts) -> Iterator[Found]:
    """Rule 10. % LEL as shown; at the limit itself (29 CFR 1910.146(b) says over 10)."""
    limit = facts.context.profile["lel_withdraw_percent"]
    over = "lel" in reading.over_range
    lel = reading.lel_percent
    if not over and (lel is None or lel < limit):
        return
    shown = "LEL sensor over range" if over or lel is None else f"LEL {figure(lel)} %"
    yield Found(
        hazard=Hazard.FLAMMABLE_ATMOSPHERE,
        severity=ALL_WITHDRAW,
        everywhere=True,
        because=f"{shown}, withdraw at {figure(limit)} %{_with_oxygen(reading)}",
        advice=(_OUT, _NO_SPARK),
    )


def lel_at_caution(reading: GasMeter, facts: ReadingFacts) -> Iterator[Found]:
    """Rule 11. With the rate and the time to the withdraw limit as an interval."""
    profile = facts.context.profile
    lel = reading.lel_percent
    if lel is None or "lel" in reading.over_range:
        return
    if not profile["lel_caution_percent"] <= lel < profile["lel_withdraw_percent"]:
        return
    because = (
        f"LEL {figure(lel)} %, caution from {figure(profile['lel_caution_percent'])} %, "
        f"withdraw at {figure(profile['lel_withdraw_percent'])} %"
    )
    yield Found(
        hazard=Hazard.FLAMMABLE_ATMOSPHERE,
        severity=ALL_CAUTION,
        because=because + _rise(reading, facts) + _with_oxygen(reading),
        advice=("Find the source from upwind; read floor, waist and head.", _NO_SPARK),
    )


def _with_oxygen(reading: GasMeter) -> str:
    if reading.oxygen_percent is None:
        return "; oxygen not read with it"
    return f"; oxygen {figure(reading.oxygen_percent)} %"


def _rise(reading: GasMeter, facts: ReadingFacts) -> str:
    """What the last figures at this place say of the rate; "" where they say nothing."""
    window = _recent(reading, facts)
    if len(window) < 3:
        return ""
    start = window[0].at
    times = [(point.at - start).total_seconds() for point in window]
    values = [float(point.percent) for point in window]
    found = trend(times, values, 1.0)
    if found.direction != "rising":
        return ""
    limit = float(facts.context.profile["lel_withdraw_percent"])
    text = f"; rising {found.slope_per_min:.1f} % a minute"
    reach = forecast(times, values, limit, 1.0)
    if reach is None:
        return text
    low, _best, high = reach
    early = minutes(max(low, 0))
    late = "no known time" if high == float("inf") else minutes(high)
    return f"{text}, withdraw limit in {early} to {late}"


def _recent(reading: GasMeter, facts: ReadingFacts) -> tuple[LelPoint, ...]:
    """This place's figures of the last ten minutes, this one last."""
    if reading.lel_percent is None:
        return ()
    this = LelPoint(
        at=reading.at,
        percent=reading.lel_percent,
        team=reading.team,
        instrument=reading.instrument,
    )
    since = reading.at - timedelta(minutes=10)
    return (*(p for p in facts.lel if p.at >= since), this)


def lel_needs_oxygen(reading: GasMeter, facts: ReadingFacts) -> Iterator[Found]:
    """Rule 12. A quiet LEL in poor or rich air is no reading; one at a limit counts."""
    profile = facts.context.profile
    oxygen, lel = reading.oxygen_percent, reading.lel_percent
    over = "oxygen" in reading.over_range  # counts as enriched
    if lel is None or "lel" in reading.over_range or (oxygen is None and not over):
        return
    if lel >= profile["lel_caution_percent"]:
        return
    low, high = profile["oxygen_min_for_lel"], profile["oxygen_enriched_percent"]
    if oxygen is None or over:
        shown, hardly = "over range", ""
    elif low <= oxygen <= high:
        return
    else:
        shown = f"{figure(oxygen)} %"
        hardly = (
            "; below 10 % oxygen the sensor hardly works at all"
            if oxygen < OXYGEN_FLOOR
            else ""
        )
    yield Found(
        hazard=Hazard.FLAMMABLE_ATMOSPHERE,
        severity=ALL_CAUTION,
        doubt=True,
        because=f"LEL {figure(lel)} % with oxygen {shown}, outside "
        f"{figure(low)} to {figure(high)} %: the quiet LEL cannot be trusted{hardly}",
        advice=("Flammable gas is not known here: use a sensor that needs no oxygen.",),
    )


def oxygen_enriched(reading: GasMeter, facts: ReadingFacts) -> Iterator[Found]:
    """Rule 13. % by volume; over the limit, not at it (29 CFR 1910.146(b))."""
    limit = facts.context.profile["oxygen_enriched_percent"]
    over = "oxygen" in reading.over_range
    oxygen = reading.oxygen_percent
    if not over and (oxygen is None or oxygen <= limit):
        return
    shown = (
        "Oxygen over range" if oxygen is None or over else f"Oxygen {figure(oxygen)} %"
    )
    yield Found(
        hazard=Hazard.OXYGEN_ENRICHED,
        severity=ALL_WITHDRAW,
        everywhere=True,
        because=f"{shown}, over {figure(limit)} %",
        advice=(
            _OUT,
            "Clothing holds oxygen: keep from every flame and spark, air it outside.",
        ),
    )


def oxygen_deficient(reading: GasMeter, facts: ReadingFacts) -> Iterator[Found]:
    """Rule 14. % by volume; below the limit, not at it (29 CFR 1910.146(b))."""
    limit = facts.context.profile["oxygen_deficient_percent"]
    oxygen = reading.oxygen_percent
    if oxygen is None or oxygen >= limit:
        return
    yield Found(
        hazard=Hazard.OXYGEN_DEFICIENT,
        severity=by_scba(scba=Action.CAUTION, without=Action.WITHDRAW),
        because=f"Oxygen {figure(oxygen)} %, below {figure(limit)} %: "
        f"{_displaced(oxygen, facts)}",
        advice=(
            "A low oxygen with a quiet LEL sensor means that something else fills the air.",
            "Supplied air only.",
        ),
    )


def _displaced(oxygen: Decimal, facts: ReadingFacts) -> str:
    share = displaced_share(oxygen, facts.context.profile["oxygen_ambient"])
    ppm = int(share * 10_000)
    return f"{share:.1f} % of the air displaced, about {ppm:,} ppm of something else"


def oxygen_drop(reading: GasMeter, facts: ReadingFacts) -> Iterator[Found]:
    """Rule 28. A drop that no alarm shows, down to the deficient limit itself."""
    profile = facts.context.profile
    oxygen = reading.oxygen_percent
    if oxygen is None or oxygen < profile["oxygen_deficient_percent"]:
        return
    if profile["oxygen_ambient"] - oxygen < profile["oxygen_drop"]:
        return
    yield Found(
        hazard=Hazard.OXYGEN_DEFICIENT,
        severity=ALL_CAUTION,
        because=f"Oxygen {figure(oxygen)} %, {figure(profile['oxygen_ambient'])} in clean "
        f"air: {_displaced(oxygen, facts)}, though no alarm sounds",
        advice=("Something is there: find out what.",),
    )


def oxygen_rise(reading: GasMeter, facts: ReadingFacts) -> Iterator[Found]:
    """Rule 29. Up to the enriched limit itself."""
    profile = facts.context.profile
    oxygen = reading.oxygen_percent
    if oxygen is None or "oxygen" in reading.over_range:
        return
    if oxygen > profile["oxygen_enriched_percent"]:
        return
    if oxygen - profile["oxygen_ambient"] < profile["oxygen_drop"]:
        return
    yield Found(
        hazard=Hazard.OXYGEN_ENRICHED,
        severity=ALL_CAUTION,
        because=f"Oxygen {figure(oxygen)} %, {figure(profile['oxygen_ambient'])} in clean "
        f"air; withdraw over {figure(profile['oxygen_enriched_percent'])} %",
        advice=("Look for an oxidiser that gives off oxygen; check the meter's zero.",),
    )


def toxic_gas(reading: GasMeter, facts: ReadingFacts) -> Iterator[Found]:
    """Rule 15. ppm. CO and H2S are breathing hazards; other gases reach skin and eyes."""
    profile = facts.context.profile
    yield from _breathing_hazard(
        reading, "co", "Carbon monoxide", reading.co_ppm, facts
    )
    yield from _breathing_hazard(
        reading, "h2s", "Hydrogen sulfide", reading.h2s_ppm, facts
    )
    named = dict(reading.gases)
    others = reading.over_range - {"lel", "oxygen", "co", "h2s", "voc"}
    for name in sorted(named.keys() | others):
        yield from _named_gas(name, named.get(name), name in others)
    limit = profile.get("voc_ceiling_ppm")
    over = "voc" in reading.over_range
    if over or (limit and reading.voc_ppm is not None and reading.voc_ppm >= limit):
        shown = (
            "over range" if over else f"{figure(reading.voc_ppm or Decimal(0))} units"
        )
        yield Found(
            hazard=Hazard.TOXIC_GAS,
            severity=by_scba(scba=Action.CAUTION, without=Action.STOP),
            subject="voc",
            because=f"Organic vapour {shown}"
            + (
                f", the profile's limit is {figure(limit)}"
                if limit and not over
                else ""
            ),
            advice=("Supplied air only.",),
        )


def _breathing_hazard(
    reading: GasMeter, key: str, name: str, ppm: Decimal | None, facts: ReadingFacts
) -> Iterator[Found]:
    over = key in reading.over_range
    if not over and (ppm is None or ppm <= 0):
        return
    idlh = facts.context.profile[f"{key}_idlh_ppm"]
    ceiling = facts.context.profile[f"{key}_ceiling_ppm"]
    shown = _limits(IDLH=f"{figure(idlh)} ppm", ceiling=f"{figure(ceiling)} ppm")
    yield _toxic(name, key, ppm, over, idlh, ceiling, shown, on_scba=None)


def _limits(**shown: str) -> str:
    return ", ".join(f"{label} {value}" for label, value in shown.items() if value)


def _named_gas(name: str, ppm: Decimal | None, over: bool) -> Iterator[Found]:
    if not over and (ppm is None or ppm <= 0):
        return
    substance = find_substance(name)
    label = name.capitalize()
    if substance is None or (
        substance.idlh_ppm is None and substance.ceiling_ppm is None
    ):
        shown = "over range" if over or ppm is None else f"{figure(ppm)} ppm"
        yield Found(
            hazard=Hazard.TOXIC_GAS,
            severity=by_scba(scba=Action.CAUTION, without=Action.STOP),
            subject=name,
            because=f"{label} {shown}; no limit for it in the table of substances",
            advice=("Ask for its limits; supplied air until they are known.",),
        )
        return
    in_ppm = substance.idlh is not None and substance.idlh_ppm is not None
    shown = _limits(
        IDLH=substance.idlh.text if in_ppm and substance.idlh else "",
        ceiling=substance.ceiling.text if substance.ceiling else "",
    )
    yield _toxic(
        label, name, ppm, over, substance.idlh_ppm, substance.ceiling_ppm, shown,
        on_scba=STOP_AT_IDLH,
    )  # fmt: skip


# On SCBA at the IDLH of a gas that also reaches skin and eyes.
STOP_AT_IDLH: Severity = (
    Action.CAUTION, Action.STOP, Action.STOP, Action.WITHDRAW, Action.WITHDRAW,
)  # fmt: skip


def _toxic(
    name: str,
    subject: str,
    ppm: Decimal | None,
    over: bool,
    idlh: Decimal | None,
    ceiling: Decimal | None,
    limits: str,
    *,
    on_scba: Severity | None,
) -> Found:
    """`limits` says both in words, marked where from memory. `on_scba` is the severity at
    the IDLH; None where air supply is protection enough."""
    at_idlh = over or (idlh is not None and ppm is not None and ppm >= idlh)
    at_ceiling = ceiling is not None and ppm is not None and ppm >= ceiling
    scba = Action.CONTINUE if on_scba is None else Action.CAUTION
    if at_idlh:
        severity = on_scba or by_scba(scba=scba, without=Action.WITHDRAW)
    elif at_ceiling:
        severity = by_scba(scba=scba, without=Action.STOP)
    else:
        severity = by_scba(scba=scba, without=Action.CAUTION)
    shown = "over range" if over or ppm is None else f"{figure(ppm)} ppm"
    advice = "Supplied air only." if on_scba is None else (
        "Supplied air only, and skin and eyes covered: a mask is not enough."
    )  # fmt: skip
    return Found(
        hazard=Hazard.TOXIC_GAS,
        severity=severity,
        subject=subject,
        because=f"{name} {shown} ({limits})",
        advice=(advice,),
    )


def lel_spike_then_fall(reading: GasMeter, facts: ReadingFacts) -> Iterator[Found]:
    """Rule 26. 50 % LEL or more, then below 10 within two minutes: over range."""
    lel = reading.lel_percent
    if lel is None or lel >= SPIKE_TO:
        return
    last = facts.lel_spike
    if last is None or reading.at - last.at > SPIKE_WITHIN:
        return
    yield Found(
        hazard=Hazard.FLAMMABLE_ATMOSPHERE,
        severity=ALL_WITHDRAW,
        everywhere=True,
        because=f"LEL {figure(last.percent)} % then {figure(lel)} % within "
        f"{minutes((reading.at - last.at).total_seconds())}: the fall of the figure is no "
        "fall of the gas",
        advice=(
            _OUT,
            "The meter cannot tell again until the team is out and it is checked.",
        ),
    )


def organic_vapour(reading: GasMeter, facts: ReadingFacts) -> Iterator[Found]:
    """Rule 30. In the detector's units, never "ppm of X"; over the background."""
    voc = reading.voc_ppm
    limit = facts.context.profile["voc_caution_ppm"]
    if voc is None or voc < limit or _explained(reading, facts.context):
        return
    yield Found(
        hazard=Hazard.TOXIC_GAS,
        severity=ALL_CAUTION,
        subject="voc",
        because=f"Organic vapour {figure(voc)} detector units, caution from "
        f"{figure(limit)} over background",
        advice=("The figure names no substance: find out what it is.",),
    )


def _explained(reading: GasMeter, context: Context) -> bool:
    """A gas named in the same set, one that the lamp can see, accounts for the figure.

    The lamp is the reading's, else that of the listed instrument; one that is not known
    explains nothing.
    """
    listed = context.instruments.get(reading.instrument)
    lamp = reading.lamp_ev or (listed.lamp_ev if listed is not None else None)
    if lamp is None:
        return False
    for name, ppm in reading.gases:
        substance = find_substance(name)
        if ppm <= 0 or substance is None or substance.ionisation_ev is None:
            continue
        if substance.ionisation_ev < lamp:
            return True
    return False
