"""Who stands for the record so far, and who should and does not yet."""

from bisect import bisect
from collections.abc import Iterable, Mapping
from typing import Any, Final

from incidents.documents import loads
from incidents.models import Incident, IncidentRole, LogEntry, Person
from incidents.models.log import DEVICE, PHOTO_ARRIVED, SIGN_OFF
from reports.data import SignOff

Role = IncidentRole.Role
# ICS 208 HM has blocks for these two beside the group supervisor (from memory).
REQUIRED: Final = (Role.COMMANDER, Role.SAFETY_OFFICER)
# They change nothing of what was signed for.
_NOTHING_NEW: Final = frozenset({SIGN_OFF, DEVICE, PHOTO_ARRIVED})


def sign_offs_of(incident: Incident) -> tuple[SignOff, ...]:
    """The sign-offs of its log up to the head, in order. Two queries."""
    log = incident.entries.filter(seq__lte=incident.head_seq).order_by("seq")
    others = list(log.exclude(kind__in=_NOTHING_NEW).values_list("seq", flat=True))
    rows = [(row, loads(row.body)) for row in log.filter(kind=SIGN_OFF)]
    replaced = {
        int(body["replaces"]): row.seq for row, body in rows if "replaces" in body
    }
    return tuple(
        _sign_off(
            row,
            body,
            after=len(others) - bisect(others, row.seq),
            replaced_by=replaced.get(row.seq, 0),
        )
        for row, body in rows
    )


def standing_answer(incident: Incident, person: Person) -> LogEntry | None:
    """The person's last answer for the log as it stands; None where more came since."""
    log = incident.entries.order_by("-seq")
    last = log.exclude(kind__in=_NOTHING_NEW).values_list("seq", flat=True).first()
    return log.filter(kind=SIGN_OFF, author=person, seq__gt=last or 0).first()


def _sign_off(
    row: LogEntry, body: Mapping[str, Any], *, after: int, replaced_by: int
) -> SignOff:
    return SignOff(
        meaning=str(body["role"]),
        name=str(body["by"]),
        at=row.recorded_at,
        covers=row.seq - 1,
        after=after,
        dissent=str(body.get("dissent", "")),
        replaced_by=replaced_by,
    )


def missing_of(incident: Incident, signed: Iterable[SignOff]) -> tuple[str, ...]:
    """Who should sign off and has not, or only before something more was logged."""
    there = {(one.meaning, one.name) for one in signed if one.counts}
    parts = IncidentRole.objects.that_count().filter(incident=incident)
    rows = parts.filter(role__in=REQUIRED).select_related("person").order_by("pk")
    missing = [
        f"{row.get_role_display()}: {row.person.shown_name}"
        for row in rows
        if (row.get_role_display(), row.person.shown_name) not in there
    ]
    if all(row.role != Role.COMMANDER for row in rows):
        missing.insert(0, f"{Role.COMMANDER.label}: nobody has this part now")
    return tuple(missing)
