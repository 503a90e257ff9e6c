"""What of the plan stood for whom, all along a log: for a report, made from the records.

Findings of the plan are not stored: they follow from the records and their times, so
that any past moment gives the same again.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from command.plan import Plan, fold
from incidents import engine, judging, plans
from incidents.models import LogEntry
from incidents.models.log import PLAN
from screening.verdicts import Action, Finding


@dataclass(slots=True)
class PlanHistory:
    """`found` by the key of the entry at which a team came in not ready; `actions` by
    team, each from its moment on; `standing` by team at the end."""

    found: dict[str, tuple[Finding, ...]] = field(default_factory=dict)
    actions: dict[str, list[tuple[datetime, Action]]] = field(default_factory=dict)
    standing: Mapping[str, tuple[Finding, ...]] = field(default_factory=dict)


def history_of(
    rows: Sequence[LogEntry], about: plans.Around, at: datetime
) -> PlanHistory:
    """Walk the log in the order of its times; nothing where no plan was begun."""
    history = PlanHistory()
    if not any(row.kind == PLAN for row in rows):
        return history
    now = engine.start(rows)
    records: list[LogEntry] = []
    plan = fold(())
    inside: dict[str, datetime | None] = {}
    for row in _in_time(rows):
        if row.kind == PLAN:
            records.append(row)
            plan = plans.plan_from(records)
        else:
            now, _ = engine.step_row(now, row)
        standing = _standing(now, plan, about, row.observed_at)
        came_in: list[Finding] = []
        for team in now.context.teams:
            since = now.state.core.teams[team].inside_since
            if since is not None and since != inside.get(team):
                came_in += standing.get(team, ())
            inside[team] = since
        if came_in and row.kind != PLAN:
            history.found[row.key] = tuple(came_in)
        _note(history, now.context.teams, standing, row.observed_at)
    last = max([at, *(row.observed_at for row in rows)])
    history.standing = _standing(now, plan, about, last)
    _note(history, now.context.teams, history.standing, last)
    return history


def _in_time(rows: Iterable[LogEntry]) -> list[LogEntry]:
    """Records of the plan and entries by their time; at one moment the plan first, as
    an override stands before the entry that it lets in."""
    kept = (row for row in rows if row.is_for_engine or row.kind == PLAN)
    return sorted(
        kept,
        key=lambda row: (
            row.observed_at,
            row.kind != PLAN,
            row.key if row.kind != PLAN else f"{row.seq:09}",
        ),
    )


def _standing(
    now: engine.Live, plan: Plan, about: plans.Around, at: datetime
) -> dict[str, tuple[Finding, ...]]:
    teams = now.state.core.teams
    inside = [key for key in now.context.teams if teams[key].inside]
    if not inside or not plan.begun:
        return {}
    scene = plans.scene_of(about, plan, now.context, now.state, at)
    return {team: judging.standing(scene, team) for team in inside}


def _note(
    history: PlanHistory,
    teams: Iterable[str],
    standing: Mapping[str, tuple[Finding, ...]],
    at: datetime,
) -> None:
    for team in teams:
        worst = max((f.action for f in standing.get(team, ())), default=Action.CONTINUE)
        changes = history.actions.setdefault(team, [])
        if (changes[-1][1] if changes else Action.CONTINUE) is not worst:
            changes.append((at, worst))
