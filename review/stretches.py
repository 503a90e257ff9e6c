"""Which part of a timeline is shown: kinds, teams, and a stretch of the time."""

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Final

from review.timeline import Group, Timeline
from screening.verdicts import Action

# Common practice, no source: what led to a Stop and what followed it lie so near.
AROUND: Final = timedelta(minutes=5)
SHORTEST: Final = timedelta(minutes=1)


def chosen(
    timeline: Timeline, groups: frozenset[Group], teams: frozenset[str]
) -> Timeline:
    """Only these kinds and teams; an empty choice takes all.

    What is of no team (a note, a Mayday) stays with every team.
    """
    return replace(
        timeline,
        teams=tuple(t for t in timeline.teams if not teams or t.key in teams),
        marks=tuple(
            mark
            for mark in timeline.marks
            if (not groups or mark.group in groups)
            and (not teams or not mark.team or mark.team in teams)
        ),
        asked=tuple(a for a in timeline.asked if not teams or a.team in teams),
    )


def window(timeline: Timeline, start: datetime, end: datetime) -> Timeline:
    """The stretch from `start` to `end`; what reaches over its edges is cut there.

    A late record is in it with either of its times.
    """

    def cut(since: datetime, until: datetime) -> tuple[datetime, datetime]:
        return max(since, start), min(until, end)

    teams = tuple(
        replace(
            team,
            bands=tuple(
                replace(band, since=max(band.since, start), until=min(band.until, end))
                for band in team.bands
                if band.since < end and band.until > start
            ),
            inside=tuple(
                cut(*stay) for stay in team.inside if stay[0] < end and stay[1] > start
            ),
        )
        for team in timeline.teams
    )
    marks = tuple(
        mark
        for mark in timeline.marks
        if start <= mark.at <= end
        or (mark.is_late and start <= mark.recorded_at <= end)
    )
    asked = tuple(
        one
        for one in timeline.asked
        if one.at <= end and max(one.at, one.heard_at or one.at) >= start
    )
    return replace(
        timeline, start=start, end=end, teams=teams, marks=marks, asked=asked
    )


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of the time, ready to be chosen."""

    label: str
    start: datetime
    end: datetime


def presets(timeline: Timeline) -> tuple[Stretch, ...]:
    """The whole, its first and last half hour, and what lies around each Stop or more."""
    half_hour = timedelta(minutes=30)
    found = [Stretch("All of it", timeline.start, timeline.end)]
    if timeline.end - timeline.start > half_hour:
        found.append(
            Stretch("First half hour", timeline.start, timeline.start + half_hour)
        )
        found.append(Stretch("Last half hour", timeline.end - half_hour, timeline.end))
    for team in timeline.teams:
        came = (
            later
            for earlier, later in pairwise((None, *team.bands))
            if later is not None
            and later.action >= Action.STOP
            and (earlier is None or earlier.action < later.action)
        )
        first = next(came, None)
        if first is not None:
            found.append(
                Stretch(
                    f"{team.name}: first {first.action.label}",
                    max(timeline.start, first.since - AROUND),
                    min(timeline.end, first.since + AROUND),
                )
            )
    return tuple(found)


def nearer(timeline: Timeline, start: datetime, end: datetime) -> tuple[Stretch, ...]:
    """Half of the stretch, twice it, and the ones before and after, within the whole."""
    length = end - start
    middle = start + length / 2
    half = max(length / 4, SHORTEST / 2)
    found = [Stretch("Closer", middle - half, middle + half)]
    if start > timeline.start or end < timeline.end:
        found += [
            Stretch("Further", middle - length, middle + length),
            Stretch("Earlier", start - length / 2, end - length / 2),
            Stretch("Later", start + length / 2, end + length / 2),
        ]
    return tuple(
        replace(
            one,
            start=max(one.start, timeline.start),
            end=min(one.end, timeline.end),
        )
        for one in found
        if one.start < timeline.end and one.end > timeline.start
    )
