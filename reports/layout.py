"""The page of the report: measures, type sizes, headings, notices, verdicts, boxes.

The tone is that of a well-set printed form: black on white, hairlines between parts,
verdicts in words with a frame of their own, nothing for decoration.
"""

from collections.abc import Sequence
from functools import lru_cache
from typing import Any, Final

from reportlab.lib.colors import Color
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate

from reports import fonts, text
from screening.verdicts import Action

REGULAR: Final = fonts.REGULAR
PAGE_SIZES: Final = {"A4": A4, "letter": LETTER}

LEFT: Final = 48.0
RIGHT: Final = 48.0
TOP: Final = 66.0
BOTTOM: Final = 58.0
HAIRLINE: Final = 0.4
RULE: Final = 1.1

BODY: Final = 8.5
BODY_LEADING: Final = 11.5
SMALL: Final = 7.0
SMALL_LEADING: Final = 9.2

INK: Final = Color(0, 0, 0)
MUTED: Final = Color(0.29, 0.32, 0.36)


@lru_cache(maxsize=1)
def styles() -> dict[str, ParagraphStyle]:
    """The styles of flowing text, by name; made once the typeface is registered."""
    fonts.register()
    body = ParagraphStyle(
        "body", fontName=fonts.REGULAR, fontSize=BODY, leading=BODY_LEADING
    )
    return {
        "body": body,
        "advice": ParagraphStyle("advice", body, leftIndent=10, bulletIndent=0),
        "small": ParagraphStyle(
            "small", body, fontSize=SMALL, leading=SMALL_LEADING, textColor=MUTED
        ),
        "title": ParagraphStyle(
            "title", body, fontName=fonts.BOLD, fontSize=21, leading=26
        ),
        "kind": ParagraphStyle("kind", body, fontSize=11, leading=15),
        "section": ParagraphStyle(
            "section", body, fontName=fonts.BOLD, fontSize=12.5, leading=16
        ),
        "part": ParagraphStyle(
            "part", body, fontName=fonts.BOLD, fontSize=9.5, leading=13
        ),
    }


def spacer(height: float) -> Flowable:
    """Empty paper, `height` points of it."""
    from reportlab.platypus import Spacer

    return Spacer(1, height)


def page_break_unless(height: float) -> Any:
    """A new page unless `height` points are left on this one."""
    from reportlab.platypus import CondPageBreak

    return CondPageBreak(height)


def heading(words: str, explanation: str = "") -> list[Flowable]:
    """A section's heading under a rule, kept with what follows it."""
    parts: list[Flowable] = [page_break_unless(130), spacer(14), Line(RULE), spacer(3)]
    parts.append(Bookmark(words))
    parts += text.paragraphs(words, styles()["section"])
    if explanation:
        parts += text.paragraphs(explanation, styles()["small"])
    return [*parts, spacer(5)]


def part_heading(words: str) -> list[Flowable]:
    """A smaller heading inside a section."""
    title = text.paragraphs(words, styles()["part"])
    mark = Bookmark(words, level=1)
    return [page_break_unless(60), spacer(7), mark, *title, spacer(2)]


def body(words: str, lead: str = "") -> list[Flowable]:
    """Flowing text in the size of the body, `lead` in bold before it."""
    return text.paragraphs(words, styles()["body"], lead)


def small(words: str) -> list[Flowable]:
    """Flowing text in small print."""
    return text.paragraphs(words, styles()["small"])


class Flow(Flowable):  # type: ignore[misc]  # reportlab ships no type hints
    """A flowable of ours; the one place where the missing types are excused."""


class Bookmark(Flow):
    """No ink: the place of a heading, for the list of contents beside the pages."""

    def __init__(self, words: str, level: int = 0) -> None:
        super().__init__()
        self._words, self._level = text.printable(words), level

    def wrap(self, avail_width: float, avail_height: float) -> tuple[float, float]:
        return 0.0, 0.0

    def draw(self) -> None:
        top = self.canv.absolutePosition(0, 0)[1]
        self.canv.note_heading(self._words, self._level, top)


class Line(Flow):
    """A rule across the column."""

    def __init__(self, thickness: float = HAIRLINE) -> None:
        super().__init__()
        self.thickness = thickness

    def wrap(self, avail_width: float, avail_height: float) -> tuple[float, float]:
        self.width = avail_width
        return avail_width, self.thickness

    def draw(self) -> None:
        self.canv.setLineWidth(self.thickness)
        self.canv.line(0, 0, self.width, 0)


class Notice(Flow):
    """A sentence in a frame, its first word bold: interim, drill, loosened limit."""

    def __init__(self, lead: str, words: str) -> None:
        super().__init__()
        self._paragraphs = body(words, lead)

    def wrap(self, avail_width: float, avail_height: float) -> tuple[float, float]:
        inner = avail_width - 16
        self._heights = [p.wrap(inner, avail_height)[1] for p in self._paragraphs]
        self.width, self.height = avail_width, sum(self._heights) + 10
        return self.width, self.height

    def draw(self) -> None:
        self.canv.setLineWidth(RULE)
        self.canv.rect(0.5, 0.5, self.width - 1, self.height - 1)
        top = self.height - 4
        for paragraph, height in zip(self._paragraphs, self._heights, strict=True):
            paragraph.drawOn(self.canv, 8, top - height)
            top -= height


