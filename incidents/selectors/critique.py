"""What was said in looking back, and what of it is still to be done."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from django.db.models import F, OuterRef, Prefetch, Q, QuerySet, Subquery

from incidents.models import CritiqueNote, CritiqueStep, Incident, Person

State = CritiqueStep.State
SHOWN: Final = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteRow:
    """A note with all its steps; the last one holds."""

    note: CritiqueNote
    steps: tuple[CritiqueStep, ...]

    @property
    def last(self) -> CritiqueStep:
        return self.steps[-1]

    @property
    def is_improvement(self) -> bool:
        return self.note.kind == CritiqueNote.Kind.IMPROVEMENT

    @property
    def is_open(self) -> bool:
        return self.last.state == State.OPEN

    @property
    def stands(self) -> bool:
        return self.last.state != State.TAKEN_BACK

    def is_overdue(self, today: date) -> bool:
        due = self.last.due_on
        return self.is_open and due is not None and due < today


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """Which improvements are asked for."""

    state: str = State.OPEN  # "" for all
    owner: int | None = None
    incident: str = ""  # part of its name
    overdue_on: date | None = None  # only those that were due before this day
    drills: bool = False  # of drills instead of real incidents, never of both


def notes_of(incident: Incident) -> list[NoteRow]:
    """Every note of the incident in order of its moments. Two queries."""
    return _rows(_with_steps(CritiqueNote.objects.filter(incident=incident)))


def by_record(rows: Iterable[NoteRow]) -> list[tuple[str, list[NoteRow]]]:
    """The three records, each for itself with its name; one without a note is left out."""
    found: dict[str, list[NoteRow]] = {key: [] for key in CritiqueNote.Record.values}
    for row in rows:
        found[row.note.record].append(row)
    names = dict(CritiqueNote.Record.choices)
    return [(names[key], of) for key, of in found.items() if of]


def note_row(number: int) -> NoteRow | None:
    """One note. Two queries, or one where there is none."""
    rows = _rows(_with_steps(CritiqueNote.objects.filter(pk=number)))
    return rows[0] if rows else None


def follow_up(person: Person, wanted: Wanted) -> list[NoteRow]:
    """The improvements of the agency's incidents, open ones first, then by their day.

    Who reviews the agency's incidents sees all of them, everybody else what they own.
    Two queries, however many.
    """
    if person.agency_id is None:
        return []
    rows = _improvements(person.agency_id).filter(incident__is_drill=wanted.drills)
    if not person.reviews:
        rows = rows.filter(owner=person.pk)
    if wanted.state:
        rows = rows.filter(state=wanted.state)
    if wanted.owner is not None:
        rows = rows.filter(owner=wanted.owner)
    if wanted.incident:
        rows = rows.filter(incident__name__icontains=wanted.incident)
    if wanted.overdue_on is not None:
        rows = rows.filter(state=State.OPEN, due__lt=wanted.overdue_on)
    ordered = rows.order_by(F("is_open").desc(), F("due").asc(nulls_last=True), "pk")
    return _rows(_with_steps(ordered)[:SHOWN])


def owners_of(person: Person) -> list[tuple[int, str]]:
    """Whom the improvements of the agency were given to, by name. One query."""
    rows = _improvements(person.agency_id).exclude(owner=None)
    found = rows.values_list("owner", "owner_name").distinct()
    return sorted(set(found), key=lambda one: one[1])


def _improvements(agency: int | None) -> QuerySet[Any]:
    """Those of an agency with what their last step says; none that was taken back."""
    last = CritiqueStep.objects.filter(note=OuterRef("pk")).order_by("-pk")
    rows = CritiqueNote.objects.filter(
        kind=CritiqueNote.Kind.IMPROVEMENT, incident__agency=agency
    ).annotate(
        state=Subquery(last.values("state")[:1]),
        owner=Subquery(last.values("owner")[:1]),
        owner_name=Subquery(last.values("owner_name")[:1]),
        due=Subquery(last.values("due_on")[:1]),
    )
    rows = rows.exclude(state=State.TAKEN_BACK)
    return rows.annotate(is_open=Q(state=State.OPEN))


def _with_steps(rows: QuerySet[CritiqueNote]) -> QuerySet[CritiqueNote]:
    steps = CritiqueStep.objects.order_by("pk")
    return rows.select_related("incident__agency", "entry").prefetch_related(
        Prefetch("steps", queryset=steps)
    )


def _rows(notes: Iterable[CritiqueNote]) -> list[NoteRow]:
    return [NoteRow(note=note, steps=tuple(note.steps.all())) for note in notes]
