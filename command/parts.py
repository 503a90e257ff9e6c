"""The parts of the plan: what is asked in each, and the table of them.

Adding a part: a dataclass of questions in `site_parts` or `work_parts`, a row in `PARTS`; its reader, its form and
its printed rows follow. What it must fit to goes into `command.following`, what it is
needed for into `command.site_lacks` or `team_lacks`.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

from command.call_parts import NotificationCall, called
from command.line_parts import (
    DeconCheck,
    ExposureNote,
    Moved,
    Notice,
    ThroughDecon,
    Volunteer,
    decon_checked,
)
from command.site_parts import (
    ZONES,
    Site,
    SizeUp,
    SuspectedSubstance,
    WeatherReport,
    ZoneLine,
    ZonesChecked,
)
from command.work_parts import (
    BENCHMARKS,
    Benchmark,
    Briefing,
    CheckIn,
    CommandTaken,
    Communications,
    DeconSetup,
    Emergency,
    Handing,
    MedicalPlan,
    Objective,
    OperatingMode,
    Override,
    Period,
    Position,
    Signature,
    TaskHazard,
    TeamPlan,
)
from screening.worksheet.fields import (
    Fields,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One row of the table.

    `many`: a record says one item of several, and counts beside the others. `kept`: all
    of its records count, each from its own time on. `guarded`: a record must say which
    one it follows, so that nobody writes over what they have not seen.
    """

    key: str
    title: str
    shape: type
    many: bool = False
    kept: bool = False
    guarded: bool = True
    offered: bool = True  # has a form of its own
    items: Mapping[str, str] | None = None  # the items there can be, where fixed
    by_team: bool = False  # its items are the ids of teams
    begins: bool = True  # with its first record there is a plan to be held against
    check: Callable[[Any, Fields], None] | None = None


def _zone(says: ZoneLine, fields: Fields) -> None:
    if says.distance is None and not says.runs:
        fields.wrong("runs", "a distance, or where the line runs")
    if says.basis == "guide" and not says.edition:
        fields.wrong("edition", "the guide and its edition")
    if says.basis == "guide" and not says.page:
        fields.wrong("page", "the page or the number of the guide")
    if 0 < len(says.corners) < 3:
        fields.wrong("corners", "at least three corners, or none")


def _weather(says: WeatherReport, fields: Fields) -> None:
    if says.wind_from is None or says.wind_towards is None:
        return
    if (says.wind_from - says.wind_towards - 180) % 360:
        fields.wrong("wind_towards", "the opposite of where the wind comes from")


def _taken(says: CommandTaken, fields: Fields) -> None:
    if says.takes_over_from and says.face_to_face == "":
        fields.wrong("face_to_face", "whether the transfer was face to face")


def _position(says: Position, fields: Fields) -> None:
    if says.since and says.until and says.until < says.since:
        fields.wrong("until", "a time after its beginning")


def _checked_in(says: CheckIn, fields: Fields) -> None:
    # 29 CFR 1910.120(q)(4): a briefing before they take part.
    inside = says.where in ("warm", "hot")
    if says.skilled_support == "yes" and inside and not is_briefed(says):
        fields.wrong(
            "briefed_at", "when and by whom they were briefed, before the warm zone"
        )


def is_briefed(says: CheckIn) -> bool:
    return says.briefed_at is not None and bool(says.briefed_by)


def _signature(says: Signature, fields: Fields) -> None:
    if says.agrees == "no" and not says.dissent:
        fields.wrong("dissent", "why the plan is not signed")


PARTS: Final[Mapping[str, Part]] = MappingProxyType(
    {
        part.key: part
        for part in (
            Part(key="size_up", title="Size-up", shape=SizeUp),
            Part(key="period", title="Operational period", shape=Period),
            Part(
                key="substances",
                title="Substances",
                shape=SuspectedSubstance,
                many=True,
            ),
            Part(key="site", title="Site", shape=Site),
            Part(
                key="zones",
                title="Zones and distances",
                shape=ZoneLine,
                many=True,
                items=ZONES,
                check=_zone,
            ),
            Part(
                key="zones_checked",
                title="Zones looked at again",
                shape=ZonesChecked,
                kept=True,
                guarded=False,
            ),
            Part(
                key="weather",
                title="Weather",
                shape=WeatherReport,
                kept=True,
                guarded=False,
                check=_weather,
            ),
            Part(key="mode", title="Operating mode", shape=OperatingMode, kept=True),
            Part(
                key="command",
                title="Command",
                shape=CommandTaken,
                kept=True,
                check=_taken,
            ),
            Part(
                key="positions",
                title="Positions",
                shape=Position,
                many=True,
                check=_position,
            ),
            Part(
                key="check_in",
                title="Check-in",
                shape=CheckIn,
                many=True,
                check=_checked_in,
            ),
            Part(key="objectives", title="Objectives", shape=Objective, many=True),
            Part(
                key="hazards",
                title="Hazards by task",
                shape=TaskHazard,
                many=True,
            ),
            Part(
                key="benchmarks",
                title="Benchmarks",
                shape=Benchmark,
                many=True,
                items=BENCHMARKS,
            ),
            Part(
                key="teams",
                title="Teams: task, channel, dress",
                shape=TeamPlan,
                many=True,
                by_team=True,
            ),
            Part(key="decon", title="Decon", shape=DeconSetup),
            Part(key="medical", title="Medical plan", shape=MedicalPlan),
            Part(key="communications", title="Communications", shape=Communications),
            Part(key="emergency", title="Emergency procedures", shape=Emergency),
            Part(key="briefing", title="Entry briefing", shape=Briefing, many=True),
            Part(
                key="signatures",
                title="Signatures",
                shape=Signature,
                many=True,
                check=_signature,
            ),
            Part(
                key="override",
                title="Go anyway, and why",
                shape=Override,
                kept=True,
                guarded=False,
                offered=False,
            ),
            Part(
                key="calls",
                title="Notification calls",
                shape=NotificationCall,
                many=True,
                begins=False,
                check=called,
            ),
            Part(key="handing_over", title="Handing the site over", shape=Handing),
            *(
                Part(
                    key=key,
                    title=title,
                    shape=shape,
                    kept=True,
                    guarded=False,
                    offered=False,
                    begins=False,
                    check=check,
                )
                for key, title, shape, check in (
                    ("whereabouts", "Who is where", Moved, None),
                    ("decon_line", "Through decon", ThroughDecon, None),
                    ("decon_check", "Checked after decon", DeconCheck, decon_checked),
                    ("exposure_note", "Exposure noted", ExposureNote, None),
                    ("notice", "Notice given", Notice, None),
                    ("volunteer", "Volunteers above 25 rem", Volunteer, None),
                )
            ),
        )
    }
)