class Verdict(Flow):
    """A verdict's word in its frame, and beside it the team and what is not known."""

    WORD_WIDTH = 104.0
    WORD_HEIGHT = 32.0

    def __init__(self, action: Action, name: str, lines: Sequence[str]) -> None:
        super().__init__()
        self._action, self._name, self._words = action, name, lines

    def wrap(self, avail_width: float, avail_height: float) -> tuple[float, float]:
        room = avail_width - self.WORD_WIDTH - 12
        self._lines = [
            line for words in self._words for line in text.wrap(words, room, BODY)
        ]
        self._title = text.fitted(self._name, room, 10.5, fonts.BOLD)
        needed = 15 + len(self._lines) * BODY_LEADING
        self.width, self.height = avail_width, max(self.WORD_HEIGHT, needed) + 6
        return self.width, self.height

    def draw(self) -> None:
        canvas = self.canv
        low = self.height - 3 - self.WORD_HEIGHT
        _verdict_frame(canvas, self._action, low, self.WORD_WIDTH, self.WORD_HEIGHT)
        canvas.setFont(fonts.BOLD, 14)
        canvas.drawCentredString(self.WORD_WIDTH / 2, low + 11, signed(self._action))
        x = self.WORD_WIDTH + 12
        canvas.setFont(fonts.BOLD, 10.5)
        canvas.drawString(x, self.height - 13, self._title)
        canvas.setFont(fonts.REGULAR, BODY)
        y = self.height - 26
        for line in self._lines:
            canvas.drawString(x, y, line)
            y -= BODY_LEADING


def _verdict_frame(
    canvas: Any, action: Action, y: float, width: float, height: float
) -> None:
    """Two lines, dashed, solid, double: the frames of the sheet in black and white."""
    canvas.saveState()
    if action is Action.CONTINUE:
        canvas.setLineWidth(1)
        for edge in (y, y + height):
            canvas.line(0, edge, width, edge)
    elif action is Action.CAUTION:
        canvas.setLineWidth(1.2)
        canvas.setDash([5, 3])
        canvas.rect(0, y, width, height)
    elif action is Action.STOP:
        canvas.setLineWidth(2.6)
        canvas.rect(1.3, y + 1.3, width - 2.6, height - 2.6)
    else:
        canvas.setLineWidth(1.8)
        canvas.rect(0.9, y + 0.9, width - 1.8, height - 1.8)
        canvas.setLineWidth(1)
        canvas.rect(4.5, y + 4.5, width - 9, height - 9)
    canvas.restoreState()


_SIGNS: Final = {
    Action.CONTINUE: "\N{RIGHTWARDS ARROW}",
    Action.CAUTION: "\N{BLACK UP-POINTING TRIANGLE}",
    Action.STOP: "\N{BLACK SQUARE}",
    Action.WITHDRAW: "\N{LEFTWARDS ARROW}",
}


def signed(action: Action) -> str:
    """The verdict's sign and word."""
    return f"{_SIGNS[action]} {action.label}"


class HandSignatures(Flow):
    """Lines for those who sign on paper as well."""

    WHO: Final = ("Incident commander", "Reviewed by")

    def wrap(self, avail_width: float, avail_height: float) -> tuple[float, float]:
        self.width, self.height = avail_width, 36.0 * len(self.WHO) + 8
        return self.width, self.height

    def draw(self) -> None:
        columns = ((0.0, 0.4, ""), (0.43, 0.76, "Signature"), (0.79, 1.0, "Date, time"))
        for index, who in enumerate(self.WHO):
            y = self.height - 36.0 * (index + 1) + 4
            self.canv.setLineWidth(HAIRLINE)
            self.canv.setFont(fonts.REGULAR, SMALL)
            for left, right, label in columns:
                self.canv.line(left * self.width, y, right * self.width, y)
                words = label or f"{who}, on paper"
                self.canv.drawString(left * self.width, y - 9, words)


class SignatureBox(Flow):
    """The foot of the last page, where the signature's appearance is put.

    Always at the same place, so that signing needs no more than the size of the page.
    """

    HEIGHT = 64.0

    def wrap(self, avail_width: float, avail_height: float) -> tuple[float, float]:
        self.width = avail_width
        least = self.HEIGHT + 26
        self.height = max(avail_height - 0.5, least) if avail_height > least else least
        return self.width, self.height

    def draw(self) -> None:
        self.canv.setLineWidth(HAIRLINE)
        self.canv.rect(0, 0, self.width, self.HEIGHT)
        self.canv.setFont(fonts.REGULAR, SMALL)
        words = "Digital signature. A copy of this file whose box is empty is a draft."
        self.canv.drawString(0, self.HEIGHT + 4, words)


def signature_box(page_width: float) -> tuple[float, float, float, float]:
    """Left, bottom, right and top of the box on the last page, in points."""
    bottom = BOTTOM
    return LEFT, bottom, page_width - RIGHT, bottom + SignatureBox.HEIGHT


def document(target: Any, page_size: str) -> Any:
    """The empty document, the same at any time; its pages have one column between header and footer."""
    width, height = PAGE_SIZES[page_size]
    frame = Frame(
        LEFT,
        BOTTOM,
        width - LEFT - RIGHT,
        height - TOP - BOTTOM,
        leftPadding=0,
        rightPadding=0,
        topPadding=0,
        bottomPadding=0,
    )
    return BaseDocTemplate(
        target,
        pagesize=(width, height),
        pageTemplates=[PageTemplate(id="page", frames=[frame])],
        invariant=1,
        initialFontName=fonts.REGULAR,
        pageCompression=1,
    )


def column_width(page_size: str) -> float:
    """Points between the margins."""
    width: float = PAGE_SIZES[page_size][0]
    return width - LEFT - RIGHT


def shares(total: float, parts: Sequence[float]) -> tuple[float, ...]:
    """Column widths in proportion to `parts`."""
    return tuple(total * part / sum(parts) for part in parts)
