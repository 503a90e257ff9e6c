"""Versions of the SOP as pages show them: which is in force, and what each sets."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import QuerySet
from django.http import Http404

from incidents.documents import loads
from incidents.models import Agency, Incident, Person, SopProfile
from incidents.sop_table import ITEMS, SECTIONS, Item
from screening.profile import looser_sentence

BUILT_IN = "Built-in limits"
BUILT_IN_VERSION = "1"


class Standing(StrEnum):
    """Where a version stands on a day."""

    IN_FORCE = "in force"
    LATER = "not yet in force"
    REPLACED = "replaced"
    WITHDRAWN = "withdrawn"


@dataclass(frozen=True, slots=True, kw_only=True)
class VersionLine:
    """One version in the list."""

    version: SopProfile  # with `previous`, and `withdrawal` where there is one
    standing: Standing
    replaced_by: SopProfile | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueRow:
    """One value of a version, in the words of pages."""

    item: Item
    value: Decimal | None  # canonical
    words: str  # as the agency wrote it
    is_default: bool
    looser: bool
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One value that two versions do not share."""

    item: Item
    before: str
    after: str
    way: str  # "stricter", "looser" or "changed"
    looser_than_source: bool
    reason: str


def today_of(agency: Agency, at: datetime) -> date:
    """The day in the agency's own time zone, by which versions come into force."""
    return at.astimezone(ZoneInfo(agency.time_zone)).date()


def versions_of(agency: Agency, today: date) -> list[VersionLine]:
    """Every version, newest first, with where it stands. One query.

    In force is, of each name, the version written last whose day has come and that is
    not withdrawn.
    """
    holds: dict[str, SopProfile] = {}
    lines = []
    for version in _newest_first(agency):
        standing, replaced_by = Standing.REPLACED, holds.get(version.name)
        if hasattr(version, "withdrawal"):
            standing, replaced_by = Standing.WITHDRAWN, None
        elif version.effective_on > today:
            standing, replaced_by = Standing.LATER, None
        elif replaced_by is None:
            standing = Standing.IN_FORCE
            holds[version.name] = version
        lines.append(
            VersionLine(version=version, standing=standing, replaced_by=replaced_by)
        )
    return lines


def _newest_first(agency: Agency) -> QuerySet[SopProfile]:
    rows = agency.sop_profiles.select_related("agency", "previous", "withdrawal")
    return rows.order_by("-created_at", "-pk")


def in_force(agency: Agency, today: date) -> list[SopProfile]:
    """The versions that an incident may be opened under, the latest in force first."""
    found = [
        line.version
        for line in versions_of(agency, today)
        if line.standing is Standing.IN_FORCE
    ]
    return sorted(found, key=lambda v: (v.effective_on, v.created_at, v.pk))[::-1]


def get_version_for(person: Person, number: int) -> SopProfile:
    """The version of the person's own agency, or 404."""
    if person.agency is None:
        raise Http404("No such version.")
    version = _newest_first(person.agency).filter(pk=number).first()
    if version is None:
        raise Http404("No such version.")
    return version


def raw_values(version: SopProfile | None) -> dict[str, Any]:
    """What a version holds of each row, as entered; defaults for none."""
    if version is None:
        found = {key: item.default_raw() for key, item in ITEMS.items()}
        return {key: raw for key, raw in found.items() if raw is not None}
    limits = loads(version.document).get("limits", {})
    return _with_defaults(limits | loads(version.house_rules))


def raw_values_in(incident: Incident) -> dict[str, Any]:
    """What an incident is judged by now, whether a version gave it or not."""
    limits = loads(incident.setup).get("profile", {}).get("limits", {})
    house = loads(incident.sop.house_rules) if incident.sop else {}
    return _with_defaults(limits | house)


def _with_defaults(written: Mapping[str, Any]) -> dict[str, Any]:
    defaults = raw_values(None)
    return {
        key: written.get(key, defaults.get(key))
        for key in ITEMS
        if key in written or key in defaults
    }


