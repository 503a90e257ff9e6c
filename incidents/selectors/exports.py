"""The log as the open formats of `reports` need it: read some rows at a time."""

from collections.abc import Iterator
from datetime import datetime
from decimal import Decimal

from incidents import engine, plans
from incidents.documents import loads
from incidents.models import Incident, LogEntry
from incidents.models.log import CORRECTION
from reports.cap import Draft
from reports.readings_csv import Line
from screening.verdicts import Action
from screening.worksheet import parse_entry

AT_ONCE = 500


def csv_lines(incident: Incident, kind: str) -> Iterator[Line]:
    """Every reading of a kind, in the order of recording, struck ones too."""
    context = engine.live(incident).context
    teams = dict(incident.teams.values_list("key", "name"))
    strikes: dict[str, tuple[int, str]] = {}
    rights: dict[str, int] = {}
    for row in incident.entries.filter(kind__in=("strike", CORRECTION)):
        body = loads(row.body)
        if row.kind == CORRECTION:
            rights[body["wrong"]] = int(body["right_seq"])
        else:
            strikes.setdefault(body["entry"], (row.seq, body["reason"]))
    rows = incident.entries.filter(kind=kind).order_by("seq")
    for row in rows.prefetch_related("findings").iterator(chunk_size=AT_ONCE):
        entry = parse_entry(loads(row.body), context)
        struck_by, reason = strikes.get(row.key, (None, ""))
        action, because = _found(row)
        yield Line(
            seq=row.seq,
            entry=entry,
            team=teams.get(entry.team, entry.team),
            recorded_at=row.recorded_at,
            author=row.author_name,
            device=row.device,
            struck_by=struck_by,
            struck_reason=reason,
            right_seq=rights.get(row.key),
            action=action,
            because=because,
            drill=incident.is_drill,
        )


def _found(row: LogEntry) -> tuple[Action | None, tuple[str, ...]]:
    stands = [found for found in row.findings.all() if not found.superseded]
    action = max((Action(found.action) for found in stands), default=None)
    return action, tuple(dict.fromkeys(found.because for found in stands))


def cap_draft(incident: Incident, response: str, at: datetime) -> Draft:
    """What the plan says of the protective action; else of the isolation, or nothing."""
    plan = plans.plan_of(incident)
    zone = plan.zones.get("protective_action") or plan.zones.get("isolation")
    area = incident.location or "Not described yet"
    corners: tuple[tuple[Decimal, Decimal], ...] = ()
    if zone is not None:
        distance = zone.distance.shown if zone.distance else ""
        said = ", ".join(filter(None, (distance, zone.runs)))
        area = f"{area}: {said}" if said else area
        corners = tuple((each.latitude, each.longitude) for each in zone.corners)
    return Draft(
        identifier=f"{incident.pk}.{incident.head_seq}.{response.lower()}",
        sender=f"{incident.agency.slug}.worksheet.invalid",
        sent=at,
        incident=incident.name,
        agency=incident.agency.name,
        response=response,
        area=area,
        corners=corners,
        drill=incident.is_drill,
    )
