"""How the cases of several groups lie on one axis of time, drawn like the other charts.

Ten cases or more: a line from the lowest to the highest tenth, a box over the middle
half, the median across it. Fewer: each case a ring. The axis is logarithmic, as times of
an incident run from seconds to hours; what lies outside it is drawn at its edge.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import log10
from typing import Final

from reports import text
from reports.drawing import Drawing, Label, Ring, Shape, Stroke

WIDTH: Final = 320.0
EDGE: Final = 14.0  # at both sides, so that the outer marks stay on the drawing
ROW: Final = 31.0
FOOT: Final = 18.0
HALF: Final = 5.0
SIZE: Final = 9.0
# Seconds, with how a mark says them.
_MARKS: Final = (
    (1.0, "1 s"), (10.0, "10 s"), (60.0, "1 min"), (600.0, "10 min"), (3600.0, "1 h"),
    (36_000.0, "10 h"),
)  # fmt: skip
LOW: Final = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Cases:
    """One row: its name, and either five quantiles or the single cases; seconds."""

    name: str
    n: int
    missing: int = 0
    # At 10, 25, 50, 75 and 90 % of the cases.
    quantiles: tuple[float, float, float, float, float] | None = None
    single: tuple[float, ...] = ()

    @property
    def lowest(self) -> float:
        return min((*(self.quantiles or ()), *self.single), default=0.0)

    @property
    def highest(self) -> float:
        return max((*(self.quantiles or ()), *self.single), default=0.0)


def spread_chart(title: str, rows: Sequence[Cases], width: float = WIDTH) -> Drawing:
    """The rows from the top down, each under its name and its number of cases.

    The title is for those who cannot see it: the page has it above.
    """
    height = ROW * len(rows) + FOOT
    axis = _Axis(rows, width)
    shapes: list[Shape] = [
        Stroke(points=((axis.left, FOOT), (axis.right, FOOT)), width=0.5, kind="axis")
    ]
    for seconds, words in axis.marks:
        x = axis.x(seconds)
        shapes.append(Stroke(points=((x, FOOT), (x, FOOT - 3)), width=0.4, kind="tick"))
        shapes.append(
            Label(x=x, y=FOOT - 12, words=words, size=SIZE - 1, anchor="middle")
        )
    for index, row in enumerate(rows):
        shapes += _row(row, axis, height - ROW * index, width)
    return Drawing(
        width=width,
        height=height,
        shapes=tuple(shapes),
        title=title,
        description=". ".join(_in_words(row) for row in rows),
    )


class _Axis:
    """Where a time lies from left to right: from the mark below all to that above."""

    def __init__(self, rows: Sequence[Cases], width: float) -> None:
        self.left, self.right = EDGE, width - EDGE
        lowest = min((row.lowest for row in rows if row.n), default=LOW)
        highest = max((row.highest for row in rows), default=0.0)
        every = [mark for mark, _ in _MARKS]
        first = max((i for i, mark in enumerate(every) if mark <= lowest), default=0)
        last = next((i for i, m in enumerate(every) if m >= highest), len(every) - 1)
        first, last = min(first, len(every) - 2), max(last, first + 1)
        self.marks = _MARKS[first : last + 1]
        self.low, self.high = self.marks[0][0], self.marks[-1][0]

    def x(self, seconds: float) -> float:
        held = min(max(seconds, self.low), self.high)
        share = log10(held / self.low) / log10(self.high / self.low)
        return self.left + share * (self.right - self.left)


def _row(row: Cases, axis: _Axis, top: float, width: float) -> list[Shape]:
    count = f"n {row.n}" + (f", {row.missing} without" if row.missing else "")
    room = width - text.width_of(count, SIZE) - 12
    name = text.fitted(row.name, room, SIZE)
    y = top - 22
    shapes: list[Shape] = [
        Label(x=0, y=top - 10, words=name, size=SIZE),
        Label(x=width, y=top - 10, words=count, size=SIZE, anchor="end"),
    ]
    if row.quantiles is None:
        rings = (axis.x(each) for each in row.single)
        return [*shapes, *(Ring(x=x, y=y, radius=2.2, width=0.9) for x in rings)]
    low, first, middle, third, high = map(axis.x, row.quantiles)
    box = (
        (first, y - HALF),
        (third, y - HALF),
        (third, y + HALF),
        (first, y + HALF),
    )
    for line in (((low, y), (first, y)), ((third, y), (high, y))):
        shapes.append(Stroke(points=line, width=0.7, kind="run"))
    for end in (low, high):
        shapes.append(Stroke(points=((end, y - 2.5), (end, y + 2.5)), width=0.7))
    shapes.append(Stroke(points=box, width=0.8, closed=True, kind="box"))
    across = ((middle, y - HALF - 1.5), (middle, y + HALF + 1.5))
    shapes.append(Stroke(points=across, width=1.8, kind="median"))
    return shapes


def _in_words(row: Cases) -> str:
    missing = f", {row.missing} without one" if row.missing else ""
    if row.quantiles is None:
        each = ", ".join(duration(one) for one in row.single) or "none"
        return f"{row.name}: {row.n} cases{missing}: {each}"
    low, first, middle, third, high = map(duration, row.quantiles)
    return (
        f"{row.name}: {row.n} cases{missing}, median {middle}, middle half {first} to "
        f"{third}, 10 to 90 % {low} to {high}"
    )


def duration(seconds: float) -> str:
    """A time as people say it: "9 s", "4 min 10 s", "2 h 5 min". Rounded half up."""
    whole = int(seconds + 0.5)
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        minutes, rest = divmod(whole, 60)
        return f"{minutes} min {rest} s" if rest else f"{minutes} min"
    hours, rest = divmod((whole + 30) // 60, 60)
    return f"{hours} h {rest} min" if rest else f"{hours} h"
