"""The charts: each meter against its limits, and how each team's verdict went.

One drawing for the page (`reports.drawing.svg`) and for the PDF
(`reports.drawing.flowable`). It must be read in black and white, and no peak may be lost:
where there are more points than can be seen apart, the highest, the lowest and the
strictest of each stretch are kept.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta, tzinfo
from decimal import Decimal
from typing import Final

from reports import fonts, text
from reports.data import MeterSeries, Point, Run, VerdictChanges
from reports.drawing import Drawing, Label, Plain, Ring, Shape, Stroke, lifted
from reports.scale import Axis, Span, times, values
from reports.words import number
from screening.verdicts import Action

Box = tuple[tuple[float, float], ...]

PLOT_LEFT: Final = 34.0
PLOT_RIGHT: Final = 120.0  # room for the names of the limits
CHART_HEIGHT: Final = 112.0
LANE: Final = 24.0
DASHES: Final = ((), (5.0, 2.0), (1.5, 2.0), (7.0, 2.0, 1.5, 2.0))
POINTS_SEEN_APART: Final = 240


def span_of(
    series: Sequence[MeterSeries], verdicts: Sequence[VerdictChanges], end: datetime
) -> Span | None:
    """The stretch of time that all charts of one report share; None without any."""
    moments = [p.at for one in series for run in one.runs for p in run.points]
    moments += [at for team in verdicts for at, _ in team.changes]
    if not moments:
        return None
    first, last = min(moments), max(*moments, end)
    return Span(first, max(last, first + timedelta(minutes=1)))


def meter_chart(
    series: MeterSeries, span: Span, zone: tzinfo, width: float = 499.0
) -> Drawing:
    """One channel over time, its limits as dashed lines with their names."""
    plot = _Plot(series, span, width)
    shapes: list[Shape] = [
        Label(x=0, y=CHART_HEIGHT - 8, words=plot.heading, size=8.5, bold=True)
    ]
    shapes += _frame(plot, zone)
    shapes += _limits(plot)
    for index, run in enumerate(series.runs):
        shapes += _run(plot, run, index)
    key = _key(series.runs, width)
    lift = 11.0 * (1 + max((row for row, *_ in key), default=-1))
    shapes = [lifted(shape, lift) for shape in shapes]
    for row, x, index, words in key:
        y = lift - 11.0 * (row + 1) + 3
        dash = DASHES[index % len(DASHES)]
        shapes.append(Stroke(points=((x, y + 2.4), (x + 18, y + 2.4)), dash=dash))
        shapes.append(Label(x=x + 22, y=y, words=words))
    return Drawing(
        width=width,
        height=CHART_HEIGHT + lift,
        shapes=tuple(shapes),
        title=plot.heading,
        description=_in_words(series, zone),
    )


class _Plot:
    """Where a moment and a figure lie on the chart."""

    def __init__(self, series: MeterSeries, span: Span, width: float) -> None:
        points = [p for run in series.runs for p in run.points]
        figures = [float(p.value) for p in points if p.value is not None]
        marks = [float(limit.value) for limit in series.limits]
        self.series = series
        self.heading = f"{series.title}, {series.unit}" if series.unit else series.title
        self.span = span
        self.left, self.right = PLOT_LEFT, width - PLOT_RIGHT
        self.bottom, self.top = 18.0, CHART_HEIGHT - 18.0
        self.axis: Axis = values(figures, marks)

    def x(self, at: datetime) -> float:
        return self.left + self.span.share(at) * (self.right - self.left)

    def y(self, value: float) -> float:
        return self.bottom + self.axis.share(value) * (self.top - self.bottom)


def _frame(plot: _Plot, zone: tzinfo) -> list[Shape]:
    shapes: list[Shape] = []
    for mark in plot.axis.marks:
        y = plot.y(mark)
        shapes.append(
            Stroke(points=((plot.left - 3, y), (plot.left, y)), width=0.4, kind="tick")
        )
        shapes.append(
            Label(x=plot.left - 5, y=y - 2.4, words=f"{mark:g}", anchor="end")
        )
    shapes += _time_marks(plot, zone)
    corner = (plot.left, plot.bottom)
    axes = ((plot.left, plot.top), corner, (plot.right, plot.bottom))
    shapes.append(Stroke(points=axes, width=0.5, kind="axis"))
    return shapes


def _time_marks(plot: "_Plot | _Lanes", zone: tzinfo) -> list[Shape]:
    shapes: list[Shape] = []
    for moment in times(plot.span, zone):
        x = plot.x(moment)
        line = ((x, plot.bottom), (x, plot.bottom - 3))
        shapes.append(Stroke(points=line, width=0.4, kind="tick"))
        words = f"{moment.astimezone(zone):%H:%M}"
        shapes.append(Label(x=x, y=plot.bottom - 11, words=words, anchor="middle"))
    return shapes


def _limits(plot: _Plot) -> list[Shape]:
    shapes: list[Shape] = []
    taken: list[float] = []
    above: list[str] = []
    for limit in sorted(plot.series.limits, key=lambda one: one.value):
        name = f"{_short(limit.value)} {plot.series.unit}: {limit.label}"
        if float(limit.value) > plot.axis.high:
            above.append(name)
            continue
        if float(limit.value) < plot.axis.low:
            continue
        y = plot.y(float(limit.value))
        line = ((plot.left, y), (plot.right, y))
        shapes.append(Stroke(points=line, width=0.7, dash=(3.0, 2.0), kind="limit"))
        lowest = taken[-1] + 8.0 if taken else y
        taken.append(max(y, lowest))
        shapes.append(_limit_label(plot, taken[-1] - 2.2, name))
    if above:
        words = text.fitted("Above this chart: " + "; ".join(above), 290, 6.5)
        x, y = plot.right + PLOT_RIGHT, CHART_HEIGHT - 8
        shapes.append(Label(x=x, y=y, words=words, size=6.5, anchor="end"))
    return shapes


def _short(value: Decimal) -> str:
    """Without the zeros that a change of unit left behind."""
    return number(value.normalize())


def _limit_label(plot: _Plot, y: float, name: str) -> Label:
    words = text.fitted(name, PLOT_RIGHT - 5, 6.5)
    return Label(x=plot.right + 5, y=y, words=words, size=6.5)


def _run(plot: _Plot, run: Run, index: int) -> list[Shape]:
    shapes: list[Shape] = []
    points = thinned(run.points)
    line = [(plot.x(p.at), plot.y(_height(plot, p))) for p in points]
    if len(line) > 1:
        dash = DASHES[index % len(DASHES)]
        shapes.append(Stroke(points=tuple(line), width=0.8, dash=dash, kind="run"))
    for point, (x, y) in zip(points, line, strict=True):
        shapes += marker(point.action, x, y)
        if point.value is None:
            shapes.append(
                Label(x=x, y=y + 5, words="over range", size=6, anchor="middle")
            )
    return shapes


def _height(plot: _Plot, point: Point) -> float:
    return plot.axis.high if point.value is None else float(point.value)


def marker(action: Action, x: float, y: float) -> list[Plain]:
    """The sign of a point: ring, hollow triangle, solid square, solid arrow to the left."""
    if action is Action.CONTINUE:
        return [Ring(x=x, y=y, radius=1.7, width=0.7)]
    if action is Action.CAUTION:
        corners = ((x - 2.9, y - 2.2), (x, y + 3.1), (x + 2.9, y - 2.2))
        return [Stroke(points=corners, width=0.8, closed=True, kind="point")]
    if action is Action.STOP:
        r = 2.2
        solid: Box = ((x - r, y - r), (x - r, y + r), (x + r, y + r), (x + r, y - r))
    else:
        solid = ((x - 4.2, y), (x + 2.4, y + 3.4), (x + 2.4, y - 3.4))
    return [Stroke(points=solid, width=0.6, closed=True, filled=True, kind="point")]


def thinned(points: Sequence[Point]) -> tuple[Point, ...]:
    """At most a few points for each stretch: its ends, extremes and strictest verdicts."""
    return tuple(points[index] for index in seen_apart(points))


def seen_apart(points: Sequence[Point]) -> tuple[int, ...]:
    """Which of the points are drawn; all of them where they can be seen apart."""
    if len(points) <= POINTS_SEEN_APART:
        return tuple(range(len(points)))
    size = -(-len(points) // (POINTS_SEEN_APART // 4))
    kept: list[int] = []
    for start in range(0, len(points), size):
        part = list(enumerate(points[start : start + size]))
        measured = [one for one in part if one[1].value is not None]
        chosen = {0, len(part) - 1}
        chosen.add(max(part, key=lambda one: one[1].action)[0])
        if measured:
            chosen.add(max(measured, key=lambda one: one[1].value or 0)[0])
            chosen.add(min(measured, key=lambda one: one[1].value or 0)[0])
        chosen |= {index for index, point in part if point.value is None}
        kept += [start + index for index in sorted(chosen)]
    return tuple(kept)


def _key(runs: Sequence[Run], width: float) -> list[tuple[int, float, int, str]]:
    """Where each run's name goes under the chart: row, left edge, its index, words."""
    places = []
    row, x = 0, PLOT_LEFT
    for index, run in enumerate(runs):
        words = text.fitted(run.label, width - PLOT_LEFT - 22, 7)
        room = 22 + text.width_of(words, 7) + 16
        if x > PLOT_LEFT and x + room > width:
            row, x = row + 1, PLOT_LEFT
        places.append((row, x, index, words))
        x += room
    return places


