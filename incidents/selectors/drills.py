"""Drills as their crew, their training officer and each person afterwards see them."""

from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, Final
from uuid import UUID

from django.db.models import Q, QuerySet
from django.http import Http404

from incidents import engine
from incidents.documents import loads
from incidents.drill_keys import keys_of, script_of
from incidents.models import (
    APP_KINDS,
    Agency,
    Drill,
    DrillAnswer,
    DrillMember,
    DrillScript,
    LogEntry,
    Person,
    PlannedDrill,
)
from review import scoring
from review.scoring import Outcome, Score, Verdict
from review.scripts import Script
from screening.verdicts import Action, Hazard

_KEPT: Final = 64
# The engine's answers by the head of the log that they come from.
_verdicts: "OrderedDict[tuple[UUID, str], dict[str, Verdict]]" = OrderedDict()


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillSeen:
    """A drill, and as what somebody sees it."""

    drill: Drill
    role: str  # the part in the crew; "" for who looks on as training officer
    leads: bool
    crew: tuple[DrillMember, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """One of the crew, and what they answered to one inject."""

    person: Person
    action: Action | None
    look: str
    outcome: Outcome | None  # None as long as the verdict is hidden


@dataclass(frozen=True, slots=True, kw_only=True)
class Inject:
    """One inject as one person may see it now. `verdict` is None while it is hidden."""

    entry: LogEntry
    body: Mapping[str, Any]
    is_question: bool  # somebody decides on it
    asks_me: bool
    until: datetime  # when the time to answer runs out
    is_open: bool  # the verdict is not out yet
    mine: DrillAnswer | None
    verdict: Verdict | None
    answers: tuple[Given, ...]  # of all, for the training officer; else empty

    @property
    def waits_for_me(self) -> bool:
        return self.asks_me and self.is_open and self.mine is None

    @property
    def my_action(self) -> Action | None:
        return None if self.mine is None else Action(self.mine.action)

    @property
    def my_outcome(self) -> Outcome | None:
        if self.verdict is None or not self.asks_me:
            return None
        if self.mine is None:
            return Outcome.UNANSWERED
        return scoring.compared(Action(self.mine.action), self.verdict.action)


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonResult:
    """One person's score in one drill that is over."""

    drill: Drill
    member: DrillMember
    score: Score


@dataclass(frozen=True, slots=True, kw_only=True)
class InWords:
    """An inject as the log has it."""

    key: str
    entry: LogEntry
    body: Mapping[str, Any]


def drill_for(person: Person, pk: UUID) -> DrillSeen:
    """The drill for one of its crew, or for who reviews the agency's incidents; else 404."""
    rows = Drill.objects.filter(pk=pk, incident__agency=person.agency_id)
    drill = rows.select_related("incident__agency", "script", "led_by").first()
    if drill is None or not person.is_active:
        raise Http404("No such drill.")
    crew = tuple(drill.crew.select_related("person"))
    role = next((one.role for one in crew if one.person_id == person.pk), "")
    if not role and not person.reviews:
        raise Http404("No such drill.")
    leads = drill.led_by_id == person.pk
    return DrillSeen(drill=drill, role=role, leads=leads, crew=crew)


def injects(seen: DrillSeen, person: Person, at: datetime) -> list[Inject]:
    """What was given so far, newest first, with nothing that is still hidden."""
    drill, script = seen.drill, script_of(seen.drill.script)
    names = {str(key): name for name, key in keys_of(drill, script).items()}
    answers: dict[int, list[DrillAnswer]] = {}
    for one in drill.answers.all():
        answers.setdefault(one.entry_id, []).append(one)
    said = verdicts(drill)
    found = []
    for row in _rows(drill):
        name = names.get(row.key, "")
        if seen.role and not script.seen_by(name, seen.role):
            continue
        given = answers.get(row.pk, [])
        found.append(_inject(seen, person, script, name, row, given, said, at))
    return found[::-1]


def _inject(
    seen: DrillSeen,
    person: Person,
    script: Script,
    name: str,
    row: LogEntry,
    given: list[DrillAnswer],
    said: Mapping[str, Verdict],
    at: datetime,
) -> Inject:
    asked = [one for one in seen.crew if script.seen_by(name, one.role)]
    question = name in script.asks
    until = row.recorded_at + timedelta(seconds=seen.drill.answer_seconds)
    by = {one.person_id: one for one in given}
    waiting = any(one.person_id not in by for one in asked)
    hidden = question and waiting and at <= until and not seen.drill.is_over
    tells = question and (not hidden or not seen.role)
    verdict = said.get(row.key) if tells else None
    return Inject(
        entry=row,
        body=loads(row.body),
        is_question=question,
        asks_me=question and bool(seen.role),
        until=until,
        is_open=hidden,
        mine=by.get(person.pk),
        verdict=verdict,
        answers=_given(asked, by, verdict, hidden=hidden)
        if question and not seen.role
        else (),
    )


def _given(
    asked: list[DrillMember],
    by: Mapping[int, DrillAnswer],
    verdict: Verdict | None,
    *,
    hidden: bool,
) -> tuple[Given, ...]:
    found = []
    for one in asked:
        answer, outcome = by.get(one.person_id), None
        action = None if answer is None else Action(answer.action)
        if verdict is not None and action is not None:
            outcome = scoring.compared(action, verdict.action)
        elif verdict is not None and not hidden:
            outcome = Outcome.UNANSWERED
        look = answer.look if answer is not None else ""
        given = Given(person=one.person, action=action, look=look, outcome=outcome)
        found.append(given)
    return tuple(found)


def _rows(drill: Drill) -> list[LogEntry]:
    rows = LogEntry.objects.filter(incident_id=drill.pk).exclude(kind__in=APP_KINDS)
    return list(rows.order_by("seq"))


def rows_of(drill: Drill) -> list[InWords]:
    """Every inject that was given, with what its body says."""
    return [
        InWords(key=row.key, entry=row, body=loads(row.body)) for row in _rows(drill)
    ]


def verdicts(drill: Drill) -> dict[str, Verdict]:
    """The engine's answer after each inject, by the identifier in the log."""
    key = (drill.pk, drill.incident.head_hash)
    known = _verdicts.get(key)
    if known is None:
        context = engine.live(drill.incident).context
        entries = [engine.read_row(row, context) for row in _rows(drill)]
        known = _verdicts[key] = scoring.verdicts(context, entries)
        while len(_verdicts) > _KEPT:
            _verdicts.popitem(last=False)
    return known


def results(drill: Drill, of: Person | None = None) -> list[PersonResult]:
    """The score of each of the crew, or `of` one, worked out from log and answers."""
    crew = list(drill.crew.select_related("person"))
    questions, answers, said = _material(drill, crew)
    return [
        PersonResult(
            drill=drill,
            member=one,
            score=scoring.score(str(one.person_id), questions, answers, said),
        )
        for one in crew
        if of is None or one.person_id == of.pk
    ]


def left_unchecked(drill: Drill) -> tuple[Hazard, ...]:
    """What was open at the end and nobody of the crew named."""
    questions, answers, said = _material(drill, list(drill.crew.all()))
    return scoring.left_unchecked(questions, answers, said)


def _material(
    drill: Drill, crew: list[DrillMember]
) -> tuple[list[scoring.Question], list[scoring.Answer], dict[str, Verdict]]:
    script = script_of(drill.script)
    names = {str(key): name for name, key in keys_of(drill, script).items()}
    rows = {row.pk: row for row in _rows(drill)}
    questions = [
        scoring.Question(
            entry=row.key,
            shown_at=row.recorded_at,
            to=frozenset(
                str(one.person_id)
                for one in crew
                if script.seen_by(names[row.key], one.role)
            ),
        )
        for row in rows.values()
        if names.get(row.key, "") in script.asks
    ]
    answers = [
        scoring.Answer(
            entry=rows[one.entry_id].key,
            person=str(one.person_id),
            action=Action(one.action),
            at=one.at,
            look=one.look,
        )
        for one in drill.answers.all()
    ]
    return questions, answers, verdicts(drill)


def results_of(person: Person) -> list[PersonResult]:
    """One person's scores in every drill of the agency that is over, newest first."""
    drills = Drill.objects.filter(
        crew__person=person,
        incident__agency=person.agency_id,
        ended_at__isnull=False,
    ).select_related("incident__agency", "script", "led_by")
    return [one for drill in drills for one in results(drill, person)]


def may_see_results(reader: Person, of: Person) -> bool:
    """The person, and who runs the drills of their agency; nobody else."""
    if reader.agency_id is None or reader.agency_id != of.agency_id:
        return False
    return reader.is_active and (reader.pk == of.pk or reader.reviews)


def drills_of(person: Person) -> QuerySet[Drill]:
    """Those that the person is in; every one of the agency for who reviews."""
    if person.agency_id is None:
        return Drill.objects.none()
    rows = Drill.objects.filter(incident__agency=person.agency_id)
    if not person.reviews:
        rows = rows.filter(crew__person=person)
    return rows.select_related("incident", "script", "led_by")


def scripts_of(agency: Agency) -> QuerySet[DrillScript]:
    return DrillScript.objects.filter(agency=agency).select_related("made_by")


def planned_for(person: Person, today: date) -> list[PlannedDrill]:
    """Drills planned from today on: all of the agency for who reviews, else one's own."""
    if person.agency_id is None:
        return []
    rows = _standing().filter(script__agency=person.agency_id, day__gte=today)
    if not person.reviews:
        rows = rows.filter(Q(crew=person))
    return list(rows.select_related("script").prefetch_related("crew"))


def planned_with(script: DrillScript, number: str) -> PlannedDrill:
    """What was planned with a script and is still to begin, or 404."""
    rows = _standing().filter(script=script).prefetch_related("crew")
    found = rows.filter(pk=number).first() if number.isdecimal() else None
    if found is None:
        raise Http404("No such planned drill.")
    return found


def _standing() -> QuerySet[PlannedDrill]:
    return PlannedDrill.objects.filter(called_off_at=None, begun_as=None)
