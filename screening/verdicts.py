"""What the engine says: actions, findings, coverage and the view of a team at one moment."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from enum import IntEnum, StrEnum
from typing import Final

CAUTION: Final = "Supports decisions; local SOPs and the incident commander govern."


class Action(IntEnum):
    """Ordered: the strictest of several is their `max()`."""

    # Of the number it is; an enum's own is worked out from its name, each time anew.
    __hash__ = int.__hash__

    CONTINUE = 0
    CAUTION = 1
    STOP = 2
    WITHDRAW = 3

    @property
    def word(self) -> str:
        """The word of the JSON documents."""
        return self.name.lower()

    @property
    def label(self) -> str:
        """The word on pages and in reports."""
        return self.name.capitalize()


class Hazard(StrEnum):
    __hash__ = str.__hash__  # as above: hazards are looked up at every step

    ACID_VAPOUR = "acid_vapour"
    BASE_VAPOUR = "base_vapour"
    OXIDISER_VAPOUR = "oxidiser_vapour"
    FLUORIDE_VAPOUR = "fluoride_vapour"
    CORROSIVE_LIQUID = "corrosive_liquid"
    OXIDISER_LIQUID = "oxidiser_liquid"
    FLUORIDE_LIQUID = "fluoride_liquid"
    FLAMMABLE_ATMOSPHERE = "flammable_atmosphere"
    OXYGEN_ENRICHED = "oxygen_enriched"
    OXYGEN_DEFICIENT = "oxygen_deficient"
    TOXIC_GAS = "toxic_gas"
    CONTAINER_HEATING = "container_heating"
    HOT_RELIEF_DISCHARGE = "hot_relief_discharge"
    GAMMA_RADIATION = "gamma_radiation"
    LOW_AIR = "low_air"
    ACCOUNTABILITY = "accountability"
    MONITORING = "monitoring"
    UNEXPLAINED_SIGN = "unexplained_sign"
    HEAT_STRESS = "heat_stress"

    @property
    def label(self) -> str:
        return _LABELS.get(self, self.value.replace("_", " ").capitalize())


_LABELS = {
    Hazard.CONTAINER_HEATING: "Heating container",
    Hazard.MONITORING: "Gaps in monitoring",
    Hazard.OXYGEN_ENRICHED: "Oxygen enriched",
    Hazard.OXYGEN_DEFICIENT: "Oxygen deficient",
}


class Status(StrEnum):
    """Spec section 6: the first that fits, in this order."""

    FOUND = "found"
    NOT_FOUND = "not_found"
    OUT_OF_DATE = "out_of_date"
    CANNOT_TELL = "cannot_tell"
    NOT_CHECKED = "not_checked"

    @property
    def label(self) -> str:
        return {
            Status.FOUND: "Found",
            Status.NOT_FOUND: "Not found",
            Status.OUT_OF_DATE: "Out of date",
            Status.CANNOT_TELL: "Cannot tell",
            Status.NOT_CHECKED: "Not looked at",
        }[self]


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One rule's statement on one hazard, for one team."""

    rule: str  # name in the table of rules, e.g. "acid_vapour_at_stop"
    number: int  # its number in the specification; 0 for statements that are no rule
    hazard: Hazard
    team: str  # team id
    place: str  # where it was found, not where the team is
    action: Action
    because: str
    advice: tuple[str, ...]
    source: str
    entry: str = ""  # id of the log entry that raised it last; "" where time alone did
    at: datetime | None = None  # when that was
    subject: str = (
        ""  # what of: a gas, a container, a member; "" where there is one only
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class CoverageRow:
    """What is known of one hazard at a team's place."""

    hazard: Hazard
    status: Status
    because: str
    next_check: str  # "" where nothing more is to be done


@dataclass(frozen=True, slots=True, kw_only=True)
class AirClock:
    """One member's air, from the last gauge reading; pressures in psi, times in seconds."""

    member: str
    pressure_psi: Decimal | None
    pressure_shown: str  # as entered, "" where none was
    read_at: datetime | None
    turn_around_psi: Decimal | None
    alarm_psi: Decimal | None
    psi_per_minute: Decimal | None  # None from one reading: no rate shows in it
    to_turn_around: int | None  # seconds from the assessment, negative when past


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatClock:
    """Heat on a team inside, from the incident's weather; full sun where none is given."""

    adjusted_degf: Decimal
    heat_index_degf: Decimal | None  # None where the humidity is not known
    check_every_minutes: int | None  # first physiological check; None below the table
    check_due: datetime | None  # the next one
    came_due: datetime | None  # the last one that came due: no entry answers it
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Clocks:
    """The running clocks of one team. Moments, so that a page can count on by itself."""

    inside: bool
    inside_since: datetime | None
    last_par: datetime | None
    par_due: datetime | None
    unanswered: tuple[str, ...]
    air: tuple[AirClock, ...]
    turn_around_due: datetime | None  # the lowest bottle leads
    dose_rem: Decimal | None
    dose_rate_rem_per_hour: Decimal | None
    turn_back_dose_rem: Decimal
    stay_until: datetime | None  # when the turn-back dose is reached at the last rate
    heat: HeatClock | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TeamAssessment:
    id: str
    ensemble: str
    place: str
    action: Action
    findings: tuple[Finding, ...]  # strictest first
    coverage: tuple[CoverageRow, ...]
    look_next: str
    clocks: Clocks
    trends: tuple[str, ...] = ()  # of the figures at the team's place
    crew: tuple[str, ...] = ()  # on numbers inside and outside; changes no verdict
    # Members who wear something else than the team: id, ensemble.
    own_ensembles: tuple[tuple[str, str], ...] = ()
    heat: tuple[str, ...] = ()  # on heat, work and rest; changes no verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class Assessment:
    """Every team at one moment."""

    at: datetime
    teams: tuple[TeamAssessment, ...]
    cautions: tuple[str, ...]

    def by_team(self) -> Mapping[str, TeamAssessment]:
        return {team.id: team for team in self.teams}
