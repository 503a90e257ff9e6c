"""What was ordered and called, read from the application's own records.

An order to leave binds its team until it is out. A Mayday stands until a record ends it,
which takes a PAR of all and a second name (`services.end_mayday`). Neither is for the
engine: they are the people's own, and stand beside what it says.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

from incidents.documents import loads
from incidents.models import Incident, LogEntry
from incidents.models.log import MAYDAY, MAYDAY_OVER, ORDER, UNDONE
from screening.verdicts import (
    Action,
    Assessment,
    Clocks,
    Finding,
    Hazard,
    TeamAssessment,
)

ORDERED_OUT: Final = "ordered_out"
MAYDAY_STANDS: Final = "mayday_stands"


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """One order or call."""

    key: str
    seq: int
    team: str  # "" for all
    by: str
    reason: str
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Commands:
    """What stands of orders and calls after some entry of the log."""

    orders: tuple[Said, ...] = ()
    mayday: Said | None = None

    def order_for(self, team: str, clocks: Clocks) -> Said | None:
        """The first order that binds the team; one from before it went in does not."""
        if not clocks.inside:
            return None
        since = clocks.inside_since
        bound = (o for o in self.orders if o.team == team)
        return next((o for o in bound if since is None or o.at >= since), None)


def standing(incident: Incident, *, up_to: int | None = None) -> Commands:
    """What stands after entry `up_to` (the incident's head). One query."""
    rows = incident.entries.filter(
        kind__in=(ORDER, MAYDAY, MAYDAY_OVER, UNDONE),
        seq__lte=incident.head_seq if up_to is None else up_to,
    )
    return standing_in(rows.order_by("seq").defer("canonical"))


def standing_in(rows: Iterable[LogEntry]) -> Commands:
    """What stands after these records, in the order of the log; others are passed over."""
    orders: dict[str, Said] = {}
    mayday = None
    for row in rows:
        match row.kind:
            case "order":
                orders[row.key] = _said(row)
            case "undone":
                orders.pop(loads(row.body)["entry"], None)
            case "mayday":
                mayday = _said(row)
            case "mayday_over":
                mayday = None
    return Commands(orders=tuple(orders.values()), mayday=mayday)


def _said(row: LogEntry) -> Said:
    body = loads(row.body)
    return Said(
        key=row.key,
        seq=row.seq,
        team=body.get("team", ""),
        by=body["by"],
        reason=body.get("reason", ""),
        at=row.observed_at,
    )


def unaccounted(view: Assessment, since: datetime) -> list[str]:
    """Teams inside that have not all answered a PAR since then, by id."""
    return [
        team.id
        for team in view.teams
        if team.clocks.inside
        and (
            team.clocks.unanswered
            or team.clocks.last_par is None
            or team.clocks.last_par <= since
        )
    ]


def with_commands(team: TeamAssessment, commands: Commands) -> TeamAssessment:
    """The team's view with what was ordered and called, strictest first."""
    found = tuple(_findings(team, commands))
    if not found:
        return team
    findings = sorted((*found, *team.findings), key=lambda finding: -finding.action)
    return replace(team, action=findings[0].action, findings=tuple(findings))


def _findings(team: TeamAssessment, commands: Commands) -> Iterable[Finding]:
    order = commands.order_for(team.id, team.clocks)
    if order is not None:
        yield _finding(
            team,
            order,
            rule=ORDERED_OUT,
            action=Action.WITHDRAW,
            because=f"Ordered out by {order.by}",
            advice=("Leave now; report out, each by name.",),
            source="an order of the incident commander, no rule",
        )
    if commands.mayday is not None:
        inside = team.clocks.inside
        yield _finding(
            team,
            commands.mayday,
            rule=MAYDAY_STANDS,
            action=Action.STOP if inside else Action.CAUTION,
            because=f"Mayday called by {commands.mayday.by}",
            advice=(
                "Hold other work; call PAR, each by name."
                if inside
                else "Stand by to help those inside.",
            ),
            source="NIOSH F2004-04 for a PAR by name before it ends; else common "
            "practice, no source",
        )


def _finding(
    team: TeamAssessment,
    said: Said,
    *,
    rule: str,
    action: Action,
    because: str,
    advice: tuple[str, ...],
    source: str,
) -> Finding:
    return Finding(
        rule=rule,
        number=0,
        hazard=Hazard.ACCOUNTABILITY,
        team=team.id,
        place=team.place,
        action=action,
        because=f"{because}: {said.reason}" if said.reason else because,
        advice=advice,
        source=source,
        at=said.at,
    )
