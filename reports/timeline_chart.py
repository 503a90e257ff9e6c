"""One chart over an incident's time, drawn once for a page and for paper.

Lanes from the top: each team's verdict as it was shown with its time inside; papers;
signs; each channel of a meter against the limits in force; decisions; what was written;
notes of the critique. All share one time axis. Nothing is told by colour.
"""

from collections.abc import Sequence
from dataclasses import replace
from datetime import tzinfo
from decimal import Decimal
from enum import Enum
from typing import Final

from reports import text
from reports.data import Point
from reports.drawing import Drawing, Label, Plain, Shape, Stroke
from reports.figures import DASHES, seen_apart
from reports.scale import Axis, values
from reports.timeline_lanes import (
    SIDE,
    SMALL,
    Address,
    Paper,
    Pin,
    answers,
    late_line,
    linked,
    pins,
    sign_of,
    signs,
)
from reports.words import KIND_LABELS, number
from review.timeline import Channel, Group, Line, Mark, TeamLine, Timeline
from screening.verdicts import Action

PLOT: Final = 46.0  # the height of one channel
PAGE: Final = 540.0  # points: a page on its side has more, one upright a little less
PHONE: Final = 210.0


class Lanes(Enum):
    """Which lanes are drawn: on paper the two halves stand on a page each."""

    ALL = "all"
    SHOWN = "shown"  # all but the channels
    CHANNELS = "channels"


def timeline_chart(
    timeline: Timeline,
    zone: tzinfo,
    address: Address,
    *,
    notes: Sequence[Pin] = (),
    width: float = PAGE,
    lanes: Lanes = Lanes.ALL,
) -> Drawing:
    """The stretch of the timeline; `address` says where a mark leads."""
    paper = Paper(timeline, zone, width, address)
    paper.hours()
    if lanes is not Lanes.CHANNELS:
        for team in timeline.teams:
            _team(paper, team, timeline.of(Group.AIR))
        for kind in ("ph_paper", "ki_starch_paper", "fluoride_paper"):
            _row(paper, KIND_LABELS[kind], _of_kind(timeline, kind))
        _row(paper, "Signs and bump tests", timeline.of(Group.SIGNS))
    if lanes is not Lanes.SHOWN:
        for channel in timeline.channels:
            _channel(paper, channel)
    if lanes is not Lanes.CHANNELS:
        _what_people_did(paper, timeline, notes)
    paper.hours()
    title = "The incident over its time"
    if lanes is Lanes.CHANNELS:
        title += ": meters against their limits"
    return paper.finished(title, _in_words(timeline, zone))


def _what_people_did(paper: Paper, timeline: Timeline, notes: Sequence[Pin]) -> None:
    plain = [m for m in timeline.of(Group.METERS) if not m.figures]
    _row(paper, "Other readings of meters", plain)
    if timeline.asked:
        wide = "Stop and Withdraw, from being shown to being heard"
        paper.head(wide if paper.wide else "Stop, Withdraw: shown, heard")
        answers(paper, timeline)
    _row(paper, "Decisions", timeline.of(Group.DECISIONS))
    _row(paper, "Notes, plan, record", timeline.of(Group.WRITTEN))
    if notes:
        wide = "Looking back: S strength, I improvement, N note"
        paper.head(wide if paper.wide else "Looking back")
        pins(paper, sorted(notes, key=lambda note: note.at))


def _of_kind(timeline: Timeline, kind: str) -> tuple[Mark, ...]:
    return tuple(mark for mark in timeline.marks if mark.kind == kind)


def _row(paper: Paper, heading: str, marks: Sequence[Mark]) -> None:
    if marks:
        paper.head(heading)
        signs(paper, marks)


def _team(paper: Paper, team: TeamLine, air: Sequence[Mark]) -> None:
    """The verdict in its frame, then the time inside with gauges and roll calls on it."""
    about = ": the verdict as it was shown; inside, air, PAR" if paper.wide else ""
    paper.head(f"{team.name}{about}")
    for band in team.bands:
        paper.band(band)
    paper.y -= 18
    y = paper.y - 6
    for since, until in team.inside:
        line = ((paper.x(since), y), (paper.x(until), y))
        paper.shapes.append(Stroke(points=line, width=1.6, kind="inside"))
    mine = [mark for mark in air if mark.team == team.key]
    if mine or team.inside:
        signs(paper, mine)


