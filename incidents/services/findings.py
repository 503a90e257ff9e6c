"""Findings as they are kept: every one that was shown, with its life."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from django.db.models import Exists, OuterRef, QuerySet

from incidents.models import FindingEvent, Incident, LogEntry, Person, StoredFinding
from screening.readings import ChangeEnsemble, Clear, Entry, Exit, Par, Ventilate
from screening.verdicts import Action, Finding, Hazard

Kind = FindingEvent.Kind
CLEAR_REFUSED: Final = "clear_does_not_hold"  # the engine's name for that statement

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


@dataclass(frozen=True, slots=True)
class Said:
    """What makes two findings the same statement."""

    entry: str
    team: str
    rule: str
    number: int
    hazard: str
    place: str
    action: int
    because: str
    advice: tuple[str, ...]
    source: str


def said(entry_key: str, finding: Finding) -> Said:
    return Said(
        entry_key,
        finding.team,
        finding.rule,
        finding.number,
        finding.hazard.value,
        finding.place,
        finding.action.value,
        finding.because,
        tuple(finding.advice),
        finding.source,
    )


def said_before(row: StoredFinding) -> Said:
    return Said(
        row.entry.key,
        row.team_key,
        row.rule,
        row.number,
        row.hazard,
        row.place,
        row.action,
        row.because,
        tuple(row.advice),
        row.source,
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


def record_answer(
    *, row: LogEntry, entry: Entry, by: Person, cleared: bool = False
) -> None:
    """Note on earlier findings that this entry heard, acted on or cleared them."""
    kind, found = _answered(row, entry, cleared)
    if found is not None:
        done = FindingEvent.objects.filter(finding=OuterRef("pk"), kind=kind)
        open_rows = list(found.filter(~Exists(done)))
        add_events(open_rows, kind, by=by, entry=row, note=entry.note)


def _answered(
    row: LogEntry, entry: Entry, cleared: bool
) -> tuple[str, QuerySet[StoredFinding] | None]:
    before = StoredFinding.objects.filter(
        incident_id=row.incident_id,
        superseded=False,
        entry__observed_at__lte=row.observed_at,
    ).exclude(entry=row)
    match entry:
        case Clear() if cleared:
            return Kind.CLEARED, before.filter(hazard=entry.hazard, place=entry.place)
        case Exit():
            asked = before.filter(team_key=entry.team, action__gte=Action.STOP)
            return Kind.ACTED_ON, asked
        case ChangeEnsemble():
            asked = before.filter(team_key=entry.team, action__gte=Action.CAUTION)
            return Kind.ACTED_ON, asked.exclude(hazard=Hazard.GAMMA_RADIATION)
        case Ventilate():
            asked = before.filter(place=entry.place, action__gte=Action.CAUTION)
            return Kind.ACTED_ON, asked.filter(hazard__in=AIRBORNE)
        case Par():
            asked = before.filter(hazard=Hazard.ACCOUNTABILITY)
            return Kind.ACTED_ON, asked.filter(team_key=entry.team)
    return "", None


def clear_holds(found: Iterable[Finding]) -> bool:
    """Whether a `clear` to which the engine said this ends its hazard."""
    return all(finding.rule != CLEAR_REFUSED for finding in found)


def acknowledge(*, row: LogEntry, heard: LogEntry, by: Person, note: str = "") -> None:
    """Note that the findings of `heard` were acknowledged; the first time counts."""
    done = FindingEvent.objects.filter(finding=OuterRef("pk"), kind=Kind.ACKNOWLEDGED)
    rows = StoredFinding.objects.filter(entry=heard).filter(~Exists(done))
    add_events(list(rows), Kind.ACKNOWLEDGED, by=by, entry=row, note=note)


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """What the log says now, against what is kept."""

    missing: tuple[Said, ...]  # said by the log, not kept
    surplus: tuple[StoredFinding, ...]  # kept as standing, no longer said

    def __bool__(self) -> bool:
        return bool(self.missing or self.surplus)


def compare(incident: Incident, found: Iterable[Said]) -> Difference:
    """Hold what the log says against the findings that are kept as standing."""
    derived = Counter(found)
    kept = (
        StoredFinding.objects.filter(incident=incident, superseded=False)
        .select_related("entry")
        .order_by("entry__seq", "pk")
    )
    surplus = tuple(row for row in kept if not _take(derived, said_before(row)))
    return Difference(missing=tuple(derived.elements()), surplus=surplus)


def all_said(found: Mapping[str, Iterable[Finding]]) -> list[Said]:
    return [said(key, finding) for key, of in found.items() for finding in of]


def reconcile(
    *, incident: Incident, found: Iterable[Said], raised_by: LogEntry, by: Person
) -> Difference:
    """Bring the kept findings to what the log says now; nothing shown is taken away.

    What is no longer said is marked superseded, what is said now is kept as late. What
    was superseded earlier and is said again stands again, and is not doubled.
    """
    difference = compare(incident, found)
    _mark(difference.surplus, superseded=True)
    missing = Counter(difference.missing)
    earlier = _superseded(incident, difference.surplus) if missing else ()
    again = [row for row in earlier if _take(missing, said_before(row))]
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
    return difference


def _mark(rows: Iterable[StoredFinding], *, superseded: bool) -> None:
    keys = [row.pk for row in rows]
    if keys:
        StoredFinding.objects.filter(pk__in=keys).update(superseded=superseded)


def _superseded(
    incident: Incident, just_now: Sequence[StoredFinding]
) -> QuerySet[StoredFinding]:
    return (
        StoredFinding.objects.filter(incident=incident, superseded=True)
        .exclude(pk__in=[row.pk for row in just_now])
        .select_related("entry")
        .order_by("pk")
    )


def _take(wanted: "Counter[Said]", finding: Said) -> bool:
    if wanted[finding] > 0:
        wanted[finding] -= 1
        return True
    return False
