"""Looking incidents up by what is kept of them, and their figures. Drills have no row.

Text is looked for in the folded columns as it stands, anywhere in a word: the database
compares bytes, with no index. `bench/archive.py` shows what that costs at 10,000 rows.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Final
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models import F, Max, Q, QuerySet, Value
from django.db.models.functions import StrIndex
from django.db.models.lookups import GreaterThan

from incidents.measured import read_figures
from incidents.models import ArchiveRow, Incident, Person, StoredFinding
from incidents.selectors.access import parts_of
from incidents.text import folded, search_words
from review.across import Kept
from screening.verdicts import Action, Hazard

PAGE: Final = 50
_SHOWN: Final = (
    "incident_id", "opened_at", "entries", "worst", "hazards", "agency_id",
    "incident__name", "incident__location", "incident__closed_at", "incident__is_demo",
    "incident__head_seq", "incident__opened_at", "incident__sop__name",
    "incident__sop__version", "incident__agency_id",
)  # fmt: skip
_LABELS: Final = {hazard.value: hazard.label for hazard in Hazard}


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What is looked for; "" and None ask for nothing."""

    text: str = ""
    place: str = ""
    substance: str = ""
    person: str = ""
    hazard: str = ""
    rule: int | None = None
    worst: int | None = None
    sop: int | None = None  # 0: the built-in limits
    since: date | None = None  # days of the agency's clock, both of them inside
    until: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ArchiveLine:
    """One incident as the list shows it."""

    incident: Incident
    worst: Action
    entries: int
    hazards: tuple[str, ...]

    @property
    def is_open(self) -> bool:
        return not self.incident.is_closed


@dataclass(frozen=True, slots=True, kw_only=True)
class ArchivePage:
    """Fifty of those found, newest first."""

    lines: Sequence[ArchiveLine]
    total: int
    number: int  # of the page, from 1
    last: int

    @property
    def first_shown(self) -> int:
        return (self.number - 1) * PAGE + 1

    @property
    def last_shown(self) -> int:
        return self.first_shown + len(self.lines) - 1


def archived(person: Person, wanted: Wanted, zone: ZoneInfo) -> QuerySet[ArchiveRow]:
    """Those that the person may see and that have all that is wanted, newest first.

    Who reviews the agency sees all of its incidents; everybody sees those that they
    have a part in. `zone` is that of the days.
    """
    rows = ArchiveRow.objects.filter(_seen_by(person))
    for column, text in (
        ("places", wanted.place),
        ("substances", wanted.substance),
        ("people", wanted.person),
    ):
        rows = _holding(rows, column, folded(" ".join(text.split())))
    for word in search_words(wanted.text):
        rows = _holding(rows, "words", word)
    rows = _holding(rows, "hazards", f"\n{wanted.hazard}\n" if wanted.hazard else "")
    rule = "" if wanted.rule is None else f"\n{wanted.rule}\n"
    rows = _holding(rows, "rules", rule)
    rows = rows.filter(_exactly(wanted, zone))
    return rows.order_by("-opened_at", "incident")


def _seen_by(person: Person) -> Q:
    """By the agency's own column, so that no list of incidents is made for a reviewer."""
    parts = parts_of(person)
    if not person.reviews:
        return Q(incident__in=parts.values("incident"))
    elsewhere = parts.exclude(incident__agency=person.agency_id)
    invited = list(elsewhere.values_list("incident", flat=True))
    return Q(agency=person.agency_id) | (Q(incident__in=invited) if invited else Q())


def _holding(
    rows: QuerySet[ArchiveRow], column: str, text: str
) -> QuerySet[ArchiveRow]:
    """Those whose column holds the text somewhere; "" asks for nothing."""
    if not text:
        return rows
    # The position, not LIKE: that folds letters once more, and knows signs of its own.
    return rows.filter(GreaterThan(StrIndex(F(column), Value(text)), 0))


def _exactly(wanted: Wanted, zone: ZoneInfo) -> Q:
    asked = Q()
    if wanted.worst is not None:
        asked &= Q(worst=wanted.worst)
    if wanted.sop is not None:
        asked &= Q(incident__sop=wanted.sop or None)
    if wanted.since is not None:
        asked &= Q(opened_at__gte=_midnight(wanted.since, zone))
    if wanted.until is not None:
        asked &= Q(opened_at__lt=_midnight(wanted.until + timedelta(days=1), zone))
    return asked


def _midnight(day: date, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, time(), tzinfo=zone)


def archive_page(rows: QuerySet[ArchiveRow], number: int) -> ArchivePage:
    """One page of what was found; beyond the last there is the last. Three queries."""
    total = rows.count()
    last = max(1, -(-total // PAGE))
    number = min(max(1, number), last)
    shown = rows.select_related("incident__sop").only(*_SHOWN)
    found = list(shown[(number - 1) * PAGE : number * PAGE])
    worst = _worst_so_far(
        row.incident_id for row in found if not row.incident.is_closed
    )
    return ArchivePage(
        lines=[_line(row, worst) for row in found],
        total=total,
        number=number,
        last=last,
    )


def _worst_so_far(open_ids: Iterable[UUID]) -> dict[UUID, int]:
    """What stands in open incidents now: their rows are of when they were opened."""
    keys = list(open_ids)
    found = StoredFinding.objects.filter(incident__in=keys, superseded=False)
    worst = found.values_list("incident").annotate(Max("action")).order_by()
    return dict(worst)


def _line(row: ArchiveRow, worst: Mapping[UUID, int]) -> ArchiveLine:
    return ArchiveLine(
        incident=row.incident,
        worst=Action(worst.get(row.incident_id, row.worst)),
        entries=row.entries,
        hazards=tuple(_LABELS.get(key, key) for key in row.hazards.split()),
    )


def kept_figures(rows: QuerySet[ArchiveRow], zone: ZoneInfo) -> list[Kept]:
    """The figures of all that was found that is closed. One query."""
    kept = rows.filter(incident__closed_at__isnull=False).order_by()
    return [
        read_figures(text, opened.astimezone(zone).year)
        for opened, text in kept.values_list("opened_at", "figures").iterator()
    ]


def not_archived(person: Person) -> int:
    """How many incidents of the reviewer's agency have no row yet. One query."""
    real = Incident.objects.real().filter(agency=person.agency_id)
    return real.filter(archived__isnull=True).count()
