"""A report's values from a worksheet document, judged by the engine on the way.

A file alone is enough. What only a database knows (who logged a record and when it
arrived, what was shown that day, the chain's head) comes in as an `IncidentRecord`.
"""

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any

from reports import worksheet_facts as facts
from reports.data import (
    CoverageLine,
    FindingLine,
    PlaceCoverage,
    ReportData,
    RuleLine,
    TeamLine,
    VerdictChanges,
)
from reports.judged import Judged, judge, sentence, unique
from reports.record import EntryRecord, IncidentRecord, OwnRecord
from reports.worksheet_charts import meter_series
from reports.worksheet_log import decision, timeline
from screening.coverage import coverage
from screening.methods.beyond import beyond_our_tools
from screening.rules import RULES
from screening.verdicts import Action, CoverageRow, Finding, TeamAssessment
from screening.worksheet import parse_worksheet

__all__ = ["EntryRecord", "IncidentRecord", "OwnRecord", "report_data"]


def report_data(
    document: Mapping[str, Any],
    *,
    made_at: datetime | None = None,
    record: IncidentRecord | None = None,
) -> ReportData:
    """Judge a worksheet document (as `screening.worksheet.load_json` gives it).

    `made_at` is when the report is made; without it, the last entry's time. Raises
    `screening.worksheet.WorksheetErrors`, and ValueError for an empty log without time.
    """
    record = record or IncidentRecord()
    worksheet = parse_worksheet(document)
    if made_at is None:
        if not worksheet.log:
            raise ValueError("an empty log needs the time at which the report is made")
        made_at = worksheet.log[-1].at
    judged = judge(worksheet, record, record.closed_at or made_at)
    return _assembled(judged, document, made_at)


def _assembled(
    judged: Judged, document: Mapping[str, Any], made_at: datetime
) -> ReportData:
    worksheet, record = judged.worksheet, judged.record
    context, profile = worksheet.context, worksheet.context.profile
    return ReportData(
        incident=context.name,
        agency=record.agency,
        location=record.location,
        mission=context.mission,
        zone=judged.zone,
        made_at=made_at,
        made_by=record.made_by,
        started_at=record.opened_at or next((e.at for e in worksheet.log), None),
        closed_at=record.closed_at,
        demo=record.demo,
        drill=record.drill,
        facts=facts.facts(document, context, record.opened_by),
        profile_name=profile.name,
        profile_version=profile.version,
        teams=tuple(_team(judged, document, team) for team in judged.view.teams),
        coverage=_coverage(judged),
        beyond=tuple(b.sentence for b in beyond_our_tools(judged.context)),
        timeline=timeline(judged),
        decisions=tuple(decision(judged, e) for e in worksheet.log if not e.is_reading),
        series=meter_series(
            worksheet, judged.state.struck, judged.findings, judged.name
        ),
        verdicts=_verdicts(judged),
        rules=_rules(judged),
        limits=facts.limits(profile),
        loosened=profile.loosened(),
        cautions=_cautions(judged),
        head=record.head,
        sign_offs=record.sign_offs,
    )


def _verdicts(judged: Judged) -> tuple[VerdictChanges, ...]:
    return tuple(
        VerdictChanges(team=judged.name(team), changes=changes)
        for team, changes in judged.verdicts.items()
    )


def _cautions(judged: Judged) -> tuple[str, ...]:
    of_engine = (*judged.worksheet.cautions, *judged.view.cautions)
    return unique((*_faults(judged), *of_engine, *facts.CAUTIONS))


def _faults(judged: Judged) -> tuple[str, ...]:
    """A sentence for each entry that the engine could not judge."""
    sentences = []
    for ident in judged.not_judged:
        kept = judged.record.entries.get(ident)
        which = f"Record {kept.seq}" if kept else f"Entry {ident}"
        sentences.append(
            f"{which} could not be judged by a fault of the program; the verdicts leave"
            " it out, and no team is at less than caution."
        )
    return tuple(sentences)


# Teams and coverage


def _team(
    judged: Judged, document: Mapping[str, Any], view: TeamAssessment
) -> TeamLine:
    team = judged.context.teams[view.id]
    worn = [team.ensemble.label]
    for entry in judged.worksheet.log:
        changed = entry.kind == "change_ensemble" and entry.team == view.id
        if changed and entry.id not in judged.state.struck:
            worn.append(facts.ensemble_label(entry))
    return TeamLine(
        name=judged.name(view.id),
        role=team.role,
        ensembles=tuple(worn),
        members=facts.members(document, view.id, judged.record.names),
        place=view.place,
        inside=view.clocks.inside,
        action=max(view.action, Action.CAUTION if judged.not_judged else view.action),
        findings=tuple(_finding_line(finding) for finding in view.findings),
        look_next=view.look_next,
    )


def _finding_line(finding: Finding) -> FindingLine:
    return FindingLine(
        action=finding.action,
        hazard=finding.hazard.label,
        place=finding.place,
        because=sentence(finding.because),
        advice=finding.advice,
        source=finding.source,
        number=finding.number,
        at=finding.at,
    )


def _coverage(judged: Judged) -> tuple[PlaceCoverage, ...]:
    """Where each team stood at the end, then every other place that was read at."""
    covered = [
        PlaceCoverage(
            team=judged.name(view.id),
            place=view.place,
            lines=tuple(_coverage_line(row) for row in view.coverage),
        )
        for view in judged.view.teams
    ]
    seen = {view.place for view in judged.view.teams}
    core, context = judged.state.core, judged.context
    for place in sorted(set(core.places) - seen):
        # The dose goes with a team, not with a place where it has been.
        someone = next(iter(core.teams.values()), None)
        if someone is None:
            break
        probe = replace(someone, place=place, dose=type(someone.dose)())
        rows = coverage(core, probe, judged.view.at, context)
        lines = tuple(_coverage_line(row) for row in rows)
        covered.append(PlaceCoverage(team="", place=place, lines=lines))
    return tuple(covered)


def _coverage_line(row: CoverageRow) -> CoverageLine:
    return CoverageLine(
        hazard=row.hazard.label,
        status=row.status,
        because=sentence(row.because),
        next_check=row.next_check,
    )


def _rules(judged: Judged) -> tuple[RuleLine, ...]:
    """The rules that raised a finding, and what was said that is no rule."""
    spoke = {f.number for found in judged.findings.values() for f in found}
    spoke |= {f.number for team in judged.view.teams for f in team.findings}
    return tuple(
        RuleLine(number=rule.number, title=rule.title, source=rule.source)
        for rule in RULES
        if rule.number in spoke
    )
