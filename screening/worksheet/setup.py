"""Everything of a document but its log: incident, profile, teams, instruments, suspects."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from types import MappingProxyType
from typing import Final, TypeAlias

from screening.ensembles import Ensemble
from screening.incident import (
    MISSIONS,
    ROLES,
    Context,
    Cylinder,
    Instrument,
    Member,
    Team,
    Weather,
)
from screening.profile import Profile
from screening.readings import KINDS
from screening.units import Dimension
from screening.worksheet.fields import (
    DEGREES,
    DOSE_RATE,
    FACTOR,
    LAMP,
    PERCENT,
    PRESSURE,
    RATED_PRESSURE,
    TEMPERATURE,
    VOLUME,
    WIND,
    Fields,
    named_numbers,
)
from screening.worksheet.profiles import read_profile

_INCIDENT: Final = frozenset(
    {"name", "mission", "weather", "weather_log", "background_dose_rate"}
)
_WEATHER: Final = frozenset(
    {
        "air_temperature",
        "relative_humidity_percent",
        "wind_speed",
        "wind_from_degrees",
    }
)
WeatherLog: TypeAlias = tuple[tuple[datetime, Weather], ...]
# Before any time that an entry can have.
_LONG_AGO: Final = datetime(1, 1, 2, tzinfo=UTC)
_TEAM: Final = frozenset({"id", "role", "ensemble", "members"})
_MEMBER: Final = frozenset({"id", "cylinder", "ensemble"})
_CYLINDER: Final = frozenset({"rated_volume", "rated_pressure", "start_pressure"})
_INSTRUMENT: Final = frozenset(
    {
        "id",
        "kind",
        "sensors",
        "lel_basis",
        "lamp_ev",
        "correction_factors",
        "last_bump_test",
        "calibration_due",
    }
)
INSTRUMENT_KINDS: Final = (
    *(kind for kind, entry in KINDS.items() if entry.is_reading and kind != "sign"),
    "other",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Scope:
    """What an entry may name. None where the document's own part is too wrong to know."""

    members: Mapping[str, frozenset[str] | None] | None  # member ids by team
    sensors: Mapping[str, frozenset[str]]  # by listed instrument
    suspects: frozenset[str]
    paper_chart: Mapping[str, tuple[Decimal, Decimal]]

    @classmethod
    def of(cls, context: Context) -> "Scope":
        return cls(
            members={
                team.id: frozenset(member.id for member in team.members)
                for team in context.teams.values()
            },
            sensors={
                instrument.id: frozenset(instrument.sensors)
                for instrument in context.instruments.values()
            },
            suspects=frozenset(context.suspects),
            paper_chart=context.profile.paper_chart,
        )


def read_setup(document: Fields) -> tuple[Context, Scope]:
    """The context, to be used only where no problem was reported, and its scope."""
    profile = Profile.default()
    if "profile" in document.raw:
        profile = read_profile(
            document.raw["profile"], document.at("profile"), document.problems
        )
    teams, members = _teams(document)
    instruments = _instruments(document)
    suspects = tuple(
        dict.fromkeys(name.lower() for name, _ in document.names("suspects"))
    )
    scope = Scope(
        members=members,
        sensors={key: frozenset(one.sensors) for key, one in instruments.items()},
        suspects=frozenset(suspects),
        paper_chart=profile.paper_chart,
    )
    context = _context(document, profile, teams, instruments, suspects)
    return context, scope


def _context(
    document: Fields,
    profile: Profile,
    teams: Mapping[str, Team],
    instruments: Mapping[str, Instrument],
    suspects: tuple[str, ...],
) -> Context:
    name, mission = "", ""
    weather, background = Weather(), None
    weather_log: WeatherLog = ()
    incident = document.inner("incident", required=True)
    if incident is not None:
        incident.allow(_INCIDENT, "an incident")
        name = incident.name("name", required=True)
        mission = incident.choice("mission", MISSIONS)
        weather = _weather(incident)
        weather_log = _weather_log(incident, weather)
        background = incident.quantity(
            "background_dose_rate", Dimension.DOSE_RATE, DOSE_RATE
        )
    return Context(
        name=name,
        mission=mission,
        weather=weather,
        background_rem_per_hour=background and background.value,
        profile=profile,
        teams=MappingProxyType(dict(teams)),
        instruments=MappingProxyType(dict(instruments)),
        suspects=suspects,
        weather_log=weather_log,
    )


def _weather(incident: Fields) -> Weather:
    fields = incident.inner("weather")
    if fields is None:
        return Weather()
    fields.allow(_WEATHER, "the weather")
    return _look(fields)


def _weather_log(incident: Fields, first: Weather) -> WeatherLog:
    """What is known from each look on; of one moment, what is written later counts."""
    looks = []
    for fields in _objects(incident, "weather_log"):
        fields.allow(_WEATHER | {"at"}, "a look at the weather")
        if not fields.raw.keys() & _WEATHER:
            expected = f"at least one of {', '.join(sorted(_WEATHER))}"
            fields.problems.missing(fields.pointer, expected)
        looks.append((fields.moment("at") or _LONG_AGO, _look(fields)))
    if not looks:
        return ()
    known = [(_LONG_AGO, first)]
    for at, look in sorted(looks, key=lambda each: each[0]):
        known.append((at, known[-1][1].followed_by(look)))
    return tuple(known)


