"""What the engine remembers between two entries. Frozen, and small: it does not grow with
the log but with the places, teams, containers and hazards that stand.

`immutables.Map` shares structure between versions, so that a step copies only what it
changes and any earlier state can be gone back to.
"""

from collections.abc import Callable, Hashable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from decimal import Decimal
from functools import lru_cache
from typing import Any, Final, TypeAlias, TypeVar

from immutables import Map

from screening.ensembles import Ensemble
from screening.incident import Context, Cylinder
from screening.planning_numbers import stay_seconds
from screening.readings import Entry, GasMeter
from screening.rules import Rule
from screening.rules.found import Found, LelPoint, Severity, ThermalPoint
from screening.verdicts import Action, Hazard

# Some three years: no stay is planned that long, and no date lies much farther off.
_LONGEST_STAY_SECONDS: Final = 10**8

_T = TypeVar("_T")
Order: TypeAlias = tuple[datetime, str]
StandKey: TypeAlias = tuple[Hazard, int, str, Severity, str]
# A thing by its key, "" for the hazard as such; a height, "" where none was noted.
Part: TypeAlias = tuple[str, str]


@lru_cache(maxsize=1024)
def place_key(place: str) -> str:
    """Places that differ in capitals only are one: "Tank room" is "tank room"."""
    return place.casefold()


@dataclass(frozen=True, slots=True, kw_only=True)
class Stand:
    """A finding that stands, until something ends it."""

    rule: Rule
    found: Found
    place: str
    entry: str  # the entry that found it last
    order: Order
    instrument: str
    height: str = ""  # of a meter: what was found at the floor is read again there

    @classmethod
    def of(cls, rule: Rule, found: Found, entry: Entry) -> "Stand":
        """A finding as it begins to stand, or stands again, by an entry."""
        return cls(
            rule=rule,
            found=found,
            place=entry.place,
            entry=entry.id,
            order=entry.order,
            instrument=entry.instrument,
            height=entry.height if isinstance(entry, GasMeter) else "",
        )

    @property
    def place_key(self) -> str:
        return place_key(self.place)

    @property
    def key(self) -> StandKey:
        found = self.found
        return (
            found.hazard, self.rule.number, found.subject, found.severity, self.height,
        )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """The latest reading at a place that could tell of one hazard, or of a part of it."""

    order: Order
    entry: str
    kind: str  # of the reading: the profile gives each kind its age
    action: Action  # the strictest it gave on that hazard, for any ensemble
    because: str
    instrument: str
    height: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Unable:
    """The latest reading that looked for a hazard and could not tell."""

    order: Order
    because: str
    kind: str
    instrument: str
    partly: bool = False  # it was in order, but of something else


@dataclass(frozen=True, slots=True, kw_only=True)
class SeriesPoint:
    at: datetime
    value: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceState:
    stands: Mapping[StandKey, Stand] = field(default_factory=dict)
    told: Mapping[Hazard, Told] = field(default_factory=dict)
    unable: Mapping[Hazard, Unable] = field(default_factory=dict)
    # The latest reading that could tell, part by part: what was read at which height.
    covered: Mapping[Hazard, Mapping[Part, Told]] = field(default_factory=dict)
    ventilated: Order | None = None
    lel: tuple[LelPoint, ...] = ()
    lel_spike: LelPoint | None = None
    # The last figures of each kind, by the name of the field, for the trends.
    series: Mapping[str, tuple[SeriesPoint, ...]] = field(default_factory=dict)
    wet_edge_open: Order | None = None  # a liquid was tested, its wet edge not seen
    # What was asked of this very state before (`once`): most places do not change in a
    # step, and every step asks of all of them what they mean to every team.
    answers: dict[Hashable, Any] = field(
        default_factory=dict, init=False, compare=False, repr=False
    )

    def once(self, question: Hashable, work: Callable[[], _T]) -> _T:
        """The answer, worked out the first time; it must follow from the state and the
        question alone."""
        if question not in self.answers:
            self.answers[question] = work()
        answer: _T = self.answers[question]
        return answer


