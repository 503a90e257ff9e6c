"""A worksheet's whole log judged by the engine, entry by entry, for a report."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo

from reports.record import IncidentRecord
from screening.assess import assess
from screening.incident import Context, Worksheet
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

    def name(self, ident: str) -> str:
        """What people call a team or an instrument."""
        return self.record.names.get(ident, ident)


def judge(worksheet: Worksheet, record: IncidentRecord, at: datetime) -> Judged:
    """Judge every entry, and all teams at `at`, which is never before the last entry."""
    context = worksheet.context
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
    view = assess(state, context, max([at, *(entry.at for entry in worksheet.log)]))
    # By time alone a verdict may have changed since the last entry.
    for team in view.teams:
        changes = verdicts[team.id]
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


def sentence(words: str) -> str:
    """With a capital and a full stop; the engine writes clauses."""
    words = words[:1].upper() + words[1:] if not words.startswith("pH") else words
    return words if not words or words.endswith((".", "!", "?")) else f"{words}."


def unique(sentences: Sequence[str]) -> tuple[str, ...]:
    """Each sentence once, in order."""
    return tuple(dict.fromkeys(sentences))