def _look(fields: Fields) -> Weather:
    air = fields.quantity("air_temperature", Dimension.TEMPERATURE, TEMPERATURE)
    wind = fields.quantity("wind_speed", Dimension.SPEED, WIND)
    return Weather(
        air_temperature_degf=air and air.value,
        relative_humidity_percent=fields.number("relative_humidity_percent", PERCENT),
        wind_speed_m_s=wind and wind.value,
        wind_from_degrees=fields.number("wind_from_degrees", DEGREES),
    )


def _objects(parent: Fields, name: str, *, required: bool = False) -> Iterable[Fields]:
    """The objects of a list; what is none is reported and left out."""
    pointer = parent.at(name)
    for index, raw in enumerate(parent.items(name, required=required) or ()):
        fields = Fields.of(raw, f"{pointer}/{index}", parent.problems)
        if fields is not None:
            yield fields


def _is_new(fields: Fields, key: str, seen: Mapping[str, object]) -> bool:
    if key in seen:
        fields.wrong("id", "an id that stands only once")
    return bool(key) and key not in seen


def _teams(
    document: Fields,
) -> tuple[dict[str, Team], dict[str, frozenset[str] | None] | None]:
    teams: dict[str, Team] = {}
    members: dict[str, frozenset[str] | None] = {}
    errors = len(document.problems.errors)
    for fields in _objects(document, "teams", required=True):
        fields.allow(_TEAM, "a team")
        key = fields.identifier("id")
        role = fields.choice("role", ROLES)
        ensemble = fields.choice("ensemble", tuple(Ensemble))
        found = _members(fields)
        if _is_new(fields, key, members):
            known = fields.raw.get("members", ())
            whole = isinstance(known, (list, tuple)) and len(known) == len(found)
            members[key] = frozenset(found) if whole else None
            teams[key] = Team(
                id=key,
                role=role,
                ensemble=Ensemble(ensemble) if ensemble else Ensemble.LEVEL_D,
                members=tuple(found.values()),
            )
    unknown = len(document.problems.errors) > errors and not members
    return teams, None if unknown else members


def _members(team: Fields) -> dict[str, Member]:
    members: dict[str, Member] = {}
    for fields in _objects(team, "members"):
        fields.allow(_MEMBER, "a member")
        key = fields.identifier("id")
        cylinder = _cylinder(fields)
        worn = fields.choice("ensemble", tuple(Ensemble), required=False)
        if _is_new(fields, key, members):
            members[key] = Member(
                id=key, cylinder=cylinder, ensemble=Ensemble(worn) if worn else None
            )
    return members


def _cylinder(member: Fields) -> Cylinder | None:
    fields = member.inner("cylinder")
    if fields is None:
        return None
    fields.allow(_CYLINDER, "a cylinder")
    rated = fields.quantity(
        "rated_pressure", Dimension.PRESSURE, RATED_PRESSURE, required=True
    )
    volume = fields.quantity("rated_volume", Dimension.VOLUME, VOLUME)
    start = fields.quantity("start_pressure", Dimension.PRESSURE, PRESSURE)
    if rated is None:
        return None
    return Cylinder(
        rated_pressure_psi=rated.value,
        rated_volume_l=volume and volume.value,
        start_pressure_psi=start and start.value,
        pressure_unit=(start or rated).unit,
    )


def _instruments(document: Fields) -> dict[str, Instrument]:
    instruments: dict[str, Instrument] = {}
    for fields in _objects(document, "instruments"):
        fields.allow(_INSTRUMENT, "an instrument")
        key = fields.identifier("id")
        instrument = _instrument(fields, key)
        if _is_new(fields, key, instruments):
            instruments[key] = instrument
    return instruments


def _instrument(fields: Fields, key: str) -> Instrument:
    bump = due = None
    if fields.raw.get("last_bump_test", ...) not in (None, ...):
        bump = fields.moment("last_bump_test")
    if fields.raw.get("calibration_due", ...) not in (None, ...):
        due = fields.day("calibration_due")
    return Instrument(
        id=key,
        kind=fields.choice("kind", INSTRUMENT_KINDS),
        sensors=tuple(
            dict.fromkeys(name.lower() for name, _ in fields.names("sensors"))
        ),
        lel_basis=fields.name("lel_basis").lower(),
        lamp_ev=fields.number("lamp_ev", LAMP),
        correction_factors=_correction_factors(fields),
        bump_known="last_bump_test" in fields.raw,
        last_bump_test=bump,
        calibration_due=due,
    )


def _correction_factors(instrument: Fields) -> Mapping[str, Decimal]:
    fields = instrument.inner("correction_factors")
    if fields is None:
        return {}
    return named_numbers(fields, FACTOR)
