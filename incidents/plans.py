"""The commander's plan as the log holds it, and the scene it is held against.

A record of the plan never changes, so each is read once and remembered by its hash. One
that cannot be read any more is kept, named, and never counts as something being ready.
"""

import logging
from collections import OrderedDict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta, tzinfo
from functools import lru_cache
from typing import Final
from uuid import UUID
from zoneinfo import ZoneInfo

from command import words
from command.documents import read_body
from command.plan import Plan, Record, fold
from command.scene import Crew, Scene, WeatherRules
from command.site_safety_plan import Paper, Tool, missing
from incidents.documents import loads
from incidents.house_rules import value_of
from incidents.models import EntryTeam, Incident, LogEntry
from incidents.models.log import PLAN
from screening.incident import Context
from screening.instruments import tested_on_the_day
from screening.state import State
from screening.verdicts import Hazard
from screening.worksheet import WorksheetErrors

log = logging.getLogger(__name__)

MOST_REMEMBERED: Final = 20_000
_COLUMNS: Final = ("seq", "hash", "body", "observed_at", "author_name")
_remembered: OrderedDict[str, Record] = OrderedDict()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    seq: int
    hash: str
    body: str
    observed_at: datetime
    author_name: str


def plan_of(incident: Incident, upto: int | None = None) -> Plan:
    """The plan after entry `upto`, or as it stands now. One query."""
    rows = incident.entries.filter(kind=PLAN).order_by("seq")
    if upto is not None:
        rows = rows.filter(seq__lte=upto)
    return _folded(_Row(**each) for each in rows.values(*_COLUMNS))


def plan_from(rows: Iterable[LogEntry]) -> Plan:
    """The plan of records that were fetched already, in the order of the log."""
    return _folded(row for row in rows if row.kind == PLAN)


def _folded(rows: Iterable[_Row | LogEntry]) -> Plan:
    records, unreadable = [], []
    for row in rows:
        try:
            records.append(record_of(row))
        except (WorksheetErrors, ValueError, KeyError, TypeError):
            log.exception("Record %s of the plan was not read", row.seq)
            unreadable.append(row.seq)
    return fold(records, unreadable)


def record_of(row: _Row | LogEntry) -> Record:
    """Raises `WorksheetErrors` where the stored body is not one of a plan."""
    known = _remembered.get(row.hash)
    if known is not None:
        return known
    body = read_body(loads(row.body))
    record = Record(
        part=body.part.key,
        item=body.item,
        says=body.says,
        seq=row.seq,
        at=row.observed_at,
        author=row.author_name,
        reason=body.reason,
        based_on=body.based_on,
    )
    _remembered[row.hash] = record
    while len(_remembered) > MOST_REMEMBERED:
        _remembered.popitem(last=False)
    return record


def words_of_row(
    row: LogEntry, names: Mapping[str, str] | None = None, zone: tzinfo | None = None
) -> str:
    """The record as a line of the log; one that cannot be read says so."""
    try:
        return words.sentence(record_of(row), zone, dict(names or {}))
    except (WorksheetErrors, ValueError, KeyError, TypeError):
        return "a record that cannot be read"


# --- The scene ------------------------------------------------------------------------


Names = Mapping[str, tuple[str, tuple[str, ...]]]  # team: its name, its members


@dataclass(frozen=True, slots=True, kw_only=True)
class Around:
    """What of an incident bears on every moment of its plan, beside its records."""

    names: Names = field(default_factory=dict)
    rules: WeatherRules = WeatherRules()
    zone: tzinfo = UTC  # the crew's: their day is the day of a bump test


def around(incident: Incident) -> Around:
    """The same for every scene of the incident. May read its version of the SOP."""
    return Around(
        names=names_of(incident.pk, incident.setup),
        rules=_weather_rules(incident),
        zone=ZoneInfo(incident.agency.time_zone),
    )


def scene_of(
    about: Around, plan: Plan, context: Context, state: State, at: datetime
) -> Scene:
    """What the plan is held against at a moment: the one way to look at it, for the
    sheet, the plan's own pages and the report."""
    names = about.names
    return Scene(
        plan=plan,
        at=at,
        crews=tuple(
            Crew(
                id=team.id,
                name=names.get(team.id, (team.id, ()))[0],
                role=context.teams[team.id].role,
                ensemble=team.ensemble,
                members=names.get(team.id, ("", ()))[1],
                inside=team.inside,
                inside_since=team.inside_since,
                own={
                    context.name_of(team.id, member): worn
                    for member, worn in team.own_ensembles.items()
                },
            )
            for team in (state.core.teams[key] for key in context.teams)
        ),
        suspects=context.suspects,
        fluoride_found=any(
            stand.found.hazard in (Hazard.FLUORIDE_VAPOUR, Hazard.FLUORIDE_LIQUID)
            for stand in state.core.standing()
        ),
        untested=tuple(_untested(context, state, at.astimezone(about.zone))),
        weather_rules=about.rules,
    )


def _weather_rules(incident: Incident) -> WeatherRules:
    """As the incident's own version of the SOP has them. May read that version."""
    age = value_of(incident.sop, "weather_age")
    shift = value_of(incident.sop, "wind_shift")
    usual = WeatherRules()
    return WeatherRules(
        counts_for=usual.counts_for if age is None else timedelta(seconds=float(age)),
        shift_degrees=usual.shift_degrees if shift is None else shift,
    )


@lru_cache(maxsize=64)
def names_of(incident: UUID, setup: str) -> Names:
    """Each team's name and the names of its members; they change with the set-up."""
    del setup  # the key to the cache
    rows = EntryTeam.objects.filter(incident=incident).prefetch_related("members")
    return {
        row.key: (row.name, tuple(member.name for member in row.members.all()))
        for row in rows
    }


def _untested(context: Context, state: State, at: datetime) -> Iterable[str]:
    """The meters without a bump test of the day; `at` is in the crew's zone."""
    for key, item in context.instruments.items():
        if item.kind == "gas_meter" and not tested_on_the_day(state.core, key, at):
            yield key


def paper_of(incident: Incident, scene: Scene, context: Context, state: State) -> Paper:
    """What the printed plan is filled from. One query, for the names of instruments."""
    zone = ZoneInfo(incident.agency.time_zone)
    labels = dict(incident.agency.instruments.values_list("key", "label"))
    tools = []
    for key, item in context.instruments.items():
        known = state.core.instruments.get(key)
        passed = None if known is None or known.failed else known.passed
        fitness = "no bump test recorded"
        if known is not None and known.failed:
            fitness = "failed its bump test"
        elif passed is not None:
            fitness = f"bump test passed {words.moment_words(passed, zone)}"
        tools.append(
            Tool(
                name=labels.get(key, key),
                kind=item.kind,
                sensors=item.sensors,
                fitness=fitness if item.kind == "gas_meter" else "",
            )
        )
    return Paper(
        incident=incident.name,
        location=incident.location,
        scene=scene,
        tools=tuple(tools),
        zone=zone,
    )


def looked_through(incident: Incident, paper: Paper) -> Scene:
    """The scene with what only the form and the log show: blocks, the first entry."""
    entered = incident.entries.filter(kind="enter").order_by("observed_at")
    return replace(
        paper.scene,
        missing_blocks=tuple(block.name for block in missing(paper)),
        first_entry=entered.values_list("observed_at", flat=True).first(),
    )
