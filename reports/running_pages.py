"""What stands on every page: the incident, the kind of report, page x of y, the caution."""

from dataclasses import dataclass
from typing import Any, Final

from reportlab.pdfgen.canvas import Canvas

from reports import fonts, layout, text
from screening.verdicts import CAUTION

DRILL: Final = "Drill"


@dataclass(frozen=True, slots=True, kw_only=True)
class Running:
    """What stands on every page."""

    incident: str
    kind: str  # "After-action report", "Interim report", with drill and demo
    head: str  # the chain's head, shortened
    marked: bool  # interim, drill or demonstration: the kind stands in a frame
    drill: bool = False  # the word stands across every page


class NumberedCanvas(Canvas):  # type: ignore[misc]  # reportlab ships no type hints
    """Holds the pages back until their number is known, then writes "page x of y"."""

    running: Running

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._held: list[dict[str, Any]] = []
        self._headings: list[tuple[int, str, int, float]] = []

    def note_heading(self, words: str, level: int, top: float) -> None:
        """Keep a heading of the page that is being set."""
        self._headings.append((len(self._held), words, level, top))

    def showPage(self) -> None:  # noqa: N802  (reportlab's name)
        self._held.append(dict(self.__dict__))
        self._startPage()

    def save(self) -> None:
        for index, page in enumerate(self._held):
            self.__dict__.update(page)
            self._frame_of_page(index + 1, len(self._held))
            self._bookmarks_of_page(index)
            super().showPage()
        self.showOutline()
        super().save()

    def _bookmarks_of_page(self, index: int) -> None:
        """The headings of this page; none may stand deeper than one below the last."""
        for number, (page, words, level, top) in enumerate(self._headings):
            if page == index:
                key = f"heading-{number}"
                self.bookmarkPage(key, fit="XYZ", left=0, top=top + 4)
                self.addOutlineEntry(words, key, level, closed=level == 0)

    def _frame_of_page(self, page: int, pages: int) -> None:
        width, height = self._pagesize
        if self.running.drill:
            self._drill_across(width, height)
        right = width - layout.RIGHT
        number = f"Page {page} of {pages}"
        self.setFillColor(layout.INK)
        self.setFont(fonts.BOLD, 9)
        taken = text.width_of(self.running.kind, 8) + text.width_of(number, 8) + 40
        name = text.fitted(
            self.running.incident, right - layout.LEFT - taken, 9, fonts.BOLD
        )
        self.drawString(layout.LEFT, height - 40, name)
        self.setFont(fonts.REGULAR, 8)
        self.drawRightString(right, height - 40, number)
        self._kind_of_report(right - text.width_of(number, 8) - 14, height - 40)
        self.setLineWidth(layout.HAIRLINE)
        self.line(layout.LEFT, height - 48, right, height - 48)
        self.line(layout.LEFT, 44, right, 44)
        self.setFont(fonts.REGULAR, 7.5)
        self.drawString(layout.LEFT, 33, CAUTION)
        self.drawRightString(right, 33, self.running.head)

    def _drill_across(self, width: float, height: float) -> None:
        """The word in outline over the whole page, so that all below it can be read."""
        self.saveState()
        self.translate(width / 2, height / 2)
        self.rotate(55)
        self.setStrokeColor(layout.MUTED)
        self.setLineWidth(layout.HAIRLINE)
        line = self.beginText(-text.width_of(DRILL, 230, fonts.BOLD) / 2, -70)
        line.setFont(fonts.BOLD, 230)
        line.setTextRenderMode(1)
        line.textOut(DRILL)
        line.setTextRenderMode(0)
        self.drawText(line)
        self.restoreState()

    def _kind_of_report(self, right: float, y: float) -> None:
        kind = self.running.kind
        self.setFont(fonts.BOLD if self.running.marked else fonts.REGULAR, 8)
        font = fonts.BOLD if self.running.marked else fonts.REGULAR
        width = text.width_of(kind, 8, font)
        self.drawRightString(right, y, kind)
        if self.running.marked:
            self.setLineWidth(0.8)
            self.rect(right - width - 4, y - 3.5, width + 8, 13)


def numbered_canvas(running: Running) -> type[NumberedCanvas]:
    """The class of canvas for one report: what runs on every page belongs to it."""
    return type("ReportCanvas", (NumberedCanvas,), {"running": running})
