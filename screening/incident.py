"""What is known before the first reading: teams, instruments, weather, limits."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal

from screening.ensembles import Ensemble
from screening.profile import Profile
from screening.readings import Entry

MISSIONS = ("rescue", "reconnaissance", "product_control", "other")
ROLES = ("entry", "backup", "decon", "other")


@dataclass(frozen=True, slots=True, kw_only=True)
class Weather:
    air_temperature_degf: Decimal | None = None
    relative_humidity_percent: Decimal | None = None
    wind_speed_m_s: Decimal | None = None
    wind_from_degrees: Decimal | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Cylinder:
    rated_pressure_psi: Decimal
    rated_volume_l: Decimal | None = None
    start_pressure_psi: Decimal | None = None
    pressure_unit: str = "psi"  # the unit people read on this gauge; sentences use it


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    id: str
    cylinder: Cylinder | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Team:
    id: str
    role: str  # one of ROLES
    ensemble: Ensemble
    members: tuple[Member, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Instrument:
    id: str
    kind: str
    sensors: tuple[str, ...] = ()
    lel_basis: str = ""
    lamp_ev: Decimal | None = None
    correction_factors: Mapping[str, Decimal] = field(default_factory=dict)
    bump_known: bool = False  # a bump test record exists, though it may say "never"
    last_bump_test: datetime | None = None
    calibration_due: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Context:
    """Everything about an incident that is not in its log."""

    name: str
    mission: str  # one of MISSIONS
    weather: Weather
    background_rem_per_hour: Decimal | None
    profile: Profile
    teams: Mapping[str, Team]  # in the document's order
    instruments: Mapping[str, Instrument]
    suspects: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Worksheet:
    """A parsed worksheet document; the log in order of time, then of id."""

    context: Context
    log: tuple[Entry, ...]
    cautions: tuple[str, ...] = ()  # e.g. that R was read as rem
