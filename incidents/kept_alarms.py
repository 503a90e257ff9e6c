"""What the database has of findings that ask to be heard, and of who heard them."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from incidents.alarms import Hearing, Item, Kept, Row
from incidents.documents import loads
from incidents.models import FindingEvent, Incident, StoredFinding
from incidents.models.log import HEARD, UNDONE
from screening.verdicts import Action


@dataclass(frozen=True, slots=True, kw_only=True)
class Past:
    """What was there at a moment that is over."""

    entries: frozenset[int]  # the records of the log, by their rows
    standing: frozenset[int]  # the findings that stood


def kept_alarms(incident: Incident, past: Past | None = None) -> Kept:
    """As they are kept now, or as they were in the past. Three queries, or four."""
    there = _there(past)
    rows = incident.entries.filter(kind__in=("strike", HEARD, UNDONE)).order_by("seq")
    columns = ("pk", "kind", "client_uuid", "body", "recorded_at", "author_name")
    records = [record for pk, *record in rows.values_list(*columns) if there(pk)]
    taken_back = {
        loads(body)["entry"] for kind, _, body, *_ in records if kind != HEARD
    }
    return Kept(
        rows=tuple(_rows(incident, _heard(incident, taken_back, there), past)),
        by_time={
            item: Hearing(at=at, by=by)
            for kind, key, body, at, by in records
            if kind == HEARD and str(key) not in taken_back
            for item in map(item_from, loads(body)["items"])
        },
    )


def item_document(item: Item) -> dict[str, str]:
    """An item as a `heard` record has it."""
    return {
        "team": item.team,
        "rule": item.rule,
        "subject": item.subject,
        "action": item.action.word,
        "since": item.since,
    }


def item_from(document: Mapping[str, Any]) -> Item:
    given = {**document, "action": Action[document["action"].upper()]}
    return Item(**given)


def _there(past: Past | None) -> Callable[[int], bool]:
    return (lambda pk: True) if past is None else past.entries.__contains__


def _open_findings(incident: Incident, past: Past | None) -> Any:
    rows = StoredFinding.objects.filter(incident=incident, action__gte=Action.STOP)
    if past is None:
        return rows.uncleared().filter(superseded=False)
    return rows.filter(pk__in=past.standing - _cleared(incident, past))


def _cleared(incident: Incident, past: Past) -> set[int]:
    """The findings that a clear had ended then, and that nothing had raised again."""
    events = FindingEvent.objects.filter(
        finding__incident=incident,
        kind__in=(FindingEvent.Kind.RAISED, FindingEvent.Kind.CLEARED),
    )
    last: dict[int, str] = {}
    rows = events.order_by("pk").values_list("finding_id", "kind", "entry_id")
    for finding, kind, entry in rows:
        if entry in past.entries:
            last[finding] = kind
    return {pk for pk, kind in last.items() if kind == FindingEvent.Kind.CLEARED}


def _heard(
    incident: Incident, taken_back: set[str], there: Callable[[int], bool]
) -> dict[int, Hearing]:
    """By the finding's row; a hearing that was taken back is none."""
    events = FindingEvent.objects.filter(
        kind=FindingEvent.Kind.ACKNOWLEDGED,
        finding__incident=incident,
        finding__action__gte=Action.STOP,
    )
    rows = events.order_by("pk").values_list(
        "finding_id",
        "at",
        "entry_id",
        "entry__client_uuid",
        "entry__author_name",
        "entry__observed_at",
        "entry__body",
        "entry__incident__imported",
    )
    heard: dict[int, Hearing] = {}
    for finding, at, pk, entry, by, said_at, body, imported in rows:
        if not there(pk) or str(entry) in taken_back:
            continue
        if imported is not None:  # who brought the file in heard nothing
            at, by = said_at, str(loads(body)["by"])
        heard.setdefault(finding, Hearing(at=at, by=by))
    return heard


def _rows(
    incident: Incident, heard: Mapping[int, Hearing], past: Past | None
) -> Iterator[Row]:
    columns = _open_findings(incident, past).values_list(
        "pk",
        "entry__client_uuid",
        "team_key",
        "rule",
        "subject",
        "action",
        "hazard",
        "place",
        "entry__observed_at",
        "created_at",
    )
    pk: int
    observed: datetime
    for (
        pk,
        entry,
        team,
        rule,
        subject,
        action,
        hazard,
        place,
        observed,
        raised,
    ) in columns:
        yield Row(
            pk=pk,
            entry=str(entry),
            hazard=hazard,
            place=place,
            item=Item(team=team, rule=rule, subject=subject, action=Action(action)),
            observed_at=observed,
            raised_at=raised,
            heard=heard.get(pk),
        )
