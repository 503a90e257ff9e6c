"""Numbered boxes beside each other, of any length: what does not fit goes on overleaf.

A box is a heap of strips, each as high as one line of type. All is wrapped once, so the
cost grows with the text and no faster, and a row of boxes can part between any two strips.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate
from typing import Final

from command.form import WHOLE, Block, Table
from command.words import NOT_RECORDED
from reports import fonts, layout, text

PAD: Final = 4.0
TITLE: Final = 7.5
NARROW: Final = 7.6  # the type of a third of the width: an identifier fits
LEADING: Final = 1.3
CELL_GAP: Final = 5.0
KEPT_WHOLE: Final = 130.0  # a row of boxes that is lower goes to the next page in one
SKETCH: Final = 110.0
SKETCH_BY_HAND: Final = 320.0
SIGNATURE: Final = 44.0
HAND_LINE: Final = 21.0
HAND_BOX: Final = {2: 24.0, 3: 24.0, WHOLE: 96.0}  # room for writing, by width
GRAY: Final = 0.6


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    x: float
    words: str  # printable, one line
    bold: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """One line of a box. `base` is how far below its top the type stands."""

    height: float
    base: float = 0.0
    cells: tuple[Cell, ...] = ()
    size: float = layout.BODY
    rule: bool = False  # a hairline above, across the box
    sign: bool = False  # a line to sign on, above the type
    columns: tuple[float, ...] = ()  # hairlines between the columns of a table


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    width: float
    title: tuple[Strip, ...]
    again: tuple[Strip, ...]  # the title where the box goes on overleaf
    head: tuple[Strip, ...]  # of its table, printed again with it
    strips: tuple[Strip, ...]

    @property
    def all(self) -> tuple[Strip, ...]:
        return (*self.title, *self.head, *self.strips)

    @property
    def height(self) -> float:
        below = 0 if self.strips and self.strips[-1].columns else PAD
        return sum(strip.height for strip in self.all) + below

    @property
    def least(self) -> float:
        """The height of what cannot be parted: the title and the first strip."""
        first = (*self.title, *self.head, *self.strips[:1])
        return sum(strip.height for strip in first) + PAD


class BoxRow(layout.Flow):
    """Boxes in one frame, all as high as the highest; parts between strips."""

    def __init__(self, boxes: Sequence[Box]) -> None:
        super().__init__()
        self._boxes = boxes
        self.height = max(box.height for box in boxes)

    @property
    def least(self) -> float:
        """What it takes to begin on a page."""
        if self.height <= KEPT_WHOLE:
            return self.height
        return max(KEPT_WHOLE, *(box.least for box in self._boxes))

    def wrap(self, avail_width: float, avail_height: float) -> tuple[float, float]:
        self.width = avail_width
        return avail_width, self.height

    def split(self, avail_width: float, avail_height: float) -> list[layout.Flow]:
        if self.height <= KEPT_WHOLE:
            return []
        parts = [_parted(box, avail_height) for box in self._boxes]
        if any(part is None for part in parts):
            return []
        pairs = [part for part in parts if part is not None]
        return [
            BoxRow([pair[0] for pair in pairs]),
            BoxRow([pair[1] for pair in pairs]),
        ]

    def draw(self) -> None:
        left = 0.0
        for box in self._boxes:
            self.canv.setStrokeGray(0)
            self.canv.setLineWidth(0.7)
            self.canv.rect(left, 0, box.width, self.height)
            self._draw_box(box, left)
            left += box.width

    def _draw_box(self, box: Box, left: float) -> None:
        top = self.height
        for strip in box.all:
            self._draw_lines(strip, box, left, top)
            top -= strip.height
        for strip, cell, base in _in_order_of_reading(box):
            font = fonts.BOLD if cell.bold else fonts.REGULAR
            self.canv.setFont(font, strip.size)
            self.canv.drawString(left + cell.x, self.height - base, cell.words)

    def _draw_lines(self, strip: Strip, box: Box, left: float, top: float) -> None:
        canvas = self.canv
        canvas.setLineWidth(layout.HAIRLINE)
        canvas.setStrokeGray(GRAY)
        if strip.rule:
            canvas.line(left, top, left + box.width, top)
        for x in strip.columns:
            canvas.line(left + x, top, left + x, top - strip.height)
        canvas.setStrokeGray(0)
        if strip.sign:
            y = top - strip.base + strip.size * 1.1
            canvas.line(left + PAD, y, left + box.width - PAD, y)


def _in_order_of_reading(box: Box) -> Iterator[tuple[Strip, Cell, float]]:
    """Each cell of a table's row to its end before the next one, so that it copies so."""
    row, found, depth = 0, [], 0.0
    for strip in box.all:
        row += strip.rule or not strip.columns
        for cell in strip.cells:
            place = (row, cell.x, depth)
            found.append((place, strip, cell, depth + strip.base))
        depth += strip.height
    for _, strip, cell, base in sorted(found, key=lambda one: one[0]):
        yield strip, cell, base


