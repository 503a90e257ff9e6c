"""Rules on a team itself: dose, stay time, air, roll call, monitoring (20-21, 23-25, 33-34).

These are judged at a moment, not at a reading: time alone can raise them.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from screening.incident import Context
from screening.planning_numbers import stay_seconds
from screening.rules.found import (
    ALL_CAUTION,
    ALL_STOP,
    ALL_WITHDRAW,
    Found,
    minutes,
)
from screening.rules.radiation import NO_ENSEMBLE, is_elevated, turn_back_key
from screening.verdicts import Hazard, Status

FORECAST_WARNING_S = 300  # rule 24's caution before the turn-around; common practice


@dataclass(frozen=True, slots=True, kw_only=True)
class MemberAir:
    """One gauge as last read; pressures in psi, the rate in psi per second."""

    member: str  # id
    name: str  # what sentences call the member
    pressure: Decimal
    shown: str
    read_at: datetime
    turn_around: Decimal | None
    alarm: Decimal | None
    rate: Decimal | None  # None from a single reading
    unit: str = "psi"

    def seconds_to_turn(self, at: datetime) -> Decimal | None:
        """From `at`; negative when past. None where the rate or the bottle is unknown."""
        if self.rate is None or self.rate <= 0 or self.turn_around is None:
            return None
        left = (self.pressure - self.turn_around) / self.rate
        return left - Decimal((at - self.read_at).total_seconds())


@dataclass(frozen=True, slots=True, kw_only=True)
class TeamFacts:
    """One team at one moment."""

    context: Context
    at: datetime
    inside: bool
    inside_since: datetime | None
    last_par: datetime | None
    unanswered: tuple[str, ...]  # by name
    dose_read: Decimal | None  # highest dose read, rem
    dose_shown: str
    dose_now: Decimal  # that, and what the last rate has added since, rem
    rate: Decimal | None  # the team's last dose rate, rem/h
    rate_shown: str
    air: tuple[MemberAir, ...] = ()
    open_hazards: Sequence[
        tuple[str, Status]
    ] = ()  # of the hazards that rule 33 asks for


def dose_at_half(facts: TeamFacts) -> Iterator[Found]:
    """Rule 20, the dose part: half the turn-back dose or more, below it."""
    key = turn_back_key(facts.context)
    limit = facts.context.profile[key]
    dose = facts.dose_read
    if dose is None or not limit / 2 <= dose < limit:
        return
    yield Found(
        hazard=Hazard.GAMMA_RADIATION,
        severity=ALL_CAUTION,
        subject="dose",
        because=f"Dose {facts.dose_shown}, half or more of the turn-back dose of "
        f"{facts.context.profile.shown(key)}",
        advice=(NO_ENSEMBLE,),
    )


def dose_at_turn_back(facts: TeamFacts) -> Iterator[Found]:
    """Rule 21. rem, at the limit itself. That team only, and no clear lifts it."""
    key = turn_back_key(facts.context)
    limit = facts.context.profile[key]
    if facts.dose_read is None or facts.dose_read < limit:
        return
    yield Found(
        hazard=Hazard.GAMMA_RADIATION,
        severity=ALL_WITHDRAW,
        subject="dose",
        because=f"Dose {facts.dose_shown}, turn back at {facts.context.profile.shown(key)}",
        advice=("Leave now; this team does not go back in.", NO_ENSEMBLE),
    )


def stay_time_short(facts: TeamFacts) -> Iterator[Found]:
    """Rule 23. Stay time at the team's last rate; stop once shorter than the way out."""
    profile = facts.context.profile
    rate = facts.rate
    if rate is None or rate <= 0:
        return
    key = turn_back_key(facts.context)
    stay = stay_seconds(profile[key], facts.dose_now, rate)
    short = stay is not None and stay < profile["exit_time"]
    # At the turn-back rate rule 22 has the place; what is short goes with the team.
    told = rate < profile["dose_rate_turn_back"] and is_elevated(rate, facts.context)
    if not short and not told:
        return
    yield Found(
        hazard=Hazard.GAMMA_RADIATION,
        severity=ALL_STOP if short else ALL_CAUTION,
        subject="stay",
        because=f"Stay time {minutes(stay or 0)} at {facts.rate_shown} to the turn-back dose "
        f"of {profile.shown(key)}"
        + (
            f", shorter than the way out of {profile.shown('exit_time')}"
            if short
            else ""
        ),
        advice=("Go out now.",) if short else ("Read dose and rate again on the way.",),
    )


