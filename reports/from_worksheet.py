"""A report's values from a worksheet document, judged by the engine on the way.

A file alone is enough. What only a database knows (who logged a record and when it
arrived, what was shown that day, the chain's head) comes in as an `IncidentRecord`.
"""

from collections.abc import Iterable, Mapping
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
from screening.fits import fold, weighed_log
from screening.incident import Worksheet
from screening.methods.beyond import beyond_our_tools
from screening.origins import origin_of
from screening.outlook import heat_facts, look_interval
from screening.rules import RULES
from screening.stays import Stay, stays
from screening.suspects import named_suspects
from screening.trust import standing_log, taken_back
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
    worksheet = _with_reasons(parse_worksheet(document), record.reasons)
    if made_at is None:
        if not worksheet.log:
            raise ValueError("an empty log needs the time at which the report is made")
        made_at = worksheet.log[-1].at
    judged = judge(worksheet, record, record.closed_at or made_at)
    return _assembled(judged, document, made_at)


def _with_reasons(worksheet: Worksheet, reasons: Mapping[str, str]) -> Worksheet:
    profile = replace(worksheet.context.profile, reasons=reasons)
    return replace(worksheet, context=replace(worksheet.context, profile=profile))


def _assembled(
    judged: Judged, document: Mapping[str, Any], made_at: datetime
) -> ReportData:
    worksheet, record = judged.worksheet, judged.record
    context, profile = worksheet.context, worksheet.context.profile
    weighed = weighed_log(judged.state, context, judged.zone)
    worn = tuple(e for team in context.teams for e in judged.worn_by_any(team))
    inside = stays(standing_log(judged.state), context)
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
        facts=facts.facts(document, context, record.opened_by, judged.zone),
        profile_name=profile.name,
        profile_version=profile.version,
        profile_approval=record.approval,
        teams=tuple(
            _team(judged, document, team, inside[team.id]) for team in judged.view.teams
        ),
        coverage=_coverage(judged),
        beyond=tuple(b.sentence for b in beyond_our_tools(judged.context)),
        fits=fold(weighed),
        suspects=named_suspects(context, worn, weighed),
        heat=heat_facts(context, worn),
        timeline=timeline(judged),
        decisions=tuple(decision(judged, e) for e in worksheet.log if not e.is_reading),
        series=meter_series(
            worksheet, judged.state.struck, judged.findings, judged.name
        ),
        verdicts=_verdicts(judged),
        rules=_rules(judged),
        limits=facts.limits(profile),
        loosened=(*profile.loosened(), *record.looser),
        cautions=_cautions(judged),
        taken_back=tuple(
            one.words(judged.name(one.instrument), judged.zone)
            for one in taken_back(judged.state, judged.context)
        ),
        photos=record.photos,
        head=record.head,
        sign_offs=record.sign_offs,
        missing_sign_offs=record.missing_sign_offs,
    )


def _verdicts(judged: Judged) -> tuple[VerdictChanges, ...]:
    return tuple(
        VerdictChanges(team=judged.name(team), changes=changes)
        for team, changes in judged.verdicts.items()
    )


def _cautions(judged: Judged) -> tuple[str, ...]:
    of_engine = (*judged.worksheet.cautions, *judged.view.cautions)
    own = (*judged.record.looser, *facts.CAUTIONS)
    return unique((*_faults(judged), *of_engine, *own))


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
    judged: Judged,
    document: Mapping[str, Any],
    view: TeamAssessment,
    inside: tuple[Stay, ...],
) -> TeamLine:
    team, worn = judged.context.teams[view.id], judged.worn(view.id)
    return TeamLine(
        name=judged.name(view.id),
        role=team.role,
        ensembles=tuple(ensemble.label for ensemble in worn),
        members=facts.members(document, view.id, judged.record.names),
        place=view.place,
        inside=view.clocks.inside,
        action=max(view.action, Action.CAUTION if judged.not_judged else view.action),
        findings=tuple(_finding_line(finding) for finding in view.findings),
        look_next=view.look_next,
        stays=inside,
        check_every=look_interval(
            judged.context, judged.state.core.teams[view.id].worn
        ),
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
            lines=tuple(_coverage_line(row, view.findings) for row in view.coverage),
        )
        for view in judged.view.teams
    ]
    seen = {view.place for view in judged.view.teams}
    raised = tuple(f for found in judged.findings.values() for f in found)
    core, context = judged.state.core, judged.context
    for place in sorted(set(core.places) - seen):
        # The dose goes with a team, not with a place where it has been.
        someone = next(iter(core.teams.values()), None)
        if someone is None:
            break
        probe = replace(someone, place=place, dose=type(someone.dose)())
        rows = coverage(core, probe, judged.view.at, context.under(judged.view.at))
        lines = tuple(_coverage_line(row, raised) for row in rows)
        covered.append(PlaceCoverage(team="", place=place, lines=lines))
    return tuple(covered)


def _coverage_line(row: CoverageRow, findings: Iterable[Finding]) -> CoverageLine:
    origin = origin_of(row, findings)
    return CoverageLine(
        hazard=row.hazard.label,
        status=row.status,
        because=sentence(row.because),
        next_check=row.next_check,
        source=origin.cited if origin else "",
        origin=origin.id if origin else "",
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
