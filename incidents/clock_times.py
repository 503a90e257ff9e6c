"""A time of day as people say it, made a moment of today or of the night before."""

from datetime import datetime, time, timedelta
from typing import Final
from zoneinfo import ZoneInfo

# A tablet's clock may run ahead of ours; what lies further ahead is a mistake.
AHEAD: Final = timedelta(minutes=2)
OLDEST: Final = timedelta(hours=24)
_PATTERNS: Final = ("%H:%M:%S", "%H:%M", "%H.%M", "%H%M")


class NotATimeError(ValueError):
    """Its words say what is wrong with the time."""


def clock_time(text: str, now: datetime, zone: ZoneInfo) -> datetime:
    """ "14:02", "14.02", "1402" or "14:02:30", in the zone. Raises `NotATimeError`."""
    moment = time_of_day(text)
    here = now.astimezone(zone)
    when = datetime.combine(here.date(), moment, tzinfo=zone)
    if when <= here + AHEAD:
        return when
    yesterday = when - timedelta(days=1)
    if here - yesterday < OLDEST / 2:  # 23:50, entered after midnight
        return yesterday
    raise NotATimeError(f"{text} has not come yet. It is {here:%H:%M}.")


def nearest_time(text: str, now: datetime, zone: ZoneInfo) -> datetime:
    """As `clock_time`, past or to come, whichever is nearer. Raises `NotATimeError`."""
    moment, here = time_of_day(text), now.astimezone(zone)
    days = (here.date() + timedelta(days=step) for step in (-1, 0, 1))
    times = [datetime.combine(day, moment, tzinfo=zone) for day in days]
    return min(times, key=lambda when: abs(when - here))


def time_of_day(text: str) -> time:
    """Raises `NotATimeError`."""
    for pattern in _PATTERNS:
        try:
            # Whoever asks adds the day and the zone.
            return datetime.strptime(text, pattern).time()  # noqa: DTZ007
        except ValueError:
            continue
    raise NotATimeError(f"“{text}” is not a time. Write it as 14:02.")
