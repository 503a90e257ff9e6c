"""The plan as it stands: a fold over its records."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any, Final

from command.documents import name_key
from command.parts import PARTS
from command.site_parts import Site, SizeUp, SuspectedSubstance, WeatherReport, ZoneLine
from command.work_parts import (
    Briefing,
    CheckIn,
    CommandTaken,
    Communications,
    DeconSetup,
    Emergency,
    Handing,
    MedicalPlan,
    OperatingMode,
    Override,
    Position,
    Signature,
    TeamPlan,
)

# Where no SOP sets another. Common practice, no source: half an hour, and the eighth of
# the compass that the next point of an eight-point wind rose lies away.
WEATHER_COUNTS_FOR: Final = timedelta(minutes=30)
WIND_SHIFT_DEGREES: Final = Decimal(45)


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """One record of the plan as the log keeps it. `says` is None where taken out."""

    part: str
    item: str
    says: Any
    seq: int
    at: datetime
    author: str
    reason: str = ""
    based_on: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """All records by part and item, each list in the order of the log."""

    records: Mapping[str, Mapping[str, tuple[Record, ...]]] = field(
        default_factory=dict
    )
    unreadable: tuple[int, ...] = ()  # numbers of records that could not be read

    @property
    def begun(self) -> bool:
        """Whether there is a plan at all; without one nothing is missing from it."""
        return bool(self.unreadable) or any(PARTS[part].begins for part in self.records)

    def history(self, part: str, item: str = "") -> tuple[Record, ...]:
        """Every record of a part or of one item, oldest first by when it holds from."""
        records = self.records.get(part, {}).get(item, ())
        return tuple(sorted(records, key=lambda record: (record.at, record.seq)))

    def last(self, part: str, item: str = "") -> Record | None:
        """The record that counts; of an item that was taken out, the taking out."""
        records = self.records.get(part, {}).get(item, ())
        return records[-1] if records else None

    def items(self, part: str) -> dict[str, Record]:
        """What stands of a part of several items, in the order they came in."""
        last = {item: rows[-1] for item, rows in self.records.get(part, {}).items()}
        return {item: row for item, row in last.items() if row.says is not None}

    def _one(self, part: str) -> Any:
        record = self.last(part)
        return None if record is None else record.says

    def _all(self, part: str) -> tuple[Any, ...]:
        return tuple(record.says for record in self.items(part).values())

    @property
    def size_up(self) -> SizeUp | None:
        says: SizeUp | None = self._one("size_up")
        return says

    @property
    def site(self) -> Site | None:
        says: Site | None = self._one("site")
        return says

    @property
    def decon(self) -> DeconSetup | None:
        says: DeconSetup | None = self._one("decon")
        return says

    @property
    def medical(self) -> MedicalPlan | None:
        says: MedicalPlan | None = self._one("medical")
        return says

    @property
    def communications(self) -> Communications | None:
        says: Communications | None = self._one("communications")
        return says

    @property
    def emergency(self) -> Emergency | None:
        says: Emergency | None = self._one("emergency")
        return says

    @property
    def handing_over(self) -> Handing | None:
        says: Handing | None = self._one("handing_over")
        return says

    @property
    def substances(self) -> tuple[SuspectedSubstance, ...]:
        return self._all("substances")

    @property
    def zones(self) -> dict[str, ZoneLine]:
        return {item: record.says for item, record in self.items("zones").items()}

    @property
    def positions(self) -> tuple[Position, ...]:
        return self._all("positions")

    @property
    def briefings(self) -> tuple[Briefing, ...]:
        return self._all("briefing")

    @property
    def signatures(self) -> tuple[Signature, ...]:
        return self._all("signatures")

    @property
    def checked_in(self) -> tuple[CheckIn, ...]:
        return self._all("check_in")

    def team(self, team: str) -> TeamPlan | None:
        record = self.last("teams", team)
        return None if record is None else record.says

    # What time decides

    def _at(self, part: str, at: datetime) -> Record | None:
        past = [record for record in self.history(part) if record.at <= at]
        return past[-1] if past else None

    def mode(self, at: datetime) -> OperatingMode | None:
        record = self._at("mode", at)
        return None if record is None else record.says

    def weather(self, at: datetime) -> Record | None:
        """The last look at the weather; its `says` is a `WeatherReport`."""
        return self._at("weather", at)

    def commander(self, at: datetime) -> str:
        """Who commands at a moment; "" before anybody took command."""
        record = self._at("command", at)
        return "" if record is None else record.says.name

    def commanders(self) -> Iterator[tuple[CommandTaken, datetime, datetime | None]]:
        """Each spell of command: from when, until when; the last is open.

        One follows on the other, so that at no second two command or nobody does.
        """
        rows = self.history("command")
        ends = [*(row.at for row in rows[1:]), None]
        for row, end in zip(rows, ends, strict=True):
            yield row.says, row.at, end

    def holds(self, position: str, at: datetime) -> tuple[Position, ...]:
        """Who holds a position at a moment; no beginning means since ever."""
        return tuple(
            each
            for each in self.positions
            if each.position == position
            and (each.since is None or each.since <= at)
            and (each.until is None or each.until > at)
        )

    def briefed(self, at: datetime) -> frozenset[str]:
        """The keys of the names of all who listened to a briefing until then."""
        return frozenset(
            name_key(name)
            for record in self.items("briefing").values()
            if record.at <= at
            for name in record.says.listeners
        )

    def check_in_of(self, name: str) -> CheckIn | None:
        key = name_key(name)
        found = [each for each in self.checked_in if name_key(each.name) == key]
        return found[-1] if found else None

    def overrides(self, team: str, since: datetime | None) -> tuple[Override, ...]:
        """What was overridden for one team in this entry; newest last."""
        return tuple(
            record.says
            for record in self.history("override")
            if record.says.team == team and (since is None or record.at >= since)
        )

    # Wind

    def wind(self, at: datetime) -> Record | None:
        """The last look at the weather that says where the wind comes from: what a later
        one leaves out holds as last read."""
        looks = (r for r in self.history("weather") if _direction(r) is not None)
        return max(
            (r for r in looks if r.at <= at), key=lambda r: (r.at, r.seq), default=None
        )

    def shifted_zones(
        self, at: datetime, shift: Decimal = WIND_SHIFT_DEGREES
    ) -> dict[str, Decimal]:
        """Lines that were last looked at under another wind: by how many degrees.

        The wind counts as shifted from `shift` degrees on.
        """
        now = _direction(self.wind(at))
        if now is None:
            return {}
        checked = [r.at for r in self.history("zones_checked") if r.at <= at]
        found = {}
        for zone, record in self.items("zones").items():
            looked_at = max([record.at, *checked])
            then = _direction(self.wind(looked_at))
            if then is None:
                first = next(
                    (r for r in self.history("weather") if _direction(r) is not None),
                    None,
                )
                then = _direction(first)
            if then is not None and turned(then, now) >= shift:
                found[zone] = turned(then, now)
        return found


def _direction(record: Record | None) -> Decimal | None:
    if record is None:
        return None
    report: WeatherReport = record.says
    return report.from_degrees


def turned(first: Decimal, second: Decimal) -> Decimal:
    """The angle between two directions, 0 to 180 degrees."""
    apart = abs(first - second) % 360
    return min(apart, 360 - apart)


def fold(records: Iterable[Record], unreadable: Iterable[int] = ()) -> Plan:
    """The plan after these records, given in the order of the log."""
    gathered: dict[str, dict[str, tuple[Record, ...]]] = {}
    for record in records:
        items = gathered.setdefault(record.part, {})
        items[record.item] = (*items.get(record.item, ()), record)
    return Plan(records=gathered, unreadable=tuple(unreadable))