@dataclass(frozen=True, slots=True, kw_only=True)
class ContainerState:
    points: tuple[ThermalPoint, ...] = ()  # the last three
    lowest: ThermalPoint | None = None
    steady: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugePoint:
    order: Order
    pressure: Decimal
    shown: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AirState:
    """One member's gauge since going in; pressures in psi."""

    points: tuple[GaugePoint, ...] = ()  # the last four
    start: Decimal | None = None
    arrival: tuple[str, Decimal] | None = (
        None  # place, and the pressure on coming there
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class DoseState:
    """One team's gamma; rem and rem/h."""

    read: Mapping[str, tuple[Decimal, str]] = field(default_factory=dict)  # by member
    rate: Decimal | None = None
    rate_shown: str = ""
    estimate: Decimal = Decimal(0)
    estimated_at: datetime | None = None
    counting: bool = False  # inside: the last rate goes on adding
    passed_at: datetime | None = None  # when it came to the turn-back dose

    def now(self, at: datetime) -> Decimal:
        """The dose at a moment, with what the last rate has added since."""
        if not self.counting or self.rate is None or self.estimated_at is None:
            return self.estimate
        hours = Decimal((at - self.estimated_at).total_seconds()) / 3600
        return self.estimate + self.rate * max(hours, Decimal(0))

    def reaches(self, limit: Decimal, at: datetime) -> datetime | None:
        """When the dose comes, or came, to a limit at the last rate.

        None where that is not known, or thousands of hours away. Outside the rate adds
        nothing: there it is as of going in at `at`.
        """
        if self.passed_at is not None:
            return self.passed_at
        since = self.estimated_at if self.counting else at
        if self.rate is None or since is None:
            return None
        stay = stay_seconds(limit, self.estimate, self.rate)
        if stay is None or stay >= _LONGEST_STAY_SECONDS:
            return None
        return since + timedelta(seconds=float(stay))

    def brought_to(
        self, at: datetime, estimate: Decimal, limit: Decimal
    ) -> "DoseState":
        """The dose put at a figure at a moment, and when it came to the limit, if it did:
        between two readings by the last rate, else by the reading itself."""
        passed = None
        if estimate >= limit:
            by_rate = self.reaches(limit, at) if self.now(at) >= limit else None
            passed = self.passed_at or by_rate or at
        return replace(self, estimate=estimate, estimated_at=at, passed_at=passed)

    @property
    def highest_read(self) -> tuple[Decimal, str] | None:
        return max(self.read.values(), default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class TeamState:
    id: str
    ensemble: Ensemble
    own_ensembles: Mapping[str, Ensemble] = field(default_factory=dict)  # by member
    place: str = ""
    inside_since: datetime | None = None
    has_entered: bool = False  # an `enter` is logged
    has_left: bool = False  # out since its last `enter`
    last_par: datetime | None = None
    unanswered: tuple[str, ...] = ()
    dose: DoseState = field(default_factory=DoseState)
    air: Mapping[str, AirState] = field(default_factory=dict)
    own: Mapping[StandKey, Stand] = field(default_factory=dict)
    withdrawn_by: frozenset[tuple[str, Hazard]] = frozenset()  # since going in

    @property
    def inside(self) -> bool:
        return self.inside_since is not None

    @property
    def worn(self) -> tuple[Ensemble, ...]:
        """Every ensemble in the team: it is judged by what each finding is worst for."""
        return (self.ensemble, *self.own_ensembles.values())

    @property
    def weakest(self) -> Ensemble:
        return min(self.worn, key=lambda ensemble: ensemble.rank)

    @property
    def place_key(self) -> str:
        return place_key(self.place)


@dataclass(frozen=True, slots=True, kw_only=True)
class InstrumentState:
    passed: datetime | None = None  # the last passed bump test
    known: bool = False  # whether bump tests of it are known at all
    failed: bool = False  # failed its last one
    passed_here: bool = False  # the last passed one is in the log: done on scene


@dataclass(frozen=True, slots=True, kw_only=True)
class Notice:
    """Something said of one entry that does not stand: why a clear does not hold, or that
    two instruments contradict each other."""

    name: str
    hazard: Hazard
    place: str
    because: str
    advice: tuple[str, ...] = ()
    source: str = "this worksheet's rules on how findings end"


@dataclass(frozen=True, slots=True, kw_only=True)
class Core:
    """Everything that the log has made of the incident so far."""

    teams: Map[str, TeamState]
    places: Map[str, PlaceState] = field(default_factory=Map)
    marked: frozenset[str] = frozenset()  # places where something stands
    containers: Map[str, ContainerState] = field(default_factory=Map)
    instruments: Map[str, InstrumentState] = field(default_factory=Map)
    latches: frozenset[tuple[str, str]] = (
        frozenset()
    )  # team, LEL meter: went over range
    # Team, meter and which sensors ("lel", "all") a note said to be spoiled: when last.
    spoiled: Map[tuple[str, str, str], datetime] = field(default_factory=Map)
    notices: tuple[Notice, ...] = ()  # of the last entry only

    def place(self, name: str) -> PlaceState:
        return self.places.get(place_key(name), _NO_PLACE)

    def with_place(self, name: str, place: PlaceState) -> "Core":
        name, marked = place_key(name), self.marked
        if bool(place.stands) != (name in marked):
            marked = marked | {name} if place.stands else marked - {name}
        return replace(self, places=self.places.set(name, place), marked=marked)

    def with_team(self, team: TeamState) -> "Core":
        return replace(self, teams=self.teams.set(team.id, team))

    def marked_places(self) -> Iterator[tuple[str, PlaceState]]:
        """The places where something stands, by their keys, in a fixed order."""
        for name in sorted(self.marked):
            yield name, self.places[name]

    def standing(self) -> Iterator[Stand]:
        """Everything that stands at a place, in a fixed order."""
        for _, place in self.marked_places():
            yield from place.stands.values()


_NO_PLACE = PlaceState()


def first_core(context: Context) -> Core:
    """Nothing logged yet."""
    return Core(
        teams=Map(
            {
                team.id: TeamState(
                    id=team.id,
                    ensemble=team.ensemble,
                    own_ensembles=team.own_ensembles,
                    air={
                        member.id: AirState(start=_start(member.cylinder))
                        for member in team.members
                    },
                )
                for team in context.teams.values()
            }
        ),
        instruments=Map(
            {
                item.id: InstrumentState(
                    passed=item.last_bump_test, known=item.bump_known
                )
                for item in context.instruments.values()
            }
        ),
    )


def _start(cylinder: Cylinder | None) -> Decimal | None:
    if cylinder is None:
        return None
    return cylinder.start_pressure_psi or cylinder.rated_pressure_psi
