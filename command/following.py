"""What a new record must fit to, given the plan that stands."""

from collections.abc import Iterator
from datetime import datetime

from command.documents import Body, same_name
from command.plan import Plan
from command.work_parts import CommandTaken, Override, Position, Signature

Misfit = tuple[str, str]  # JSON Pointer into the body, what was expected


def misfits(plan: Plan, body: Body, holds_from: datetime) -> list[Misfit]:
    """What of a record does not fit to what stands; empty where all does."""
    match body.says:
        case CommandTaken():
            return list(_command(plan, body.says, holds_from))
        case Position():
            return list(_position(plan, body.says, holds_from))
        case Signature():
            return []
        case Override() if not body.says.why.strip():
            return [("/says/why", "why the team goes in all the same")]
        case None if plan.last(body.part.key, body.item) is None:
            return [("/item", "an item that stands")]
    return []


def _command(plan: Plan, says: CommandTaken, holds_from: datetime) -> Iterator[Misfit]:
    """One takes over from the one who commands, later than that one began: so there
    is one commander at every second, and no gap."""
    before = plan.history("command")
    now = before[-1].says.name if before else ""
    if not same_name(says.takes_over_from, now):
        yield (
            "/says/takes_over_from",
            f"{now}, who commands now" if now else "nobody: nobody commands yet",
        )
    if before and holds_from <= before[-1].at:
        yield "/at", f"a time after {before[-1].says.name} took command"
    if now and same_name(says.name, now):
        yield "/says/name", "somebody else than the one who commands now"


def _position(plan: Plan, says: Position, holds_from: datetime) -> Iterator[Misfit]:
    """29 CFR 1910.120(q)(3)(vii): the one in charge designates a safety official."""
    commander = plan.commander(holds_from)
    doubles = says.position == "safety_officer" and same_name(says.name, commander)
    if doubles and not says.why:
        yield "/says/why", f"why {says.name}, who commands, is the safety officer too"
