"""The log entries, validated once at the edge (`screening.worksheet`) and frozen.

Numbers are `Decimal` in canonical units, which the field names carry: degF, rem, rem/h,
psi, litres, metres, seconds. Fahrenheit and rem are canonical because every other
temperature and dose unit converts to them without a remainder, so that a reading at a limit
compares equal to it. `shown` maps a field to the figure as it was entered, with its unit.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from types import MappingProxyType
from typing import ClassVar

NOTHING_SHOWN: Mapping[str, str] = MappingProxyType({})


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What every entry carries."""

    kind: ClassVar[str] = ""
    is_reading: ClassVar[bool] = False

    id: str
    at: datetime  # with its offset, as entered
    team: str = ""  # "" where the kind needs none
    place: str = ""
    note: str = ""
    instrument: str = ""  # id of a listed instrument, or free text
    shown: Mapping[str, str] = field(
        default_factory=lambda: NOTHING_SHOWN, compare=False
    )

    @property
    def order(self) -> tuple[datetime, str]:
        return (self.at, self.id)


@dataclass(frozen=True, slots=True, kw_only=True)
class PhPaper(Entry):
    kind: ClassVar[str] = "ph_paper"
    is_reading: ClassVar[bool] = True

    sample: str  # "vapour" or "liquid"
    moistened: bool = False  # dry unless said otherwise
    bleached: bool = False
    low: Decimal | None = None  # pH; equal to `high` unless a band was read
    high: Decimal | None = None  # None only where bleached
    band: str = ""
    faded: bool = False
    carried_on: str = ""  # "facepiece", "hook", "hand"


@dataclass(frozen=True, slots=True, kw_only=True)
class KiStarchPaper(Entry):
    kind: ClassVar[str] = "ki_starch_paper"
    is_reading: ClassVar[bool] = True

    sample: str
    result: str  # "no_change", "blue_black", "line_at_wet_edge"
    moistened: bool = False
    edge_checked: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class FluoridePaper(Entry):
    kind: ClassVar[str] = "fluoride_paper"
    is_reading: ClassVar[bool] = True

    sample: str
    result: str  # "no_change", "changed"
    moistened: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class GasMeter(Entry):
    kind: ClassVar[str] = "gas_meter"
    is_reading: ClassVar[bool] = True

    lel_percent: Decimal | None = None
    oxygen_percent: Decimal | None = None
    co_ppm: Decimal | None = None
    h2s_ppm: Decimal | None = None
    voc_ppm: Decimal | None = None
    gases: tuple[
        tuple[str, Decimal], ...
    ] = ()  # name in lower case, ppm; sorted by name
    over_range: frozenset[str] = (
        frozenset()
    )  # "lel", "oxygen", "co", "h2s", "voc", gas names
    lamp_ev: Decimal | None = None
    height: str = ""  # "floor", "waist", "head"


@dataclass(frozen=True, slots=True, kw_only=True)
class ThermalImager(Entry):
    kind: ClassVar[str] = "thermal_imager"
    is_reading: ClassVar[bool] = True

    target: str  # "closed_container", "relief_valve_discharge", "other"
    container: str = ""
    surface_degf: Decimal
    surroundings_degf: Decimal | None = None
    shiny: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Sign(Entry):
    kind: ClassVar[str] = "sign"
    is_reading: ClassVar[bool] = True

    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Dosimeter(Entry):
    kind: ClassVar[str] = "dosimeter"
    is_reading: ClassVar[bool] = True

    dose_rate_rem_per_hour: Decimal | None = None
    dose_rem: Decimal | None = None
    alarm: bool | None = None
    member: str = ""  # "" is the team
    distance_m: Decimal | None = None
    contact: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class AirCheck(Entry):
    kind: ClassVar[str] = "air_check"
    is_reading: ClassVar[bool] = True

    member: str
    pressure_psi: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Enter(Entry):
    kind: ClassVar[str] = "enter"


@dataclass(frozen=True, slots=True, kw_only=True)
class Exit(Entry):
    kind: ClassVar[str] = "exit"


@dataclass(frozen=True, slots=True, kw_only=True)
class Par(Entry):
    kind: ClassVar[str] = "par"

    unanswered: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeEnsemble(Entry):
    kind: ClassVar[str] = "change_ensemble"

    ensemble: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Ventilate(Entry):
    kind: ClassVar[str] = "ventilate"

    method: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Acknowledge(Entry):
    kind: ClassVar[str] = "acknowledge"

    entry: str
    by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BumpTest(Entry):
    """`instrument` names what was tested."""

    kind: ClassVar[str] = "bump_test"

    passed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Strike(Entry):
    kind: ClassVar[str] = "strike"

    entry: str
    by: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Clear(Entry):
    kind: ClassVar[str] = "clear"

    hazard: str
    by: str
    reason: str


KINDS: Mapping[str, type[Entry]] = {
    cls.kind: cls
    for cls in (
        PhPaper, KiStarchPaper, FluoridePaper, GasMeter, ThermalImager, Sign, Dosimeter,
        AirCheck, Enter, Exit, Par, ChangeEnsemble, Ventilate, Acknowledge, BumpTest,
        Strike, Clear,
    )
}  # fmt: skip
