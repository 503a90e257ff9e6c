"""The sheet's view of each team: verdict, reason, clocks and what was looked at."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import ROUND_UP, Decimal
from typing import Final

from incidents.alarms import Alarm, Hearing, named
from incidents.selectors import SheetView, TeamRow
from reports.words import number
from screening.ensembles import Ensemble
from screening.origins import Origin, origin_of
from screening.verdicts import (
    Action,
    AirClock,
    Clocks,
    CoverageRow,
    Finding,
    Status,
    TeamAssessment,
)

# What nobody looked at comes last on paper, and first in what Continue has to say.
GAPS = (Status.NOT_CHECKED, Status.CANNOT_TELL, Status.OUT_OF_DATE)
OTHERS_SHOWN = 3
# Row 52 of the job: a Stop that nobody hears for a minute shows on every screen. No
# source for the minute.
HEARD_WITHIN: Final = timedelta(seconds=60)
# An estimated dose has figures without end; shown is the next thousandth up.
DOSE_SHOWN: Final = Decimal("0.001")


@dataclass(frozen=True, slots=True, kw_only=True)
class Why:
    """One row of the coverage with where its reason is from."""

    row: CoverageRow
    origin: Origin | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Looked:
    """One status and the hazards that have it."""

    status: Status
    rows: tuple[CoverageRow, ...]
    findings: tuple[Finding, ...] = ()

    @property
    def whys(self) -> list[Why]:
        return [Why(row=row, origin=origin_of(row, self.findings)) for row in self.rows]

    @property
    def label(self) -> str:
        return self.status.label

    @property
    def hazards(self) -> str:
        return ", ".join(row.hazard.label.lower() for row in self.rows)


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """The word, the reason in a line and what to do; the same on every page."""

    team: str
    name: str
    action: Action
    because: str
    advice: tuple[str, ...]
    gaps: str  # what was not looked at; said wherever the word is Continue
    at: datetime | None

    @property
    def word(self) -> str:
        return self.action.word

    @property
    def label(self) -> str:
        return self.action.label


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """One team on the sheet."""

    verdict: Verdict
    role: str
    ensemble: str
    place: str
    members: tuple[str, ...]
    clocks: Clocks
    lead: str  # whose air leads the clock
    untimed: str  # how many have no part in it, and why: "2 not read"
    untimed_names: str
    pressures: tuple[str, ...]
    dose: str
    unheard: bool  # an alarm that holds for it was not heard yet
    heard: Hearing | None  # who heard what governs; None where that is open
    others: tuple[Finding, ...]
    more: tuple[Finding, ...]  # folded away
    looked: tuple[Looked, ...]
    look_next: str
    trends: tuple[str, ...]
    crew: tuple[str, ...]
    heat: str
    unanswered: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class AlarmLine:
    """One alarm as the list has it."""

    key: str
    action: Action
    name: str  # the cause and the place
    because: str
    teams: str
    count: int
    first_at: datetime | None
    last_at: datetime | None
    unheard: bool
    since: datetime | None
    late: bool  # unheard for longer than `HEARD_WITHIN`
    heard: Hearing | None
    is_mayday: bool

    @property
    def word(self) -> str:
        return self.action.word

    @property
    def label(self) -> str:
        return "Mayday" if self.is_mayday else self.action.label


def alarms_of(view: SheetView) -> list[AlarmLine]:
    names = {row.team.key: row.team.name for row in view.teams}
    return [_alarm_line(alarm, names, view.at) for alarm in view.alarms]


def _alarm_line(alarm: Alarm, names: dict[str, str], at: datetime) -> AlarmLine:
    since = alarm.unheard_since
    of_all = len(names) > 1 and set(alarm.teams) == set(names)
    return AlarmLine(
        key=alarm.key,
        action=alarm.action,
        name=named(alarm),
        because=alarm.because,
        teams="Every team"
        if of_all
        else ", ".join(names.get(key, key) for key in alarm.teams),
        count=alarm.count,
        first_at=alarm.first_at,
        last_at=alarm.last_at,
        unheard=bool(alarm.unheard),
        since=since,
        late=since is not None and at - since > HEARD_WITHIN,
        heard=alarm.heard,
        is_mayday=alarm.is_mayday,
    )


def cards_of(view: SheetView) -> list[Card]:
    return [_card(row, view) for row in view.teams]


def verdict_of(now: TeamAssessment, name: str) -> Verdict:
    governing = now.findings[0] if now.findings else None
    found = governing is not None and governing.action == now.action
    return Verdict(
        team=now.id,
        name=name,
        action=now.action,
        because=governing.because if governing and found else _nothing_found(now),
        advice=governing.advice if governing and found else (),
        gaps=gaps_of(now.coverage) if now.action == Action.CONTINUE else "",
        at=governing.at if governing and found else None,
    )


def _nothing_found(now: TeamAssessment) -> str:
    where = f"at {now.place}" if now.place else "yet"
    looked = any(row.status == Status.NOT_FOUND for row in now.coverage)
    return f"Nothing found {where}." if looked else f"Nothing looked at {where}."


def gaps_of(coverage: Iterable[CoverageRow]) -> str:
    """Such as "Not looked at: fluoride vapour. Cannot tell: acid vapour."."""
    parts = [
        f"{group.label}: {group.hazards}."
        for group in _grouped(tuple(coverage))
        if group.status in GAPS
    ]
    return " ".join(reversed(parts))


def _grouped(
    coverage: tuple[CoverageRow, ...], findings: tuple[Finding, ...] = ()
) -> tuple[Looked, ...]:
    groups = (
        Looked(
            status=status,
            rows=tuple(row for row in coverage if row.status == status),
            findings=findings,
        )
        for status in Status
    )
    return tuple(group for group in groups if group.rows)


def _card(row: TeamRow, view: SheetView) -> Card:
    now, names = row.now, {member.key: member.name for member in row.team.members.all()}
    mine = [
        alarm
        for alarm in view.alarms
        if any(item.team == now.id for item in alarm.unheard or alarm.items)
    ]
    unheard = any(alarm.unheard for alarm in mine)
    governing = next((alarm for alarm in mine if alarm.action == now.action), None)
    others = now.findings[1:] if now.findings else ()
    untimed = _untimed(now.clocks, names)
    return Card(
        verdict=verdict_of(now, row.team.name),
        role=row.team.role,
        ensemble=_worn(now, names),
        place=now.place,
        members=tuple(names.values()),
        clocks=now.clocks,
        lead=_lead(now.clocks, names),
        untimed=", ".join(f"{len(who)} {why}" for why, who in untimed.items()),
        untimed_names="; ".join(
            f"{why}: {', '.join(who)}" for why, who in untimed.items()
        ),
        pressures=tuple(
            f"{names.get(air.member, air.member)} {air.pressure_shown}"
            for air in now.clocks.air
            if air.pressure_shown
        ),
        dose=_dose(now.clocks),
        unheard=unheard,
        heard=governing.heard if governing and not unheard else None,
        others=tuple(others[:OTHERS_SHOWN]),
        more=tuple(others[OTHERS_SHOWN:]),
        looked=_grouped(now.coverage, now.findings),
        look_next=now.look_next,
        trends=now.trends,
        crew=now.crew,
        heat=". ".join(now.heat),
        unanswered=tuple(names.get(key, key) for key in now.clocks.unanswered),
    )


def _worn(now: TeamAssessment, names: dict[str, str]) -> str:
    """What the team wears, and whoever wears something else by name."""
    own = (
        f"{names.get(member, member)}: {Ensemble(worn).label}"
        for member, worn in now.own_ensembles
    )
    return "; ".join((Ensemble(now.ensemble).label, *own))


def _lead(clocks: Clocks, names: dict[str, str]) -> str:
    timed = [air for air in clocks.air if air.to_turn_around is not None]
    if not timed:
        return ""
    first = min(timed, key=lambda air: air.to_turn_around or 0)
    return names.get(first.member, first.member)


def _untimed(clocks: Clocks, names: dict[str, str]) -> dict[str, list[str]]:
    """Members inside whose turn-around nobody can tell, by the reason."""
    by_reason: dict[str, list[str]] = {}
    for air in clocks.air if clocks.inside else ():
        if air.to_turn_around is None:
            name = names.get(air.member, air.member)
            by_reason.setdefault(_why_untimed(air), []).append(name)
    return by_reason


def _why_untimed(air: AirClock) -> str:
    if air.pressure_psi is None:
        return "not read"
    return "no cylinder noted" if air.turn_around_psi is None else "no rate"


def _dose(clocks: Clocks) -> str:
    if clocks.dose_rem is None:
        return ""
    limit = number(clocks.turn_back_dose_rem.normalize())
    if clocks.dose_rem < DOSE_SHOWN:
        return f"<{DOSE_SHOWN} of {limit} rem"
    dose = clocks.dose_rem.quantize(DOSE_SHOWN, ROUND_UP)
    return f"{number(dose.normalize())} of {limit} rem"