def _in_words(series: MeterSeries, zone: tzinfo) -> str:
    return ". ".join(_run_in_words(run, series.unit, zone) for run in series.runs)


def _run_in_words(run: Run, unit: str, zone: tzinfo) -> str:
    count = len(run.points)
    words = f"{run.label}: {count} reading" + "s" * (count != 1)
    measured = [(p.value, p.at) for p in run.points if p.value is not None]
    if measured:
        low = min(measured, key=lambda one: one[0])
        high = max(measured, key=lambda one: one[0])
        for name, (value, at) in (("lowest", low), ("highest", high)):
            words += f", {name} {number(value)} {unit} at {at.astimezone(zone):%H:%M}"
    over = count - len(measured)
    return words + (f", {over} over range" if over else "")


def verdict_chart(
    verdicts: Sequence[VerdictChanges],
    span: Span,
    zone: tzinfo,
    width: float = 499.0,
) -> Drawing:
    """A lane for each team, on the time axis of the meters: the word in its frame."""
    lanes = _Lanes(len(verdicts), span, width)
    title = "Verdicts over time"
    shapes: list[Shape] = [
        Label(x=0, y=lanes.height - 8, words=title, size=8.5, bold=True)
    ]
    shapes += _time_marks(lanes, zone)
    axis = ((lanes.left, lanes.bottom), (lanes.right, lanes.bottom))
    shapes.append(Stroke(points=axis, width=0.5, kind="axis"))
    for index, team in enumerate(verdicts):
        middle = lanes.bottom + LANE * (len(verdicts) - index) - LANE / 2 + 1
        words = text.fitted(team.team, PLOT_RIGHT - 5, 7)
        shapes.append(Label(x=lanes.right + 5, y=middle - 2.5, words=words))
        ends = [*(at for at, _ in team.changes[1:]), span.end]
        for (at, action), end in zip(team.changes, ends, strict=True):
            shapes += stretch(action, lanes.x(at), lanes.x(end), middle)
    return Drawing(
        width=width,
        height=lanes.height,
        shapes=tuple(shapes),
        title=title,
        description=_changes_in_words(verdicts, zone),
    )