def _channel(paper: Paper, channel: Channel) -> None:
    """One channel: its figures as signs on lines, its limits dashed with their names."""
    heading = f"{channel.title}, {channel.unit}" if channel.unit else channel.title
    paper.head(heading)
    figures = [float(f.value) for _, f in channel.points if f.value is not None]
    axis = values(figures, [float(line.limit.value) for line in channel.lines])
    plot = _Plot(paper, axis)
    paper.shapes += plot.frame()
    _limits(paper, plot, channel)
    drawn = _drawn(channel)
    for index, run in enumerate(channel.runs):
        points = tuple(
            plot.point(mark, figure.value) for mark, figure in run if mark.seq in drawn
        )
        if len(points) > 1:
            dash = DASHES[index % len(DASHES)]
            paper.shapes.append(Stroke(points=points, width=0.8, dash=dash, kind="run"))
    for mark, figure in channel.points:
        if mark.seq not in drawn:
            continue
        x, y = plot.point(mark, figure.value)
        shapes = [*late_line(paper, mark, y), *_figure_sign(mark, figure.action, x, y)]
        if figure.value is None:
            words = "over range"
            shapes.append(Label(x=x, y=y - 8, words=words, size=6, anchor="middle"))
        paper.shapes.append(linked(paper, mark, shapes, y))
    paper.y -= PLOT + 8


def _drawn(channel: Channel) -> frozenset[int]:
    """The records whose figures are drawn: no peak is left out, nor what came late or
    was put right. The table beneath has all of them."""
    points = [
        Point(at=mark.at, value=figure.value, action=figure.action)
        for mark, figure in channel.points
    ]
    kept = {channel.points[index][0].seq for index in seen_apart(points)}
    marks = (mark for mark, _ in channel.points)
    return frozenset(kept | {mark.seq for mark in marks if mark.is_late or mark.struck})


def _figure_sign(mark: Mark, action: Action, x: float, y: float) -> list[Plain]:
    """By what the record's findings say of this figure, not of the whole record."""
    return sign_of(replace(mark, action=action), x, y)


class _Plot:
    """Where a figure lies in the lane of its channel."""

    def __init__(self, paper: Paper, axis: Axis) -> None:
        self.paper, self.axis = paper, axis
        self.top, self.bottom = paper.y - 5.0, paper.y - 5.0 - (PLOT - 6.0)

    def y(self, value: float) -> float:
        return self.bottom + self.axis.share(value) * (self.top - self.bottom)

    def point(self, mark: Mark, value: Decimal | None) -> tuple[float, float]:
        """A figure over range lies at the top."""
        height = self.axis.high if value is None else float(value)
        return self.paper.x(mark.at), self.y(height)

    def frame(self) -> list[Shape]:
        left, right = self.paper.left, self.paper.right
        axes = ((left, self.top), (left, self.bottom), (right, self.bottom))
        shapes: list[Shape] = [Stroke(points=axes, width=0.5, kind="axis")]
        ends = (self.axis.marks[0], self.axis.marks[-1])
        for mark in dict.fromkeys(ends):
            y = self.y(mark)
            line = ((left - 3, y), (left, y))
            shapes.append(Stroke(points=line, width=0.4, kind="tick"))
            words = f"{mark:g}"
            shapes.append(Label(x=left - 5, y=y - 2.4, words=words, anchor="end"))
        return shapes


def _limits(paper: Paper, plot: _Plot, channel: Channel) -> None:
    above, lowest = [], plot.bottom - 8.0
    for line in sorted(channel.lines, key=lambda one: one.limit.value):
        value = float(line.limit.value)
        name = _name(line, channel)
        if value > plot.axis.high:
            above.append(name)
        elif value >= plot.axis.low:
            y = plot.y(value)
            ends = ((paper.x(line.since), y), (paper.x(line.until), y))
            paper.shapes.append(
                Stroke(points=ends, width=0.7, dash=(3.0, 2.0), kind="limit")
            )
            lowest = max(y, lowest + 7.5)
            paper.shapes.append(_label(paper, lowest if paper.wide else y, name))
    if above:
        words = text.fitted("Higher: " + "; ".join(above), paper.width / 2, SMALL)
        paper.shapes.append(
            Label(x=paper.width, y=paper.y + 2, words=words, size=SMALL, anchor="end")
        )


def _name(line: Line, channel: Channel) -> str:
    return f"{number(line.limit.value.normalize())} {channel.unit}: {line.limit.label}"


def _label(paper: Paper, y: float, name: str) -> Label:
    """Beside the chart where it is wide, else on the line itself."""
    if paper.wide:
        words = text.fitted(name, SIDE - 5, SMALL)
        return Label(x=paper.right + 5, y=y - 2.2, words=words, size=SMALL)
    words = text.fitted(name, paper.width / 2, SMALL)
    return Label(x=paper.right, y=y + 1.5, words=words, size=SMALL, anchor="end")


def _in_words(timeline: Timeline, zone: tzinfo) -> str:
    """What it shows, for who cannot see it; each record stands in the table beneath."""
    teams = [
        f"{team.name}: "
        + ", ".join(
            f"{band.action.label} from {band.since.astimezone(zone):%H:%M:%S}"
            for band in team.bands
        )
        for team in timeline.teams
        if team.bands
    ]
    late = sum(mark.is_late for mark in timeline.marks)
    struck = sum(bool(mark.struck) for mark in timeline.marks)
    counts = f"{len(timeline.marks)} records, {late} late, {struck} put right"
    return ". ".join([*teams, counts])
