"""Parts in the words of pages and print."""

from datetime import datetime, tzinfo
from decimal import Decimal
from typing import Any, Final

from command.line_parts import WHERE_IS, Moved
from command.needs import NEEDS
from command.parts import PARTS, Part
from command.plan import Record
from command.questions import UNKNOWN, Amount, Kind, Point, Question, questions_of
from command.site_parts import WeatherReport
from command.work_parts import Override

NOT_RECORDED: Final = "not recorded"
_COMPASS: Final = ("north", "north-east", "east", "south-east",
                   "south", "south-west", "west", "north-west")  # fmt: skip
# The way the air moves, drawn with north up.
_ARROWS: Final = ("↑", "↗", "→", "↘", "↓", "↙", "←", "↖")


def rows(says: Any, zone: tzinfo | None = None) -> list[tuple[str, str]]:
    """Every question of a part with its answer; what nobody said prints so."""
    return [
        (question.label, shown(getattr(says, name), question, zone) or NOT_RECORDED)
        for name, question in questions_of(type(says))
    ]


def said(says: Any, zone: tzinfo | None = None) -> list[tuple[str, str]]:
    """Only what was answered."""
    return [
        (question.label, words)
        for name, question in questions_of(type(says))
        if (words := shown(getattr(says, name), question, zone)) not in ("", UNKNOWN)
    ]


def shown(value: Any, question: Question, zone: tzinfo | None = None) -> str:
    """One answer in words; "" where there is none."""
    match value:
        case None | "" | ():
            return ""
        case Amount():
            return value.shown
        case Decimal():
            return f"{value:f}{question.unit}"
        case datetime():
            return moment_words(value, zone)
        case tuple():
            return "; ".join(_one(each) for each in value)
    if question.kind is Kind.CHOICE:
        return question.options[value]
    return str(value)


def _one(value: Any) -> str:
    if isinstance(value, Point):
        return f"{value.latitude:f}, {value.longitude:f}"
    return str(value)


def moment_words(moment: datetime, zone: tzinfo | None = None) -> str:
    return f"{moment.astimezone(zone) if zone else moment:%Y-%m-%d %H:%M}"


def title_of(record: Record, team_names: dict[str, str] | None = None) -> str:
    """Such as "Zones and distances, hot zone"."""
    part = PARTS[record.part]
    item = item_title(part, record.item, record.says, team_names or {})
    return f"{part.title}, {item}" if item else part.title


def item_title(
    part: Part, item: str, says: Any, team_names: dict[str, str] | None = None
) -> str:
    """What one item is called; "" for a part that is one."""
    if not part.many:
        return ""
    if part.items is not None:
        return part.items.get(item, item)
    if part.by_team:
        return (team_names or {}).get(item, item)
    if says is None:
        return "one item"
    first = next(name for name, _ in questions_of(part.shape))
    question = dict(questions_of(part.shape))[first]
    return shown(getattr(says, first), question)


def sentence(
    record: Record,
    zone: tzinfo | None = None,
    team_names: dict[str, str] | None = None,
) -> str:
    """One record as a line of the log."""
    names = team_names or {}
    head = title_of(record, names)
    if record.says is None:
        return f"{head}: taken out: {record.reason}"
    if isinstance(record.says, Override):
        return override_words(record.says, names)
    if isinstance(record.says, Moved):
        post = f", {record.says.post}" if record.says.post else ""
        return f"{', '.join(record.says.who)}: {WHERE_IS[record.says.where]}{post}"
    parts = [
        f"{label[0].lower()}{label[1:]}: {words}"
        for label, words in said(record.says, zone)
    ]
    body = "; ".join(parts) or "nothing said"
    tail = f" ({record.reason})" if record.reason else ""
    return f"{head}: {body}{tail}"


def override_words(says: Override, team_names: dict[str, str] | None = None) -> str:
    lacks = (NEEDS[key].title.lower() if key in NEEDS else key for key in says.lacks)
    team = (team_names or {}).get(says.team, says.team)
    return (
        f"{team} goes anyway, by {says.by}: {says.why}. Not ready: {', '.join(lacks)}"
    )


def compass(degrees: Decimal) -> str:
    """The nearest of eight points; 0 is north."""
    return _COMPASS[_eighth(degrees)]


def arrow(wind_from: Decimal) -> str:
    """The way the air moves, north up: a wind from 270° goes to the right."""
    return _ARROWS[_eighth(wind_from + 180)]


def _eighth(degrees: Decimal) -> int:
    return int((degrees % 360 + Decimal("22.5")) // 45) % 8


def wind_words(report: WeatherReport) -> str:
    """Such as "→ from west, 270°, 3 m/s"; "wind not known" where it is not."""
    direction = report.from_degrees
    if direction is None:
        return "wind not known"
    speed = f", {report.wind_speed.shown}" if report.wind_speed else ""
    return f"{arrow(direction)} from {compass(direction)}, {direction:f}°{speed}"
