"""What stood at the end: each team's verdict with its reasons, and who was in it."""

from typing import Any, Final

from reports import layout
from reports.clock import clock, lasted
from reports.data import FindingLine, ReportData, TeamLine
from reports.tables import PagedTable, Row
from screening.stays import Stay
from screening.verdicts import Action, Status

UNKNOWN: Final = (Status.NOT_CHECKED, Status.CANNOT_TELL, Status.OUT_OF_DATE)


def standing(data: ReportData, width: float) -> list[Any]:
    """Each team's verdict in its frame, with every finding behind it."""
    title = "What stood at the end" if data.closed_at else "What stands now"
    parts = layout.heading(
        title,
        "Each team's verdict with every reason behind it, strictest first."
        " Continue means that nothing read so far asks for more.",
    )
    if not data.teams:
        return [*parts, *layout.body("No team was set up.")]
    for index, team in enumerate(data.teams):
        parts += [layout.spacer(8)] if index else []
        parts += _team(data, team, width)
    return parts


def _team(data: ReportData, team: TeamLine, width: float) -> list[Any]:
    state = "inside" if team.inside else "outside"
    if team.place:
        state += f", {team.place}" if team.inside else f", last at {team.place}"
    lines = [f"{team.ensembles[-1] if team.ensembles else 'No ensemble'}; {state}"]
    unknown = _unknown(data, team)
    if unknown:
        lines.append(unknown)
    verdict = layout.Verdict(team.action, team.name, lines)
    rows = [_finding(data, finding) for finding in team.findings]
    if not rows:
        return [verdict]
    widths = layout.shares(width, (0.13, 0.22, 0.41, 0.24))
    head = ("Verdict", "Hazard, place, since", "Because, and what to do", "Source")
    return [verdict, layout.spacer(2), PagedTable(head, rows, widths)]


def _finding(data: ReportData, finding: FindingLine) -> Row:
    place = finding.place and f"\n{finding.place}"
    since = f"\nsince {clock(finding.at, data.zone)}" if finding.at else ""
    advice = "".join(f"\n– {line}" for line in finding.advice)
    rule = f"Rule {finding.number}: " if finding.number else ""
    return Row(
        cells=(
            layout.signed(finding.action),
            finding.hazard + place + since,
            finding.because + advice,
            rule + finding.source,
        ),
        bold=frozenset({0} if finding.action >= Action.STOP else ()),
    )


def _unknown(data: ReportData, team: TeamLine) -> str:
    """What the verdict does not know, so that none ever stands alone."""
    lines = [
        line
        for cover in data.coverage
        if cover.team == team.name and cover.place == team.place
        for line in cover.lines
    ]
    if lines and all(line.status is Status.NOT_CHECKED for line in lines):
        return "Nothing was looked for here."
    parts = []
    for status in UNKNOWN:
        hazards = [line.hazard.lower() for line in lines if line.status is status]
        if hazards:
            parts.append(f"{status.label}: {', '.join(hazards)}")
    return ". ".join(parts)


def teams(data: ReportData, width: float) -> list[Any]:
    """Who was in which team, and what they wore."""
    parts = layout.heading("Teams and ensembles")
    rows = [
        Row(
            cells=(
                team.name,
                team.role,
                "\nthen ".join(team.ensembles),
                "\n".join(team.members) or "No members listed",
                "\n".join(_stay(data, team, stay) for stay in team.stays) or "Never",
            ),
            bold=frozenset({0}),
        )
        for team in data.teams
    ]
    if not rows:
        return [*parts, *layout.body("No team was set up.")]
    widths = layout.shares(width, (0.16, 0.09, 0.24, 0.27, 0.24))
    head = ("Team", "Role", "Ensemble", "Members", "Inside")
    parts.append(PagedTable(head, rows, widths))
    if data.heat:
        parts += [layout.spacer(5), *layout.body(". ".join(data.heat) + ".", "Heat:")]
    return parts


def _stay(data: ReportData, team: TeamLine, stay: Stay) -> str:
    """One time in the suit, and the looks at people that were due in it."""
    end = data.closed_at or data.made_at
    long = lasted(stay.since, stay.until or end)
    since = clock(stay.since, data.zone)
    words = (
        f"{since} to {clock(stay.until, data.zone)}, {long}"
        if stay.until
        else f"{since}, still inside after {long}"
    )
    due = stay.lasted(end) // team.check_every if team.check_every else 0
    looks = "look" if due == 1 else "looks"
    return words + (f", {due} {looks} at people due" if due else "")
