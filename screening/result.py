"""What the command prints: one JSON document on a whole worksheet (spec section 5)."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Final

from screening.assess import assess
from screening.methods.beyond import beyond_our_tools
from screening.profile import Profile
from screening.state import State, initial_state, step
from screening.verdicts import (
    CAUTION,
    AirClock,
    Clocks,
    CoverageRow,
    Finding,
    HeatClock,
    TeamAssessment,
)
from screening.worksheet import parse_profile, parse_worksheet

FORMAT: Final = "hazmat-screening-result"
VERSION: Final = 1


def screen(
    document: Mapping[str, Any],
    at: datetime | None = None,
    profile: Mapping[str, Any] | None = None,
) -> dict[str, Any]:
    """The result for a worksheet document, as JSON values.

    `at` is the moment to judge at, with its offset: entries after it are left out; without
    it the last entry's time counts. `profile` is a profile document that takes the place
    of the worksheet's own. Raises `screening.worksheet.WorksheetErrors`, and ValueError for
    a moment without an offset or for a document with neither log nor `at`.
    """
    if profile is not None:
        parse_profile(profile)  # its errors by its own pointers
        document = {**document, "profile": profile}
    worksheet = parse_worksheet(document)
    context = worksheet.context
    if at is None:
        if not worksheet.log:
            raise ValueError("an empty log needs a moment to judge at (--at)")
        at = worksheet.log[-1].at
    elif at.utcoffset() is None:
        raise ValueError("the moment to judge at needs an offset")
    state = initial_state(context)
    entries = []
    for entry in worksheet.log:
        if entry.at > at:
            break
        state, findings = step(state, entry, context)
        entries.append(entry_document(entry.id, findings, state))
    view = assess(state, context, at)
    return {
        "format": FORMAT,
        "version": VERSION,
        "at": at.isoformat(),
        **({"drill": True} if "drill" in document else {}),
        "profile": profile_document(context.profile),
        "caution": CAUTION,
        "cautions": [*worksheet.cautions, *view.cautions],
        "entries": entries,
        "teams": [team_document(team) for team in view.teams],
        "beyond_our_tools": [blind.sentence for blind in beyond_our_tools(context)],
    }


def profile_document(profile: Profile) -> dict[str, Any]:
    return {
        "name": profile.name,
        "version": profile.version,
        "looser_than_published": list(profile.loosened()),
    }


def entry_document(
    entry_id: str, findings: tuple[Finding, ...], state: State
) -> dict[str, Any]:
    return {
        "id": entry_id,
        "findings": [finding_document(finding) for finding in findings],
        "standing": {team: action.word for team, action in state.standing.items()},
    }


def finding_document(finding: Finding) -> dict[str, Any]:
    return {
        "rule": finding.rule,
        "number": finding.number,
        "hazard": finding.hazard.value,
        "team": finding.team,
        "place": finding.place,
        "action": finding.action.word,
        "because": finding.because,
        "advice": list(finding.advice),
        "source": finding.source,
    }


def _own_ensembles(team: TeamAssessment) -> dict[str, Any]:
    """Only where somebody wears something else than the team."""
    own = dict(team.own_ensembles)
    return {"own_ensembles": own} if own else {}


def team_document(team: TeamAssessment) -> dict[str, Any]:
    return {
        "id": team.id,
        "ensemble": team.ensemble,
        **_own_ensembles(team),
        "place": team.place,
        "action": team.action.word,
        "findings": [finding_document(finding) for finding in team.findings],
        "coverage": [coverage_document(row) for row in team.coverage],
        "look_next": team.look_next,
        "clocks": clocks_document(team.clocks),
        "trends": list(team.trends),
        "crew": list(team.crew),
        "heat": list(team.heat),
    }


def coverage_document(row: CoverageRow) -> dict[str, str]:
    return {
        "hazard": row.hazard.value,
        "status": row.status.value,
        "because": row.because,
        "next_check": row.next_check,
    }


def clocks_document(clocks: Clocks) -> dict[str, Any]:
    """Moments in ISO 8601; pressures in psi, dose in rem, dose rate in rem/h."""
    return {
        "inside": clocks.inside,
        "inside_since": _moment(clocks.inside_since),
        "last_par": _moment(clocks.last_par),
        "par_due": _moment(clocks.par_due),
        "unanswered": list(clocks.unanswered),
        "air": [_air(clock) for clock in clocks.air],
        "turn_around_due": _moment(clocks.turn_around_due),
        "dose_rem": _number(clocks.dose_rem),
        "dose_rate_rem_per_hour": _number(clocks.dose_rate_rem_per_hour),
        "turn_back_dose_rem": _number(clocks.turn_back_dose_rem),
        "stay_until": _moment(clocks.stay_until),
        "heat": _heat(clocks.heat),
    }


def _heat(clock: HeatClock | None) -> dict[str, Any] | None:
    if clock is None:
        return None
    return {
        "adjusted_temperature_degF": _number(clock.adjusted_degf),
        "heat_index_degF": _number(clock.heat_index_degf),
        "check_every_minutes": clock.check_every_minutes,
        "check_due": _moment(clock.check_due),
        "came_due": _moment(clock.came_due),
        "because": clock.because,
    }


def _air(clock: AirClock) -> dict[str, Any]:
    return {
        "member": clock.member,
        "pressure": clock.pressure_shown or None,
        "read_at": _moment(clock.read_at),
        "turn_around_psi": _number(clock.turn_around_psi),
        "alarm_psi": _number(clock.alarm_psi),
        "psi_per_minute": _number(clock.psi_per_minute),
        "seconds_to_turn_around": clock.to_turn_around,
    }


def _moment(value: datetime | None) -> str | None:
    return value.isoformat() if value is not None else None


def _number(value: Any) -> float | None:
    """Rounded for reading; the engine compares the exact figures."""
    return float(f"{value:.6g}") if value is not None else None
