"""What of one incident has a time at which it is due, as far as the reader may see it."""

from collections.abc import Iterator
from datetime import datetime

from command.call_parts import NotificationCall
from command.medical import State
from command.plan import Record
from incidents import plans
from incidents.models import Incident
from incidents.selectors.exposure import exposure_records
from incidents.selectors.medical import fitness
from reports.exposure import WATCH_HOURS
from reports.icalendar import Due


def due_in(
    incident: Incident, at: datetime, *, medical: bool, exposure: bool
) -> list[Due]:
    """Calls; for who may see `medical` that a check of somebody is due, and no figure;
    for who may see `exposure` until when somebody is watched.
    """
    days = list(_calls(incident))
    if medical:
        days += _checks(incident, at)
    if exposure:
        days += _watches(incident, at)
    return days


def _uid(incident: Incident, what: str) -> str:
    return f"{what}.{incident.pk}@{incident.agency.slug}.worksheet.invalid"


def _calls(incident: Incident) -> Iterator[Due]:
    calls = plans.plan_of(incident).items("calls")
    for item, record in calls.items():
        due = _call(incident, item, record)
        if due is not None:
            yield due


def _call(incident: Incident, item: str, record: Record) -> Due | None:
    says: NotificationCall = record.says
    uid = _uid(incident, f"call-{item}")
    if says.called_at is not None:
        report = f" Report number {says.report_number}." if says.report_number else ""
        return Due(
            uid=uid,
            starts=says.called_at,
            title=f"Called: {says.name}",
            words=f"{says.number}, by {says.by}.{report}",
        )
    if says.due_at is None:
        return None
    return Due(
        uid=uid,
        starts=says.due_at,
        title=f"To be called at once: {says.name}",
        words=f"40 CFR {says.rule}. No call is recorded yet.",
    )


def _checks(incident: Incident, at: datetime) -> Iterator[Due]:
    """Whoever came out and was not looked at since; nothing of what was measured."""
    for row in fitness(incident, at):
        if row.standing.blocks and row.standing.state == State.NOT_CHECKED:
            yield Due(
                uid=_uid(incident, f"check-{row.code}"),
                starts=row.standing.since or at,
                title=f"Medical check due: {row.name}",
                words=f"{incident.name}.",
            )


def _watches(incident: Incident, at: datetime) -> Iterator[Due]:
    """29 CFR 1910.146, note to the definition of IDLH: fluoride acts hours later."""
    for code, record in exposure_records(incident, at):
        if record.watch_until is not None:
            yield Due(
                uid=_uid(incident, f"watch-{code}"),
                starts=record.watch_until,
                title=f"Watch ends for delayed effects: {record.name}",
                words=f"{incident.name}. {WATCH_HOURS[0]} to {WATCH_HOURS[1]} hours.",
            )
