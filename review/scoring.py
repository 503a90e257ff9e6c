"""How a crew decided in a drill, held against the engine on the very same readings.

The engine is asked for the whole log of the drill, for the clothing that each team wore at
that moment. The same log and the same answers give the same score, always.

An answer that is stricter than the engine's counts as more careful, one that is less
strict as less careful; the two are never added up against each other. A question that was
not answered in time counts by itself.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from statistics import median_low
from typing import Final

from screening.assess import assess
from screening.incident import Context
from screening.nextcheck import CHECKS
from screening.readings import Entry
from screening.rules import RULES
from screening.state import initial_state, step
from screening.verdicts import Action, Finding, Hazard, Status, TeamAssessment

_OF_LIQUIDS: Final[Mapping[str, tuple[Hazard, ...]]] = {
    "ph_paper": (Hazard.CORROSIVE_LIQUID,),
    "ki_starch_paper": (Hazard.OXIDISER_LIQUID,),
    "fluoride_paper": (Hazard.FLUORIDE_LIQUID,),
    "thermal_imager": (Hazard.HOT_RELIEF_DISCHARGE,),
}
# What a crew can say that it would look at next, and which hazards that answers: a kind of
# reading, in the order of the engine's own checks.
LOOKS: Final[Mapping[str, frozenset[Hazard]]] = {
    check.kind: frozenset({*check.answers, *_OF_LIQUIDS.get(check.kind, ())})
    for check in CHECKS
}
_OPEN: Final = (Status.NOT_CHECKED, Status.CANNOT_TELL, Status.OUT_OF_DATE)
# By name; a rule that is judged on two things has one number and a title for each.
_TITLES: Final = {rule.name: rule.title for rule in RULES}


class Outcome(StrEnum):
    AGREES = "agrees"
    MORE_CAREFUL = "more_careful"
    LESS_CAREFUL = "less_careful"
    UNANSWERED = "unanswered"

    @property
    def label(self) -> str:
        return {
            Outcome.AGREES: "Agrees with the engine",
            Outcome.MORE_CAREFUL: "More careful than the engine",
            Outcome.LESS_CAREFUL: "Less careful than the engine",
            Outcome.UNANSWERED: "Not answered in time",
        }[self]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """Why the engine says what it says: one rule's statement, with its source."""

    number: int  # 0 for a statement that is no rule of the table
    title: str
    because: str
    source: str
    advice: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """The engine's answer right after one inject, for the team that it is about."""

    entry: str
    team: str  # "" where the inject is about no team: then the strictest of all
    ensemble: str
    action: Action
    reasons: tuple[Reason, ...]  # those of the governing action
    open: frozenset[Hazard]  # not looked at, out of date, or not to be told
    look_next: str

    @property
    def still_open(self) -> tuple[Hazard, ...]:
        """What is open, in the order in which the engine lists it."""
        return in_order(self.open)


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """An inject that a crew decides on: when it was shown, and to whom."""

    entry: str
    shown_at: datetime
    to: frozenset[str]  # people, by any key of their own


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What somebody decided, and what they would look at next ("" for nothing said)."""

    entry: str
    person: str
    action: Action
    at: datetime
    look: str = ""  # one of `LOOKS`


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One person's answer to one question, beside the engine's."""

    verdict: Verdict
    outcome: Outcome
    answer: Answer | None
    delay: timedelta | None  # from the showing to the answer; None without one


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """All of one person's answers in one drill."""

    person: str
    marks: tuple[Mark, ...]
    unchecked: tuple[Hazard, ...]  # open at the end, and never named by the person

    def count(self, outcome: Outcome) -> int:
        return sum(mark.outcome is outcome for mark in self.marks)

    @property
    def counts(self) -> tuple[tuple[Outcome, int], ...]:
        return tuple((outcome, self.count(outcome)) for outcome in Outcome)

    @property
    def delay(self) -> timedelta | None:
        """The median of the delays, the lower of two in the middle; None without any."""
        known = [mark.delay for mark in self.marks if mark.delay is not None]
        return median_low(known) if known else None


def verdicts(context: Context, log: Iterable[Entry]) -> dict[str, Verdict]:
    """What the engine says after each entry, by its id; nothing of later ones is known."""
    state, found = initial_state(context), {}
    for entry in sorted(log, key=lambda entry: entry.order):
        state, _ = step(state, entry, context)
        teams = assess(state, context, entry.at).teams
        about = [team for team in teams if team.id == entry.team] or list(teams)
        found[entry.id] = _verdict(entry, max(about, key=lambda team: team.action))
    return found


def _verdict(entry: Entry, team: TeamAssessment) -> Verdict:
    governing = [each for each in team.findings if each.action is team.action]
    return Verdict(
        entry=entry.id,
        team=entry.team,
        ensemble=team.ensemble,
        action=team.action,
        reasons=tuple(_reason(each) for each in governing),
        open=frozenset(
            row.hazard
            for row in team.coverage
            if row.status in _OPEN and row.next_check
        ),
        look_next=team.look_next,
    )


def _reason(finding: Finding) -> Reason:
    return Reason(
        number=finding.number,
        title=_TITLES.get(finding.rule, finding.hazard.label),
        because=finding.because,
        source=finding.source,
        advice=finding.advice,
    )


def score(
    person: str,
    questions: Sequence[Question],
    answers: Iterable[Answer],
    said: Mapping[str, Verdict],
) -> Score:
    """One person's marks. Of two answers to one question the first counts."""
    asked = [question for question in questions if person in question.to]
    first: dict[str, Answer] = {}
    own = [answer for answer in answers if answer.person == person]
    for answer in sorted(own, key=lambda answer: answer.at):
        first.setdefault(answer.entry, answer)
    marks = tuple(
        _mark(said[question.entry], question, first.get(question.entry))
        for question in asked
    )
    return Score(person=person, marks=marks, unchecked=left_unchecked(asked, own, said))


def _mark(verdict: Verdict, question: Question, answer: Answer | None) -> Mark:
    if answer is None:
        return Mark(
            verdict=verdict, outcome=Outcome.UNANSWERED, answer=None, delay=None
        )
    delay = max(answer.at - question.shown_at, timedelta())
    outcome = compared(answer.action, verdict.action)
    return Mark(verdict=verdict, outcome=outcome, answer=answer, delay=delay)


def compared(answer: Action, verdict: Action) -> Outcome:
    """How an answer stands to the engine's."""
    if answer is verdict:
        return Outcome.AGREES
    return Outcome.MORE_CAREFUL if answer > verdict else Outcome.LESS_CAREFUL


def left_unchecked(
    questions: Iterable[Question],
    answers: Iterable[Answer],
    said: Mapping[str, Verdict],
) -> tuple[Hazard, ...]:
    """What was still open at the last question about each team, and named by nobody.

    Named is a hazard once a check that answers it was said to be next, at any question.
    """
    last: dict[str, Verdict] = {}
    for question in questions:
        verdict = said[question.entry]
        last[verdict.team] = verdict
    still: set[Hazard] = set().union(*(verdict.open for verdict in last.values()))
    return in_order(still - named(answer.look for answer in answers))


def named(looks: Iterable[str]) -> frozenset[Hazard]:
    """The hazards that these checks would answer."""
    return frozenset(
        hazard for look in looks for hazard in LOOKS.get(look, frozenset())
    )


def in_order(hazards: Collection[Hazard]) -> tuple[Hazard, ...]:
    """In the order in which the engine lists them."""
    return tuple(hazard for hazard in Hazard if hazard in hazards)
