"""What is known before the first reading: teams, instruments, weather, limits."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
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

    def followed_by(self, look: "Weather") -> "Weather":
        """What is known after a later look: what it leaves out holds as last read."""
        read = {key: getattr(look, key) for key in _WEATHER_FIELDS}
        return replace(self, **{key: it for key, it in read.items() if it is not None})


_WEATHER_FIELDS = tuple(Weather.__dataclass_fields__)


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
    ensemble: Ensemble | None = None  # where it is not the team's


@dataclass(frozen=True, slots=True, kw_only=True)
class Team:
    id: str
    role: str  # one of ROLES
    ensemble: Ensemble
    members: tuple[Member, ...] = ()

    @property
    def own_ensembles(self) -> Mapping[str, Ensemble]:
        """By member, where it is not the team's."""
        return {
            member.id: member.ensemble
            for member in self.members
            if member.ensemble is not None and member.ensemble is not self.ensemble
        }


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
    # What is known of the weather from each moment on, in order of time, the set-up's
    # first; empty where nobody looked again. `weather` is the one that counts.
    weather_log: tuple[tuple[datetime, Weather], ...] = ()
    # What people call a member, by "team/member", and an instrument, by its id; a
    # worksheet document has no place for names. Sentences use them, ids stay ids else.
    names: Mapping[str, str] = field(default_factory=dict)

    def name_of(self, team: str, member: str) -> str:
        """The member's name; the id where none is known."""
        return self.names.get(f"{team}/{member}", member)

    def instrument_name(self, instrument: str) -> str:
        """What people call a listed instrument; else as it was written down."""
        if instrument not in self.instruments:
            return instrument
        return self.names.get(instrument, instrument)

    def under(self, at: datetime) -> "Context":
        """The same with the weather of a moment: a reading is judged by that of its time."""
        known = [weather for since, weather in self.weather_log if since <= at]
        if not known or known[-1] == self.weather:
            return self
        return replace(self, weather=known[-1])

    def as_of_now(self) -> "Context":
        """The same with the last weather alone, for what is judged outside of a log."""
        if not self.weather_log:
            return self
        return replace(self, weather=self.weather_log[-1][1], weather_log=())

    def weathers(
        self, since: datetime | None = None, until: datetime | None = None
    ) -> tuple[Weather, ...]:
        """Every weather that held between two moments, in order; all of it without them."""
        if not self.weather_log:
            return (self.weather,)
        ends = [*(start for start, _ in self.weather_log[1:]), None]
        return tuple(
            weather
            for (start, weather), end in zip(self.weather_log, ends, strict=True)
            if (until is None or start <= until)
            and (since is None or end is None or end > since)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Worksheet:
    """A parsed worksheet document; the log in order of time, then of id."""

    context: Context
    log: tuple[Entry, ...]
    cautions: tuple[str, ...] = ()  # e.g. that R was read as rem
