"""Times as the report prints them: 24 hours, always with the zone said somewhere near."""

from datetime import datetime, timedelta, tzinfo
from typing import Final

_MONTHS: Final = (
    "January", "February", "March", "April", "May", "June", "July", "August",
    "September", "October", "November", "December",
)  # fmt: skip
_DAYS: Final = (
    "Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday",
)  # fmt: skip


def clock(at: datetime, zone: tzinfo) -> str:
    """14:02:10"""
    return f"{at.astimezone(zone):%H:%M:%S}"


def day(at: datetime, zone: tzinfo) -> str:
    """Wednesday 4 March 2026"""
    local = at.astimezone(zone)
    return f"{_DAYS[local.weekday()]} {_date(local)}"


def moment(at: datetime, zone: tzinfo) -> str:
    """4 March 2026 14:02:10 CST (UTC−06:00)"""
    local = at.astimezone(zone)
    return f"{_date(local)} {local:%H:%M:%S} {zone_words(at, zone)}"


def zone_words(at: datetime, zone: tzinfo) -> str:
    """The zone's short name and its offset at that moment."""
    local = at.astimezone(zone)
    offset = offset_words(local.utcoffset() or timedelta())
    name = local.tzname() or ""
    plain = name.isalpha() and name != "UTC"
    return f"{name} ({offset})" if plain else offset


def offset_words(offset: timedelta) -> str:
    """UTC−06:00"""
    minutes = round(offset / timedelta(minutes=1))
    if minutes == 0:
        return "UTC"
    sign = "+" if minutes > 0 else "\N{MINUS SIGN}"
    return f"UTC{sign}{abs(minutes) // 60:02d}:{abs(minutes) % 60:02d}"


def lasted(start: datetime, end: datetime) -> str:
    """1 h 17 min"""
    minutes = int((end - start) / timedelta(minutes=1))
    hours, minutes = divmod(minutes, 60)
    return f"{hours} h {minutes} min" if hours else f"{minutes} min"


def _date(local: datetime) -> str:
    return f"{local.day} {_MONTHS[local.month - 1]} {local.year}"
