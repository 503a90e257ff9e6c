"""Findings as they are kept: every one that was shown, with its life."""

from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import dataclass

from django.db.models import Exists, OuterRef, QuerySet

from incidents.documents import loads
from incidents.engine import CLEAR_REFUSED
from incidents.models import FindingEvent, Incident, LogEntry, Person, StoredFinding
from incidents.models.finding import FindingRows
from incidents.statements import Found, Said, all_said, said_before, take
from screening.readings import ChangeEnsemble, Clear, Entry, Exit, Par, Ventilate
from screening.verdicts import Action, Finding, Hazard
from screening.worksheet.text import collapsed

Kind = FindingEvent.Kind

# What moving air can answer. A liquid, a heated drum and a dose rate it cannot.
AIRBORNE = frozenset(
    {
        Hazard.ACID_VAPOUR,
        Hazard.BASE_VAPOUR,
        Hazard.OXIDISER_VAPOUR,
        Hazard.FLUORIDE_VAPOUR,
        Hazard.FLAMMABLE_ATMOSPHERE,
        Hazard.OXYGEN_ENRICHED,
        Hazard.OXYGEN_DEFICIENT,
        Hazard.TOXIC_GAS,
    }
)


def store(
    *,
    entry: LogEntry,
    findings: Iterable[Said],
    by: Person,
    raised_by: LogEntry,
    late: bool = False,
) -> list[StoredFinding]:
    """Keep what was found at `entry`, raised when `raised_by` was recorded."""
    rows = [
        StoredFinding(
            incident_id=entry.incident_id,
            entry=entry,
            team_key=finding.team,
            rule=finding.rule,
            number=finding.number,
            hazard=finding.hazard,
            place=finding.place,
            subject=finding.subject,
            action=finding.action,
            because=finding.because,
            advice=list(finding.advice),
            source=finding.source,
            late=late,
            created_at=raised_by.recorded_at,
        )
        for finding in findings
    ]
    StoredFinding.objects.bulk_create(rows)
    add_events(rows, Kind.RAISED, by=by, entry=raised_by)
    return rows


def add_events(
    rows: Iterable[StoredFinding],
    kind: str,
    *,
    by: Person,
    entry: LogEntry,
    note: str = "",
) -> None:
    FindingEvent.objects.bulk_create(
        FindingEvent(
            finding=row, kind=kind, by=by, at=entry.recorded_at, entry=entry, note=note
        )
        for row in rows
    )


def record_answer(*, row: LogEntry, entry: Entry, by: Person) -> None:
    """Note on earlier findings that the commander acted on them by this entry."""
    found = _acted_on(row, entry)
    if found is not None:
        done = FindingEvent.objects.filter(finding=OuterRef("pk"), kind=Kind.ACTED_ON)
        open_rows = list(found.filter(~Exists(done)))
        add_events(open_rows, Kind.ACTED_ON, by=by, entry=row, note=entry.note)


def _acted_on(row: LogEntry, entry: Entry) -> QuerySet[StoredFinding] | None:
    before = StoredFinding.objects.filter(
        incident_id=row.incident_id,
        superseded=False,
        entry__observed_at__lte=row.observed_at,
    ).exclude(entry=row)
    match entry:
        case Exit():
            return before.filter(team_key=entry.team, action__gte=Action.STOP)
        case ChangeEnsemble():
            asked = before.filter(team_key=entry.team, action__gte=Action.CAUTION)
            return asked.exclude(hazard=Hazard.GAMMA_RADIATION)
        case Ventilate():
            asked = before.filter(place=entry.place, action__gte=Action.CAUTION)
            return asked.filter(hazard__in=AIRBORNE)
        case Par():
            asked = before.filter(hazard=Hazard.ACCOUNTABILITY)
            return asked.filter(team_key=entry.team)
    return None


def record_clear(*, row: LogEntry, entry: Clear, by: Person) -> None:
    """Note on the findings that a clear ended that it did."""
    rows = answered_by_clear(row, entry.hazard, entry.place).uncleared()
    add_events(list(rows), Kind.CLEARED, by=by, entry=row, note=entry.reason)


def clear_holds(found: Iterable[Finding]) -> bool:
    """Whether a `clear` to which the engine said this ends its hazard."""
    return all(finding.rule != CLEAR_REFUSED for finding in found)


