"""What is looked at: the plan, the moment, the teams; and what is found to be lacking."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal

from command.needs import NEEDS, Need
from command.plan import WEATHER_COUNTS_FOR, WIND_SHIFT_DEGREES, Plan
from command.work_parts import Override
from screening.ensembles import Ensemble
from screening.verdicts import Action


@dataclass(frozen=True, slots=True, kw_only=True)
class Crew:
    """One team as it stands at the moment."""

    id: str
    name: str
    role: str  # entry, backup, decon, other
    ensemble: Ensemble
    members: tuple[str, ...]  # names
    inside: bool = False
    inside_since: datetime | None = None
    own: Mapping[str, Ensemble] = field(
        default_factory=dict
    )  # by name, if not the team's

    @property
    def weakest(self) -> Ensemble:
        return min((self.ensemble, *self.own.values()), key=lambda each: each.rank)

    @property
    def strongest(self) -> Ensemble:
        return max((self.ensemble, *self.own.values()), key=lambda each: each.rank)


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """Why one member of a team should not go in; `key` is a need."""

    key: str
    team: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WeatherRules:
    """When weather is old and the wind has shifted; an agency may set both."""

    counts_for: timedelta = WEATHER_COUNTS_FOR
    shift_degrees: Decimal = WIND_SHIFT_DEGREES


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """All that is looked at."""

    plan: Plan
    at: datetime
    crews: tuple[Crew, ...]
    suspects: tuple[str, ...] = ()  # of the set-up, in lower case
    fluoride_found: bool = False  # a fluoride paper changed
    untested: tuple[str, ...] = ()  # names of instruments without a bump test today
    missing_blocks: tuple[str, ...] = ()  # of the form, where somebody looked
    first_entry: datetime | None = None  # from the log, where somebody looked
    weather_rules: WeatherRules = WeatherRules()
    held: tuple[Held, ...] = ()  # of members outside, where somebody looked

    def crew(self, team: str) -> Crew | None:
        return next((crew for crew in self.crews if crew.id == team), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lack:
    """One thing that is not ready, of one team or (team "") of the site."""

    key: str
    words: str
    team: str = ""
    item: str = ""  # the item of the part where it is mended
    waived_by: Override | None = None

    @property
    def need(self) -> Need:
        return NEEDS[self.key]

    @property
    def action(self) -> Action:
        """A lack that was overridden cautions; the override is said with it."""
        return Action.CAUTION if self.waived_by else self.need.action

    @property
    def source(self) -> str:
        return self.need.source

    @property
    def blocks(self) -> bool:
        return self.action >= Action.STOP