class _Lanes:
    """The plot of the verdicts, its time axis right under that of the meters."""

    def __init__(self, count: int, span: Span, width: float) -> None:
        self.span = span
        self.left, self.right = PLOT_LEFT, width - PLOT_RIGHT
        self.bottom = 18.0
        self.height = self.bottom + count * LANE + 18

    def x(self, at: datetime) -> float:
        return self.left + self.span.share(at) * (self.right - self.left)


def stretch(action: Action, left: float, right: float, y: float) -> list[Shape]:
    """A verdict from one moment to another, in the frame that goes with its word."""
    half = 7.5
    inner = _box(left + 2, right - 2, y, half - 2)
    shapes: list[Shape] = []
    if action is Action.CONTINUE:
        for edge in (y - half, y + half):
            shapes.append(Stroke(points=((left, edge), (right, edge)), width=0.6))
    elif action is Action.CAUTION:
        frame = _box(left, right, y, half)
        shapes.append(Stroke(points=frame, width=0.8, dash=(2.5, 1.5)))
    else:
        frame = _box(left, right, y, half)
        shapes.append(Stroke(points=frame, width=1.4))
        if action is Action.WITHDRAW and right - left > 5:
            shapes.append(Stroke(points=inner, width=0.8))
    bold = action >= Action.STOP
    room = text.width_of(action.label, 7, fonts.BOLD if bold else fonts.REGULAR) + 8
    if right - left >= room:
        middle = (left + right) / 2
        shapes.append(
            Label(x=middle, y=y - 2.5, words=action.label, anchor="middle", bold=bold)
        )
    return shapes


def _box(left: float, right: float, y: float, half: float) -> Box:
    low, high = y - half, y + half
    return ((left, low), (left, high), (right, high), (right, low), (left, low))


def _changes_in_words(verdicts: Sequence[VerdictChanges], zone: tzinfo) -> str:
    return ". ".join(
        f"{team.team}: "
        + ", ".join(
            f"{action.label} from {at.astimezone(zone):%H:%M}"
            for at, action in team.changes
        )
        for team in verdicts
    )