def _parted(box: Box, room: float) -> tuple[Box, Box] | None:
    """What of a box has room here and what has not; None where nothing has."""
    if box.height <= room:
        return box, replace(box, title=(), again=(), head=(), strips=())
    fixed = sum(strip.height for strip in (*box.title, *box.head)) + PAD
    ends = accumulate(strip.height for strip in box.strips)
    count = sum(1 for end in ends if fixed + end <= room)
    if count == 0:
        return None
    rest = box.strips[count:]
    head = box.head if rest[0].columns else ()
    here = replace(box, strips=box.strips[:count])
    return here, replace(box, title=box.again, head=head, strips=rest)


# --- What is in a box -----------------------------------------------------------------


def box(block: Block, page_width: float, *, by_hand: bool) -> Box:
    """One block in as many sixths of the width as the form gives it."""
    width = page_width * block.width / WHOLE
    title = f"{block.number}. {block.title}"
    head, rows = _table(block.table, width, by_hand=by_hand)
    size = NARROW if block.width < 3 else layout.BODY
    words = [strip for line in block.lines for strip in _line(line, width, size)]
    if rows and words:
        words[0] = replace(words[0], rule=True)
    return Box(
        width=width,
        title=tuple(_title(title, width)),
        again=tuple(_title(f"{title} (continued)", width)),
        head=head,
        strips=(*rows, *words, *_room(block, width, by_hand=by_hand)),
    )


def _title(words: str, width: float) -> Iterator[Strip]:
    lines = text.wrap(words, width - 2 * PAD, TITLE, fonts.BOLD)
    for line in lines:
        cells = (Cell(x=PAD, words=line, bold=True),)
        yield Strip(height=TITLE * 1.45, base=TITLE * 1.25, cells=cells, size=TITLE)


def _line(words: str, width: float, size: float = layout.BODY) -> Iterator[Strip]:
    for line in text.wrap(words, width - 2 * PAD, size):
        cells = (Cell(x=PAD, words=line),)
        yield Strip(height=size * LEADING, base=size * 1.05, cells=cells, size=size)


def _room(block: Block, width: float, *, by_hand: bool) -> Iterator[Strip]:
    """Empty paper to write, draw or sign on; or that nothing is recorded."""
    if block.is_empty and block.asked and not by_hand:
        yield from _line(NOT_RECORDED, width)
    if block.sketch:
        yield Strip(height=SKETCH_BY_HAND if by_hand else SKETCH)
    elif by_hand and block.table is None and not block.signed:
        yield Strip(height=HAND_BOX[block.width])
    if block.signed:
        cells = (Cell(x=PAD, words="Signature, date and time"),)
        base = SIGNATURE - 4
        yield Strip(
            height=SIGNATURE, base=base, cells=cells, size=layout.SMALL, sign=True
        )


def _table(
    table: Table | None, width: float, *, by_hand: bool
) -> tuple[tuple[Strip, ...], tuple[Strip, ...]]:
    if table is None or not table.rows:
        return (), ()
    shares = table.shares or (1.0,) * len(table.columns)
    lefts = (0.0, *accumulate(layout.shares(width, shares)))
    head = tuple(_row(table.columns, lefts, bold=True))
    least = HAND_LINE if by_hand else 0.0
    rows = (strip for row in table.rows for strip in _row(row, lefts, least=least))
    return head, tuple(rows)


def _row(
    row: Sequence[str], lefts: Sequence[float], *, bold: bool = False, least: float = 0
) -> Iterator[Strip]:
    """One row of a table: as many strips as its highest cell has lines."""
    size, font = layout.SMALL + 0.5, fonts.BOLD if bold else fonts.REGULAR
    set_cells = [
        text.wrap(cell, right - left - CELL_GAP - 1, size, font) if cell else ()
        for cell, left, right in zip(row, lefts, lefts[1:], strict=False)
    ]
    for number in range(max(1, *map(len, set_cells))):
        cells = tuple(
            Cell(x=left + PAD, words=lines[number], bold=bold)
            for lines, left in zip(set_cells, lefts, strict=False)
            if number < len(lines)
        )
        yield Strip(
            height=max(least, size * LEADING + (1.5 if number == 0 else 0)),
            base=size * 1.05 + (1.5 if number == 0 else 0),
            cells=cells,
            size=size,
            rule=number == 0,
            columns=tuple(lefts[1:-1]),
        )
