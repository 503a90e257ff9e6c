"""An incident over its time: which verdict was shown when, who was inside, which limits."""

from collections import OrderedDict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from incidents import engine, judging
from incidents.models import Incident, LogEntry
from incidents.models.log import (
    AMENDMENT,
    CLOSING,
    MAYDAY,
    MAYDAY_OVER,
    OPENING,
    ORDER,
    PLAN,
    REOPENING,
    UNDONE,
)
from incidents.moments import ended_at
from incidents.then import beside_of, incident_after, is_imported, rows_of
from review.timeline import Edition, TeamLine, bands
from screening.stays import stays
from screening.trust import standing_log
from screening.verdicts import Action

# Between two records time alone changes a verdict: it is asked each minute while somebody
# is inside, and more seldom where an incident goes on for days.
EVERY: Final = timedelta(minutes=1)
MOST_SAMPLES: Final = 600
KEPT: Final = 16
# What changes the incident's own row, and what people write beside readings.
_ROW: Final = frozenset({OPENING, AMENDMENT, CLOSING, REOPENING})
_BESIDE: Final = frozenset({PLAN, ORDER, MAYDAY, MAYDAY_OVER, UNDONE})
Samples = Mapping[str, Sequence[tuple[datetime, Action]]]

_sampled: OrderedDict[tuple[object, ...], Samples] = OrderedDict()


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """From the first moment of an incident to its closing, or to now."""

    start: datetime
    end: datetime


def span_of(incident: Incident, rows: Sequence[LogEntry], now: datetime) -> Span:
    start = min(incident.opened_at, *(row.observed_at for row in rows))
    end = ended_at(incident) or now
    return Span(start=start, end=max(end, start + EVERY))


def team_lines(
    incident: Incident, rows: Sequence[LogEntry], span: Span
) -> tuple[TeamLine, ...]:
    """Each team's verdict as it was shown, and its time inside. A query or two."""
    now = engine.live(incident)
    names = dict(incident.teams.values_list("key", "name"))
    inside = stays(standing_log(now.state), now.context)
    shown = verdicts_shown(incident, rows, span)
    return tuple(
        TeamLine(
            key=key,
            name=names.get(key, key),
            bands=bands(shown.get(key, ()), span.end),
            inside=tuple((s.since, s.until or span.end) for s in inside[key]),
        )
        for key in now.context.teams
    )


def editions(rows: Sequence[LogEntry]) -> tuple[Edition, ...]:
    """The limits that the log names, each from the record that brought it on."""
    found: list[Edition] = []
    for number, row in enumerate(rows):
        if row.kind not in (OPENING, AMENDMENT):
            continue
        there = rows[: number + 1]
        profile = engine.start(there).context.profile
        name = f"{profile.name}, version {profile.version}"
        if not found or found[-1].profile != profile:
            found.append(Edition(since=row.recorded_at, name=name, profile=profile))
    return tuple(found)


def verdicts_shown(incident: Incident, rows: Sequence[LogEntry], span: Span) -> Samples:
    """Every team's verdict at each record and, with somebody inside, each minute.

    By what was known then. Kept in the process under the hash of the log's head; of an
    incident that goes on, for a minute.
    """
    key = (incident.pk, rows[-1].hash, span.end.replace(second=0, microsecond=0))
    if key not in _sampled:
        found: dict[str, list[tuple[datetime, Action]]] = {}
        for at, actions in _samples(incident, rows, span):
            for team, action in actions.items():
                found.setdefault(team, []).append((at, action))
        _sampled[key] = found
        while len(_sampled) > KEPT:
            _sampled.popitem(last=False)
    return _sampled[key]


def _samples(
    incident: Incident, rows: Sequence[LogEntry], span: Span
) -> Iterator[tuple[datetime, Mapping[str, Action]]]:
    imported = is_imported(incident)
    ordered = sorted(rows, key=_by_time) if imported else rows
    moments = [row.observed_at if imported else row.recorded_at for row in ordered]
    step = max(EVERY, (span.end - span.start) / MOST_SAMPLES)
    past, beside = incident, beside_of(())
    for number, (row, now) in enumerate(engine.walk(ordered)):
        there = ordered[: number + 1]
        if row.kind in _ROW:
            past = incident_after(incident, there)
        if row.kind in _BESIDE:
            beside = beside_of(there)
        until = moments[number + 1] if number + 1 < len(moments) else span.end
        at = moments[number]
        if at > span.end:
            return
        view = judging.judge(past, now, at, beside)
        yield at, {team.id: team.action for team in view.teams}
        while (at := at + step) < min(until, span.end):
            if past.is_closed or not any(team.clocks.inside for team in view.teams):
                break
            view = judging.judge(past, now, at, beside)
            yield at, {team.id: team.action for team in view.teams}


def _by_time(row: LogEntry) -> tuple[bool, datetime, str]:
    return (row.kind != OPENING, row.observed_at, row.key)


__all__ = [
    "Span",
    "editions",
    "is_imported",
    "rows_of",
    "span_of",
    "team_lines",
    "verdicts_shown",
]
