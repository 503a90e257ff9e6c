"""Tables of any length whose cost grows with their rows and no faster.

Cells are wrapped once when the table is made, so every row's height is known and a page's
share of the rows is found by bisection. A row that is taller than a page is cut into rows.
"""

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import Final

from reports import fonts, layout, text

PAD: Final = 2.6  # above and below a row's text
GAP: Final = 6.0  # between columns
LINES_IN_A_ROW: Final = 40  # more than that and the row is cut in two


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """Texts as people wrote them, one for each column; they may be fewer.

    The last cell spans what is left of the width. `bold`, `struck` and `wide` name
    columns by index.
    """

    cells: tuple[str, ...]
    bold: frozenset[int] = frozenset()
    struck: frozenset[int] = frozenset()  # columns printed with a line through them
    wide: frozenset[int] = (
        frozenset()
    )  # columns that span the empty ones on their right
    ruled: bool = True  # a hairline above; False for what belongs to the row before
    heading: bool = False  # kept with the row after it


@dataclass(frozen=True, slots=True)
class _Set:
    """A row set in type: lines by column, and the height they take."""

    lines: tuple[tuple[str, ...], ...]
    row: Row
    height: float
    first: bool  # False for the continuation of a row that was cut


class PagedTable(layout.Flow):
    """A table that splits between rows, its head printed again on every page.

    `widths` are in points and include the gap on the right of each column.
    """

    def __init__(
        self,
        head: Sequence[str],
        rows: Iterable[Row],
        widths: Sequence[float],
        size: float = layout.SMALL,
    ) -> None:
        super().__init__()
        self._size = size
        self._leading = size * 1.3
        self._lefts = [0.0, *accumulate(widths)]
        self._total = self._lefts[-1]
        self._head = self._set_head(head) if head else None
        self._rows = [piece for row in rows for piece in self._set_row(row)]
        self._ends = [0.0, *accumulate(row.height for row in self._rows)]
        self._start, self._stop = 0, len(self._rows)

    def _set_head(self, head: Sequence[str]) -> _Set:
        row = Row(cells=tuple(head), bold=frozenset(range(len(head))))
        return next(iter(self._set_row(row)))

    def _set_row(self, row: Row) -> Iterable[_Set]:
        columns = []
        for index, cell in enumerate(row.cells):
            right = self._right_of(index, row)
            room = right - self._lefts[index] - (0 if right == self._total else GAP)
            font = fonts.BOLD if index in row.bold else fonts.REGULAR
            columns.append(text.wrap(cell, room, self._size, font) if cell else ())
        tallest = max(map(len, columns), default=0) or 1
        for start in range(0, tallest, LINES_IN_A_ROW):
            cut = tuple(lines[start : start + LINES_IN_A_ROW] for lines in columns)
            height = max(map(len, cut), default=0) or 1
            yield _Set(cut, row, height * self._leading + 2 * PAD, start == 0)

    def _right_of(self, index: int, row: Row) -> float:
        """Where the cell ends, in points from the left of the table."""
        after = index + 1
        if index in row.wide:
            while after < len(row.cells) and not row.cells[after]:
                after += 1
        return self._total if after == len(row.cells) else self._lefts[after]

    def _head_height(self) -> float:
        return self._head.height if self._head else 0.0

    def wrap(self, avail_width: float, avail_height: float) -> tuple[float, float]:
        rows = self._ends[self._stop] - self._ends[self._start]
        self.width, self.height = self._total, rows + self._head_height()
        return self.width, self.height

    def split(self, avail_width: float, avail_height: float) -> list[layout.Flow]:
        room = avail_height - self._head_height() + self._ends[self._start] + 0.01
        stop = bisect_right(self._ends, room, self._start, self._stop + 1) - 1
        stop = self._with_company(stop)
        if stop <= self._start:
            return []
        return [self._share(self._start, stop), self._share(stop, self._stop)]

    def _with_company(self, stop: int) -> int:
        """A break at or before `stop` that parts no heading and no remark from its row."""
        for at in range(stop, self._start, -1):
            after = self._rows[at] if at < self._stop else None
            remark = after is not None and after.first and not after.row.ruled
            if not remark and not self._rows[at - 1].row.heading:
                return at
        return self._start if self._rows[self._start].row.heading else stop

    def _share(self, start: int, stop: int) -> "PagedTable":
        """The same rows from `start` to `stop`, without what reportlab noted on self."""
        share = PagedTable((), (), (self._total,), self._size)
        share._lefts, share._head = self._lefts, self._head
        share._rows, share._ends = self._rows, self._ends
        share._start, share._stop = start, stop
        return share

    def draw(self) -> None:
        top = self.height
        if self._head:
            self._draw_row(self._head, top)
            top -= self._head.height
            self._hairline(top, 0.8)
        for index in range(self._start, self._stop):
            row = self._rows[index]
            opens = index > self._start or not self._head
            if row.first and row.row.ruled and opens:
                self._hairline(top, layout.HAIRLINE, 0.55)
            self._draw_row(row, top)
            top -= row.height

    def _hairline(self, y: float, thickness: float, gray: float = 0) -> None:
        self.canv.setStrokeGray(gray)
        self.canv.setLineWidth(thickness)
        self.canv.line(0, y, self._total, y)
        self.canv.setStrokeGray(0)

    def _draw_row(self, row: _Set, top: float) -> None:
        canvas = self.canv
        for column, lines in enumerate(row.lines):
            if not lines:
                continue
            font = fonts.BOLD if column in row.row.bold else fonts.REGULAR
            y = top - PAD - self._size * 1.02
            block = canvas.beginText(self._lefts[column], y)
            block.setFont(font, self._size, self._leading)
            for line in lines:
                block.textLine(line)
            canvas.drawText(block)
            if column in row.row.struck:
                self._strike(self._lefts[column], y, lines, font)

    def _strike(self, x: float, y: float, lines: Sequence[str], font: str) -> None:
        self.canv.setLineWidth(0.6)
        for line in lines:
            width = text.width_of(line, self._size, font)
            self.canv.line(x, y + self._size * 0.27, x + width, y + self._size * 0.27)
            y -= self._leading
