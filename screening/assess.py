"""Every team at one moment: verdict, findings, coverage, clocks."""

from dataclasses import replace
from datetime import datetime, timedelta

from screening.coverage import coverage, next_for
from screening.crews import member_air
from screening.incident import Context, Member
from screening.judgement import findings_of, standing_for, strictest
from screening.memory import TeamState
from screening.outlook import crew_notes, heat_clock, heat_notes, trends_at
from screening.rules.radiation import turn_back_key
from screening.state import State
from screening.verdicts import AirClock, Assessment, Clocks, TeamAssessment


def assess(
    state: State, context: Context, at: datetime, *, verdicts_only: bool = False
) -> Assessment:
    """What stands for every team at `at`, which is not before the last entry.

    `verdicts_only` leaves out what was looked at, what is next and what to keep in mind:
    for who asks many moments what the verdict was.
    """
    context = context.under(at)
    of_team = _verdict if verdicts_only else _team
    return Assessment(
        at=at,
        teams=tuple(
            of_team(state, state.core.teams[team_id], context, at)
            for team_id in context.teams
        ),
        cautions=context.profile.loosened(),
    )


def _verdict(
    state: State, team: TeamState, context: Context, at: datetime
) -> TeamAssessment:
    stands = standing_for(state.core, team, at, context)
    return TeamAssessment(
        id=team.id,
        ensemble=team.ensemble.value,
        place=team.place,
        action=strictest(stands),
        findings=tuple(findings_of(stands, team.id, team.place)),
        coverage=(),
        look_next="",
        clocks=clocks(team, context, at),
    )


def _team(
    state: State, team: TeamState, context: Context, at: datetime
) -> TeamAssessment:
    verdict = _verdict(state, team, context, at)
    rows = coverage(state.core, team, at, context)
    return replace(
        verdict,
        coverage=rows,
        look_next=next_for(rows, state.core, team, at, context, verdict.action),
        trends=trends_at(state.core, team, at, context),
        crew=crew_notes(state.core, team, context),
        heat=heat_notes(team, at, context),
        own_ensembles=tuple(
            (member, worn.value) for member, worn in team.own_ensembles.items()
        ),
    )


def clocks(team: TeamState, context: Context, at: datetime) -> Clocks:
    """The running clocks of one team at a moment."""
    profile = context.profile
    par_due = None
    if team.inside_since is not None:
        since = max(filter(None, (team.inside_since, team.last_par)))
        par_due = since + timedelta(seconds=float(profile["par_interval"]))
    air = tuple(
        _air(team, member, context, at) for member in context.teams[team.id].members
    )
    turns = [clock.to_turn_around for clock in air if clock.to_turn_around is not None]
    limit = profile[turn_back_key(context)]
    dose = team.dose
    return Clocks(
        inside=team.inside,
        inside_since=team.inside_since,
        last_par=team.last_par,
        par_due=par_due,
        unanswered=team.unanswered,
        air=air,
        turn_around_due=at + timedelta(seconds=min(turns)) if turns else None,
        dose_rem=dose.now(at) if dose.read or dose.rate is not None else None,
        dose_rate_rem_per_hour=dose.rate,
        turn_back_dose_rem=limit,
        stay_until=None if dose.rate is None else dose.reaches(limit, at),
        heat=heat_clock(team, at, context),
    )


def _air(team: TeamState, member: Member, context: Context, at: datetime) -> AirClock:
    air = member_air(team, member, context)
    if air is None:
        return AirClock(
            member=member.id, pressure_psi=None, pressure_shown="", read_at=None,
            turn_around_psi=None, alarm_psi=None, psi_per_minute=None,
            to_turn_around=None,
        )  # fmt: skip
    left = air.seconds_to_turn(at)
    return AirClock(
        member=member.id,
        pressure_psi=air.pressure,
        pressure_shown=air.shown,
        read_at=air.read_at,
        turn_around_psi=air.turn_around,
        alarm_psi=air.alarm,
        psi_per_minute=air.rate * 60 if air.rate is not None else None,
        to_turn_around=round(left) if left is not None else None,
    )
