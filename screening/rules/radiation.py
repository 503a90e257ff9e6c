"""Rules on the gamma dosimeter at a place (rules 20 and 22).

What belongs to one team alone, its dose and its stay time (rules 20 for a dose, 21 and
23), is in `screening.rules.people`.
"""

from collections.abc import Iterator
from decimal import ROUND_UP, Decimal

from screening.incident import Context
from screening.planning_numbers import stay_seconds
from screening.readings import Dosimeter
from screening.rules.found import ALL_CAUTION, ALL_STOP, Found, ReadingFacts, minutes
from screening.verdicts import Hazard

NO_ENSEMBLE = "No ensemble stops gamma: time, distance, shielding."


def turn_back_key(context: Context) -> str:
    """The profile's key of the turn-back dose; reconnaissance uses the general one."""
    if context.mission in ("rescue", "product_control"):
        return f"dose_turn_back_{context.mission}"
    return "dose_turn_back_other"


def is_elevated(rate: Decimal, context: Context) -> bool:
    """Over three times the incident's background, or over the profile's figure."""
    if context.background_rem_per_hour is not None:
        return rate > 3 * context.background_rem_per_hour
    return rate > context.profile["dose_rate_background"]


def gamma_raised(reading: Dosimeter, facts: ReadingFacts) -> Iterator[Found]:
    """Rule 20. rem/h. Not in itself a withdrawal."""
    context = facts.context
    rate = reading.dose_rate_rem_per_hour
    if rate is not None and rate >= context.profile["dose_rate_turn_back"]:
        return
    raised = rate is not None and is_elevated(rate, context)
    if not raised and reading.alarm is not True:
        return
    reasons = []
    if raised:
        if context.background_rem_per_hour is not None:
            reasons.append(f"{_rate(reading)}, over three times the background")
        else:
            reasons.append(
                f"{_rate(reading)}, over {context.profile.shown('dose_rate_background')}"
            )
    if reading.alarm is True:
        reasons.append("dosimeter alarm")
    advice = [NO_ENSEMBLE, "Not in itself a reason to withdraw; says nothing of alpha, beta "
              "or neutrons."]  # fmt: skip
    hot_line = context.profile["dose_rate_hot_line"]
    if rate is not None and rate >= hot_line and not reading.contact:
        reasons.append("the hot zone's edge is here or farther out")
    advice += _halving(reading)
    because = "; ".join(reasons)
    yield Found(
        hazard=Hazard.GAMMA_RADIATION,
        severity=ALL_CAUTION,
        subject="rate" if raised else "alarm",
        because=because[:1].upper() + because[1:],
        advice=tuple(advice),
    )


def _rate(reading: Dosimeter) -> str:
    where = " on contact" if reading.contact else ""
    return f"Dose rate {reading.shown.get('dose_rate', '')}{where}".rstrip()


def _halving(reading: Dosimeter) -> list[str]:
    """Inverse square: the distance at which the rate is half. Source: physics."""
    if reading.distance_m is None or reading.distance_m <= 0:
        return []
    half = reading.distance_m * Decimal(2).sqrt()
    half = half.quantize(Decimal("0.1"), ROUND_UP)  # nearer it would be more than half
    return [
        f"At {half} m from it the rate halves, if it is a point source with nothing "
        "between."
    ]


def dose_rate_at_turn_back(reading: Dosimeter, facts: ReadingFacts) -> Iterator[Found]:
    """Rule 22. rem/h, at the limit itself; with the stay time to the turn-back dose."""
    profile = facts.context.profile
    rate = reading.dose_rate_rem_per_hour
    if rate is None or rate < profile["dose_rate_turn_back"]:
        return
    limit = profile[turn_back_key(facts.context)]
    stay = stay_seconds(limit, facts.dose_rem or Decimal(0), rate)
    yield Found(
        hazard=Hazard.GAMMA_RADIATION,
        severity=ALL_STOP,
        subject="rate",
        because=f"{_rate(reading)}, turn back at {profile.shown('dose_rate_turn_back')}; "
        f"stay time {minutes(stay or 0)} to the turn-back dose of "
        f"{profile.shown(turn_back_key(facts.context))}",
        advice=(NO_ENSEMBLE, "Back out the way you came.", *_halving(reading)),
    )
