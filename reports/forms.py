"""A public form of the incident command system as a PDF: its blocks in, bytes out.

The blocks come numbered, titled and in order from `command`; here they are only set.
"""

import io
from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import Any, Final

from command.form import WHOLE, Block, Section
from reports import clock, fonts
from reports.archival import About, archived
from screening.verdicts import CAUTION

_HEAD_OF_SECTION: Final = 24.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """One form. `by_hand` leaves out everything of the incident, its name included."""

    title: str
    standard: str  # such as "ICS 214"
    sections: tuple[Section, ...]
    incident: str
    agency: str
    made_at: datetime
    zone: tzinfo
    notice: str = ""  # what is not ready yet
    by_hand: bool = False
    drill: bool = False


def build(form: Form, *, page_size: str = "A4") -> bytes:
    """The form as pages. The same form gives the same bytes.

    `page_size`: "A4" or "letter". Raises KeyError for any other.
    """
    from reports import layout, running_pages, text

    width = layout.column_width(page_size)
    out = io.BytesIO()
    with fonts.setting:
        document = layout.document(out, page_size)
        canvas = running_pages.numbered_canvas(_running(form))
        document.build(_story(form, width), canvasmaker=canvas)
    about = About(
        title=text.printable(_title(form)),
        agency=text.printable(form.agency),
        subject=CAUTION,
        made_at=form.made_at,
    )
    return archived(out.getvalue(), about)


def _title(form: Form) -> str:
    head = form.title if form.by_hand else f"{form.incident}: {form.title}"
    return f"{head} ({_kind(form)})"


def _kind(form: Form) -> str:
    return f"{form.standard}, drill" if form.drill else form.standard


def _running(form: Form) -> Any:
    from reports import running_pages

    printed = clock.moment(form.made_at, form.zone)
    return running_pages.Running(
        incident=form.title if form.by_hand else form.incident,
        kind=_kind(form),
        head="To fill in by hand" if form.by_hand else f"Printed {printed}",
        marked=form.drill,
        drill=form.drill,
    )


def _story(form: Form, width: float) -> list[Any]:
    from reports import layout, text

    filled = "to fill in by hand" if form.by_hand else "filled from log and plan"
    zone = clock.zone_words(form.made_at, form.zone)
    times = "" if form.by_hand else f"; times in {zone}"
    story = [
        layout.Bookmark(form.title),
        *text.paragraphs(form.title, layout.styles()["title"]),
        *layout.small(f"Blocks as in {form.standard}, {filled}{times}."),
        layout.spacer(6),
    ]
    if form.drill:
        notice = layout.Notice("Drill.", "Nothing in this form happened.")
        story += [notice, layout.spacer(4)]
    if form.notice:
        story += [layout.Notice("Not ready yet:", form.notice), layout.spacer(4)]
    for section in form.sections:
        story += _section(section, width, by_hand=form.by_hand)
    return story


def _section(section: Section, width: float, *, by_hand: bool) -> list[Any]:
    from reports import layout, text
    from reports.form_boxes import BoxRow, box

    rows = [
        BoxRow([box(each, width, by_hand=by_hand) for each in line])
        for line in lines_of(section.blocks)
    ]
    story: list[Any] = []
    if section.title:
        title = f"Section {section.number}. {section.title}"
        first = rows[0].least if rows else 0
        story += [layout.page_break_unless(_HEAD_OF_SECTION + first), layout.spacer(7)]
        story.append(layout.Bookmark(title, level=1))
        story += text.paragraphs(title, layout.styles()["part"])
        story.append(layout.spacer(2))
    return [*story, *rows]


def lines_of(blocks: tuple[Block, ...]) -> list[list[Block]]:
    """Blocks that stand beside each other, as many as fill the width."""
    lines: list[list[Block]] = []
    room = 0
    for block in blocks:
        if not lines or block.width > room:
            lines.append([])
            room = WHOLE
        lines[-1].append(block)
        room -= block.width
    return lines