def value_rows(
    raws: Mapping[str, Any], reasons: Mapping[str, str]
) -> dict[str, list[ValueRow]]:
    """Every row by its section, for what a version holds."""
    return {
        name: [_row(item, raws.get(item.key), reasons) for item in items]
        for name, items in SECTIONS.items()
    }


def loosened_of(version: SopProfile) -> list[str]:
    """A sentence for each value of it that is looser than its published source."""
    raws = raw_values(version)
    return [
        looser_sentence(
            item.label,
            as_written(item, raws[key]),
            item.default_words,
            item.source,
            version.reasons_given.get(key, ""),
        )
        for key, item in ITEMS.items()
        if key in raws and item.is_looser(item.canonical(raws[key]))
    ]


def house_rows(version: SopProfile | None) -> list[ValueRow]:
    """The house rules alone, for one version or the defaults."""
    raws, reasons = raw_values(version), version.reasons_given if version else {}
    return [
        _row(item, raws.get(item.key), reasons)
        for item in ITEMS.values()
        if not item.in_engine
    ]


def usable(agency: Agency, today: date, used: set[int]) -> list[SopProfile]:
    """The versions that a running incident may be judged by, newest first.

    `used` are the ids of those that it was judged by before, withdrawn or not.
    """
    return [
        line.version
        for line in versions_of(agency, today)
        if line.version.pk in used
        or line.standing in (Standing.IN_FORCE, Standing.REPLACED)
    ]


def _row(item: Item, raw: Any, reasons: Mapping[str, str]) -> ValueRow:
    value = None if raw is None else item.canonical(raw)
    return ValueRow(
        item=item,
        value=value,
        words=as_written(item, raw),
        is_default=value == item.default,
        looser=item.is_looser(value),
        reason=reasons.get(item.key, "") if item.is_looser(value) else "",
    )


def as_written(item: Item, raw: Any) -> str:
    """A value in the unit in which it was written: "50 mSv"."""
    if raw is None:
        return item.words(None)
    figure, unit = item.typed(raw)
    if unit == "pH":
        return f"pH {figure:f}"
    words = dict(item.units).get(unit, unit)
    return f"{figure:f}{'' if words == '°' else ' '}{words.removesuffix(' of rated pressure')}"


def changes(
    before: Mapping[str, Any], after: Mapping[str, Any], reasons: Mapping[str, str]
) -> list[Change]:
    """The rows in which two versions differ in value, in the order of the table."""
    return list(_changes(before, after, reasons))


def _changes(
    before: Mapping[str, Any], after: Mapping[str, Any], reasons: Mapping[str, str]
) -> Iterable[Change]:
    for key, item in ITEMS.items():
        old, new = before.get(key), after.get(key)
        was = None if old is None else item.canonical(old)
        now = None if new is None else item.canonical(new)
        if was == now:
            continue
        looser = item.is_looser(now)
        yield Change(
            item=item,
            before=as_written(item, old),
            after=as_written(item, new),
            way=_way(item, was, now),
            looser_than_source=looser,
            reason=reasons.get(key, "") if looser else "",
        )


def _way(item: Item, was: Decimal | None, now: Decimal | None) -> str:
    """Whether the new value bites sooner. One that is not set never bites."""
    if item.stricter == "neither":
        return "changed"
    if was is None or now is None:
        return "stricter" if was is None else "looser"
    return "stricter" if (now < was) == (item.stricter == "lower") else "looser"


def chart_of(version: SopProfile | None) -> dict[str, tuple[Decimal, Decimal]]:
    """The paper chart that a version sets; empty where it keeps the default."""
    if version is None:
        return {}
    chart = loads(version.document).get("paper_chart", {})
    return {colour: (Decimal(a), Decimal(b)) for colour, (a, b) in chart.items()}
