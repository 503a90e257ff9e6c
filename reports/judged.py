"""A worksheet's whole log judged by the engine, entry by entry, for a report."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, tzinfo

from reports.record import IncidentRecord
from screening.assess import assess
from screening.ensembles import Ensemble
from screening.incident import Context, Worksheet
from screening.readings import ChangeEnsemble
from screening.state import State, initial_state, step
from screening.verdicts import Action, Assessment, Finding


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """The whole log, judged entry by entry."""

    worksheet: Worksheet
    record: IncidentRecord
    state: State
    view: Assessment
    findings: Mapping[str, tuple[Finding, ...]]  # by entry id
    not_judged: tuple[str, ...]  # ids of entries that the engine failed on
    verdicts: Mapping[str, tuple[tuple[datetime, Action], ...]]  # by team id

    @property
    def context(self) -> Context:
        return self.worksheet.context

    @property
    def zone(self) -> tzinfo:
        """Where times are printed: the record's zone, else the first entry's offset."""
        log = self.worksheet.log
        return self.record.zone or (log[0].at.tzinfo if log else None) or UTC

    def worn(self, team: str) -> tuple[Ensemble, ...]:
        """What a team wore, in the order worn; the last is the present one."""
        changes = (
            Ensemble(entry.ensemble)
            for entry in self.worksheet.log
            if isinstance(entry, ChangeEnsemble)
            and entry.team == team
            and entry.id not in self.state.struck
        )
        return (self.context.teams[team].ensemble, *changes)

    def worn_by_any(self, team: str) -> tuple[Ensemble, ...]:
        """That, and what members of it wore instead."""
        return (*self.context.teams[team].own_ensembles.values(), *self.worn(team))

    def name(self, ident: str) -> str:
        """What people call a team or an instrument."""
        return self.record.names.get(ident, ident)


def judge(worksheet: Worksheet, record: IncidentRecord, at: datetime) -> Judged:
    """Judge every entry, and all teams at `at`, which is never before the last entry."""
    context = replace(worksheet.context, names=record.names)
    worksheet = replace(worksheet, context=context)
    state = initial_state(context)
    findings: dict[str, tuple[Finding, ...]] = {}
    failed: list[str] = []
    verdicts: dict[str, list[tuple[datetime, Action]]] = {t: [] for t in context.teams}
    for entry in worksheet.log:
        try:
            state, found = step(state, entry, context)
        except Exception:  # a fault of the engine must not lose the record of a day
            found = ()
            failed.append(entry.id)
        kept = record.entries.get(entry.id)
        shown = kept.findings if kept else None
        findings[entry.id] = found if shown is None else shown
        for name, action in state.standing.items():
            changes = verdicts[name]
            if not changes or changes[-1][1] is not action:
                changes.append((entry.at, action))
    view = _with_plan(
        assess(state, context, max([at, *(entry.at for entry in worksheet.log)])),
        record.plan_standing,
    )
    # By time alone a verdict may have changed since the last entry.
    for team in view.teams:
        changes = strictest_of(verdicts[team.id], record.plan_actions.get(team.id, ()))
        verdicts[team.id] = changes
        if changes and changes[-1][1] is not team.action:
            changes.append((view.at, team.action))
    return Judged(
        worksheet=worksheet,
        record=record,
        state=state,
        view=view,
        not_judged=tuple(failed),
        findings=findings,
        verdicts={
            team: tuple(changes) for team, changes in verdicts.items() if changes
        },
    )


def _with_plan(
    view: Assessment, standing: Mapping[str, tuple[Finding, ...]]
) -> Assessment:
    """The last view with what of the plan is not ready for those inside."""
    teams = []
    for team in view.teams:
        found = sorted(
            (*team.findings, *standing.get(team.id, ())), key=lambda f: -f.action
        )
        action = max([team.action, *(finding.action for finding in found)])
        teams.append(replace(team, action=action, findings=tuple(found)))
    return replace(view, teams=tuple(teams))


def strictest_of(
    first: Sequence[tuple[datetime, Action]], second: Sequence[tuple[datetime, Action]]
) -> list[tuple[datetime, Action]]:
    """Two runs of actions, each from its moment on, as one: the stricter of both.

    It begins where the first does.
    """
    merged: list[tuple[datetime, Action]] = []
    for moment in sorted({at for at, _ in (*first, *second)}):
        if not first or moment < first[0][0]:
            continue
        action = max(_action_at(first, moment), _action_at(second, moment))
        if not merged or merged[-1][1] is not action:
            merged.append((moment, action))
    return merged


def _action_at(run: Sequence[tuple[datetime, Action]], at: datetime) -> Action:
    return next((a for moment, a in reversed(run) if moment <= at), Action.CONTINUE)


def sentence(words: str) -> str:
    """With a capital and a full stop; the engine writes clauses."""
    words = words[:1].upper() + words[1:] if not words.startswith("pH") else words
    return words if not words or words.endswith((".", "!", "?")) else f"{words}."


def unique(sentences: Sequence[str]) -> tuple[str, ...]:
    """Each sentence once, in order."""
    return tuple(dict.fromkeys(sentences))