def acknowledge(*, row: LogEntry, heard: LogEntry, by: Person, note: str = "") -> None:
    """Note that the findings of `heard` were acknowledged; the first time counts."""
    done = FindingEvent.objects.filter(finding=OuterRef("pk"), kind=Kind.ACKNOWLEDGED)
    rows = StoredFinding.objects.filter(entry=heard).filter(~Exists(done))
    add_events(list(rows), Kind.ACKNOWLEDGED, by=by, entry=row, note=note)


def acknowledge_these(*, row: LogEntry, hears: Collection[int], by: Person) -> None:
    """Note that these findings, of one alarm, were heard with `row`."""
    rows = StoredFinding.objects.filter(pk__in=hears, incident_id=row.incident_id)
    add_events(list(rows), Kind.ACKNOWLEDGED, by=by, entry=row)


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """What the log says now, against what is kept."""

    missing: tuple[Said, ...]  # said by the log, not kept
    surplus: tuple[StoredFinding, ...]  # kept as standing, no longer said

    def __bool__(self) -> bool:
        return bool(self.missing or self.surplus)


def compare(incident: Incident, found: Found) -> Difference:
    """Hold what the log says of these entries against the findings kept of them."""
    derived = all_said(found)
    kept = _kept(incident, found, superseded=False)
    surplus = tuple(row for row in kept if not take(derived, said_before(row)))
    return Difference(missing=tuple(derived.elements()), surplus=surplus)


def reconcile(
    *, incident: Incident, found: Found, raised_by: LogEntry, by: Person
) -> None:
    """Bring the kept findings to what the log says now; nothing shown is taken away.

    What is no longer said is marked superseded, what is said now is kept as late. What
    was superseded earlier and is said again stands again, and is not doubled.
    """
    difference = compare(incident, found)
    missing = Counter(difference.missing)
    earlier = _kept(incident, found, superseded=True) if missing else []
    again = [row for row in earlier if take(missing, said_before(row))]
    _mark(difference.surplus, superseded=True)
    _mark(again, superseded=False)
    keys = {finding.entry for finding in missing.elements()}
    for row in incident.entries.filter(client_uuid__in=keys).order_by("seq"):
        store(
            entry=row,
            findings=[each for each in missing.elements() if each.entry == row.key],
            by=by,
            raised_by=raised_by,
            late=True,
        )
    _review_clears(incident, found, raised_by=raised_by, by=by)


def _kept(incident: Incident, found: Found, *, superseded: bool) -> list[StoredFinding]:
    """The findings kept of these entries, in the order they were kept."""
    rows = StoredFinding.objects.filter(incident=incident, superseded=superseded)
    rows = rows.select_related("entry").order_by("entry__seq", "pk")
    return [row for row in rows if row.entry.key in found]


def _mark(rows: Iterable[StoredFinding], *, superseded: bool) -> None:
    keys = [row.pk for row in rows]
    if keys:
        StoredFinding.objects.filter(pk__in=keys).update(superseded=superseded)


def _review_clears(
    incident: Incident, found: Found, *, raised_by: LogEntry, by: Person
) -> None:
    """A clear judged anew may hold no longer, or hold now; the findings' life says so."""
    clears = incident.entries.filter(kind="clear").exclude(pk=raised_by.pk)
    for row in clears.order_by("seq"):
        if row.key not in found:
            continue
        body = loads(row.body)
        place = collapsed(body.get("place", ""))
        rows = answered_by_clear(row, body["hazard"], place)
        if clear_holds(found[row.key]):
            note = f"The clear in entry {row.seq} holds now."
            open_rows = list(rows.uncleared())
            add_events(open_rows, Kind.CLEARED, by=by, entry=raised_by, note=note)
        else:
            note = f"The clear in entry {row.seq} no longer holds."
            ended = list(rows.cleared().filter(events__entry=row))
            add_events(ended, Kind.RAISED, by=by, entry=raised_by, note=note)


def answered_by_clear(row: LogEntry, hazard: str, place: str) -> FindingRows:
    """The findings that a clear is about, cleared or not."""
    return StoredFinding.objects.filter(
        incident_id=row.incident_id,
        superseded=False,
        hazard=hazard,
        place=place,
        entry__observed_at__lte=row.observed_at,
    ).exclude(entry=row)
