"""The parts of the drawing of an incident's time: signs, their words, lines between times.

A sign's shape says its verdict; a late record has both its times joined by a thin line,
and what was put right is crossed out. Words that have no room are left out here: the
table beneath has them all.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo
from typing import Final

from reports import fonts, text
from reports.drawing import (
    Drawing,
    Label,
    Link,
    Plain,
    Ring,
    Shape,
    Stroke,
    lifted,
    target,
)
from reports.figures import marker, stretch
from reports.scale import Span, times
from review.timeline import Asked, Band, Group, Mark, Timeline

Address = Callable[[Mark], str]  # where a mark leads

LEFT: Final = 34.0
SIDE: Final = 118.0  # room at the right for names of limits, where the chart is wide
WIDE: Final = 400.0  # points; a narrower one has no room at its side
HEAD: Final = 11.0
ROW: Final = 8.0  # of small words
SIGN: Final = 12.0
SMALL: Final = 6.5
MOST_ROWS: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Pin:
    """A note that was pinned to a moment, as the drawing needs it."""

    at: datetime
    letter: str
    words: str
    href: str


class Paper:
    """The drawing while it grows, from the top down; `y` is where the next part begins."""

    def __init__(
        self, timeline: Timeline, zone: tzinfo, width: float, address: Address
    ) -> None:
        last = max(timeline.end, timeline.start + timedelta(minutes=1))
        self.span = Span(timeline.start, last)
        self.zone, self.width, self.address = zone, width, address
        self.wide = width >= WIDE
        self.left, self.right = LEFT, width - (SIDE if self.wide else 8.0)
        self.y = 0.0
        self.shapes: list[Shape] = []

    def x(self, at: datetime) -> float:
        """Where a moment lies; what is outside of the stretch lies at its edge."""
        share = min(1.0, max(0.0, self.span.share(at)))
        return self.left + share * (self.right - self.left)

    def head(self, words: str) -> None:
        self.y -= HEAD
        fitted = text.fitted(words, self.width, 8, fonts.BOLD)
        self.shapes.append(Label(x=0, y=self.y + 2, words=fitted, size=8, bold=True))

    def hours(self) -> None:
        """The times, above or below everything."""
        self.y -= ROW
        for moment in times(self.span, self.zone):
            words = f"{moment.astimezone(self.zone):%H:%M}"
            x = self.x(moment)
            self.shapes.append(Label(x=x, y=self.y + 1, words=words, anchor="middle"))

    def band(self, band: Band) -> None:
        self.shapes += stretch(
            band.action, self.x(band.since), self.x(band.until), self.y - 8.5
        )

    def finished(self, title: str, description: str) -> Drawing:
        """All of it on a page that is as high as it has to be."""
        guides = [
            Stroke(
                points=((self.x(at), -ROW), (self.x(at), self.y + ROW)),
                width=0.25,
                kind="guide",
            )
            for at in times(self.span, self.zone)
        ]
        height = -self.y + 2
        shapes = [*guides, *self.shapes]
        return Drawing(
            width=self.width,
            height=height,
            shapes=tuple(lifted(shape, height) for shape in shapes),
            title=title,
            description=description,
        )


def signs(paper: Paper, marks: Sequence[Mark]) -> None:
    """A row of signs with their words beneath, each of them a link."""
    y = paper.y - SIGN / 2
    words = {mark.seq: (paper.x(mark.at), mark.short) for mark in marks}
    rows = placed(words, paper.width)
    for mark in marks:
        shapes = [*late_line(paper, mark, y), *sign_of(mark, paper.x(mark.at), y)]
        if mark.seq in rows:
            shapes += _word(mark, words[mark.seq][0], y, rows[mark.seq])
        paper.shapes.append(linked(paper, mark, shapes, y))
    paper.y -= SIGN + ROW * (1 + max(rows.values(), default=-1)) + 2


def answers(paper: Paper, timeline: Timeline) -> None:
    """When each Stop or Withdraw was shown, and the time until it was heard. Teams that
    it was shown and heard for at the same moments are one sign."""
    names = {team.key: team.name for team in timeline.teams}
    of_teams: dict[tuple[int, datetime, datetime | None], list[Asked]] = {}
    for one in timeline.asked:
        of_teams.setdefault((one.seq, one.at, one.heard_at), []).append(one)
    groups = list(of_teams.values())
    words = {n: (paper.x(of[0].at), _waited(of[0])) for n, of in enumerate(groups)}
    rows, y = placed(words, paper.width), paper.y - SIGN / 2
    marks = {mark.seq: mark for mark in timeline.marks}
    for number, group in enumerate(groups):
        label = words[number][1] if number in rows else ""
        low = y - SIGN / 2 - ROW * rows.get(number, 0) - 5
        to = paper.address(marks.get(group[0].seq) or bare(group[0]))
        who = ", ".join(names.get(one.team, one.team) for one in group)
        paper.shapes.append(_answer(paper, group, (label, low), y, to, who))
    paper.y -= SIGN + ROW * (1 + max(rows.values(), default=-1)) + 2


def _answer(
    paper: Paper,
    group: Sequence[Asked],
    label: tuple[str, float],
    y: float,
    href: str,
    who: str,
) -> Link:
    first = group[0]
    x, action = paper.x(first.at), max(one.action for one in group)
    shapes: list[Plain] = [*marker(action, x, y), target(x, y, 6.0)]
    if first.heard_at is not None:
        shapes += _joined(x, paper.x(first.heard_at), y)
    words, low = label
    if words:
        shapes.append(Label(x=x, y=low, words=words, size=SMALL, anchor="middle"))
    title = f"{action.label}, {who}: {_waited(first)}"
    return Link(href=href, title=title, shapes=tuple(shapes))


def bare(one: Asked) -> Mark:
    """A record that the choice leaves out, as far as a link needs it."""
    return Mark(seq=one.seq, at=one.at, recorded_at=one.at, kind="", words="", short="")


def _waited(one: Asked) -> str:
    """Such as "0:14", minutes and seconds."""
    if one.heard_at is None:
        return "not heard"
    minutes, seconds = divmod(round((one.heard_at - one.at).total_seconds()), 60)
    return f"{minutes}:{seconds:02}"


def linked(paper: Paper, mark: Mark, shapes: Sequence[Plain], y: float) -> Link:
    """A mark's shapes as a link to its record, with room for a pointer."""
    room = target(paper.x(mark.at), y, 6.0)
    return Link(
        href=paper.address(mark), title=said(mark, paper.zone), shapes=(*shapes, room)
    )