def air_forecast(facts: TeamFacts) -> Iterator[Found]:
    """Rule 24 by time: from the member's own consumption, five minutes ahead."""
    if not facts.inside:
        return
    for air in facts.air:
        left = air.seconds_to_turn(facts.at)
        if left is None or left > FORECAST_WARNING_S:
            continue
        turn = left <= 0
        yield Found(
            hazard=Hazard.LOW_AIR,
            severity=ALL_STOP if turn else ALL_CAUTION,
            subject=f"forecast {air.member}",
            because=f"{air.name}: by the last gauge readings "
            + (
                f"the turn-around pressure was reached {minutes(-left)} ago"
                if turn
                else f"{minutes(left)} to the turn-around pressure"
            ),
            advice=("Turn around; read the gauge.",) if turn else ("Read the gauge.",),
        )


def gauge_at_limit(air: MemberAir) -> Iterator[Found]:
    """Rule 24 on a reading: turn around at or below one pressure, out at the alarm."""
    # Pressures come from units that psi cannot always hold exactly: compare at a
    # thousandth of a psi, far below what a gauge shows.
    pressure = round(air.pressure, 3)
    if air.alarm is not None and pressure <= round(air.alarm, 3):
        yield Found(
            hazard=Hazard.LOW_AIR,
            severity=ALL_WITHDRAW,
            subject=air.member,
            because=f"{air.name} at {air.shown}, at or below the low-air alarm",
            advice=("Leave now, the whole team with the lowest bottle.",),
        )
    elif air.turn_around is not None and pressure <= round(air.turn_around, 3):
        yield Found(
            hazard=Hazard.LOW_AIR,
            severity=ALL_STOP,
            subject=air.member,
            because=f"{air.name} at {air.shown}, at or below the turn-around pressure",
            advice=("Turn around: the lowest bottle leads the team.",),
        )


def roll_call_overdue(facts: TeamFacts) -> Iterator[Found]:
    """Rule 25. Since the last PAR, or since going in."""
    if not facts.inside or facts.inside_since is None:
        return
    interval = facts.context.profile["par_interval"]
    since = max(filter(None, (facts.inside_since, facts.last_par)))
    gone = Decimal((facts.at - since).total_seconds())
    if facts.unanswered:
        yield Found(
            hazard=Hazard.ACCOUNTABILITY,
            severity=ALL_STOP,
            subject="unanswered",
            because=f"Not heard or seen at the last PAR: {', '.join(facts.unanswered)}",
            advice=("Hold; find them by voice or by sight, each by name.",),
        )
    if gone < interval:
        return
    late = gone >= 2 * interval
    yield Found(
        hazard=Hazard.ACCOUNTABILITY,
        severity=ALL_STOP if late else ALL_CAUTION,
        subject="par",
        because=f"No PAR for {minutes(gone)}, asked every "
        f"{facts.context.profile.shown('par_interval')}",
        advice=("Call PAR now, each by name.",),
    )


def monitoring_gaps(facts: TeamFacts) -> Iterator[Found]:
    """Rule 33. After `first_look` inside, what has not been looked for is named."""
    if not facts.inside or facts.inside_since is None or not facts.open_hazards:
        return
    inside_for = Decimal((facts.at - facts.inside_since).total_seconds())
    if inside_for < facts.context.profile["first_look"]:
        return
    named = ", ".join(
        f"{label} ({status.label.lower()})" for label, status in facts.open_hazards
    )
    yield Found(
        hazard=Hazard.MONITORING,
        severity=ALL_CAUTION,
        because=f"Inside for {minutes(inside_for)} and not known: {named}",
        advice=("Look for these before going on.",),
    )


def no_backup(facts: TeamFacts) -> Iterator[Found]:
    """Rule 34. 29 CFR 1910.120(q)(3)(vi); a rescue need not wait (1910.134(g)(4))."""
    if not facts.inside or facts.context.mission == "rescue":
        return
    if any(team.role == "backup" for team in facts.context.teams.values()):
        return
    yield Found(
        hazard=Hazard.ACCOUNTABILITY,
        severity=ALL_CAUTION,
        subject="backup",
        because="A team is inside and no backup team is set up",
        advice=("Name a backup team, dressed and ready.",),
    )