def said(mark: Mark, zone: tzinfo) -> str:
    """A mark in words, such as "14:02:10 tank room, pH 2 …. Stop"."""
    at = f"{mark.at.astimezone(zone):%H:%M:%S}"
    line = ", ".join(filter(None, (mark.place, mark.words)))
    if mark.is_late:
        line += f". Recorded {mark.recorded_at.astimezone(zone):%H:%M:%S}"
    if mark.action:
        line += f". {mark.action.label}"
    return f"{at} {line}" + (f". Put right: {mark.struck}" if mark.struck else "")


def sign_of(mark: Mark, x: float, y: float) -> list[Plain]:
    """By the verdict of a reading; a diamond for what is none; crossed out where struck."""
    shapes = (
        marker(mark.action, x, y) if mark.action is not None else _other(mark, x, y)
    )
    if mark.struck:
        shapes += crossed(x, y)
    return shapes


def _other(mark: Mark, x: float, y: float) -> list[Plain]:
    if mark.group is Group.AIR:
        return [Ring(x=x, y=y, radius=1.7, width=0.7)]
    if mark.group is Group.WRITTEN:
        line = ((x, y - 3), (x, y + 3))
        return [Stroke(points=line, width=0.9, kind="point")]
    corners = ((x - 3, y), (x, y + 3), (x + 3, y), (x, y - 3))
    return [Stroke(points=corners, width=0.8, closed=True, kind="point")]


def crossed(x: float, y: float) -> list[Plain]:
    lines = (((x - 4, y - 4), (x + 4, y + 4)), ((x - 4, y + 4), (x + 4, y - 4)))
    return [Stroke(points=line, width=0.7, kind="struck") for line in lines]


def late_line(paper: Paper, mark: Mark, y: float) -> list[Plain]:
    """From when it was observed to when it was recorded; nothing where that is one."""
    if not mark.is_late:
        return []
    return _joined(paper.x(mark.at), paper.x(mark.recorded_at), y)


def _joined(since: float, until: float, y: float) -> list[Plain]:
    """Two times of one thing: a thin line with a tick at its end."""
    line = Stroke(points=((since, y), (until, y)), width=0.4, kind="late")
    end = Stroke(points=((until, y - 3), (until, y + 3)), width=0.8, kind="late")
    return [line, end]


def _word(mark: Mark, x: float, y: float, row: int) -> list[Plain]:
    low = y - SIGN / 2 - ROW * row - 5
    shapes: list[Plain] = [
        Label(x=x, y=low, words=mark.short, size=SMALL, anchor="middle")
    ]
    if mark.struck:
        half = text.width_of(mark.short, SMALL) / 2 + 1
        line = ((x - half, low + 2.2), (x + half, low + 2.2))
        shapes.append(Stroke(points=line, width=0.6, kind="struck"))
    return shapes


def placed(words: dict[int, tuple[float, str]], width: float) -> dict[int, int]:
    """The row of each word, so that none lies on another; those without room are left
    out. A word stands under the middle of its sign."""
    ends = [0.0] * MOST_ROWS
    rows: dict[int, int] = {}
    for key, (x, word) in sorted(words.items(), key=lambda item: item[1][0]):
        half = text.width_of(word, SMALL) / 2
        if not word or x - half < 0 or x + half > width:
            continue
        free = next((n for n, end in enumerate(ends) if end <= x - half), None)
        if free is not None:
            rows[key] = free
            ends[free] = x + half + 3
    return rows


def pins(paper: Paper, notes: Iterable[Pin]) -> None:
    """Notes in boxes with their letter; those of one moment beside each other."""
    y, taken = paper.y - SIGN / 2 - 1, -1.0
    for note in notes:
        x = max(paper.x(note.at), taken)
        taken = x + 11.0
        half = 4.6
        box = ((x - half, y - half), (x - half, y + half), (x + half, y + half), (x + half, y - half))  # fmt: skip
        paper.shapes.append(
            Link(
                href=note.href,
                title=note.words,
                shapes=(
                    Stroke(points=box, width=0.7, closed=True, kind="pin"),
                    Label(
                        x=x, y=y - 2.4, words=note.letter, anchor="middle", bold=True
                    ),
                    target(x, y, 6.0),
                ),
            )
        )
    paper.y -= SIGN + 4
