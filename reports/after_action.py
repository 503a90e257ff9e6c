"""The after-action report as a PDF. Plain values in, bytes out; signing is elsewhere."""

import io
from collections.abc import Sequence
from typing import Any

from reports import fonts
from reports.archival import About, Attachment, archived
from reports.data import ReportData
from screening.verdicts import CAUTION


def build(
    data: ReportData,
    *,
    attachments: Sequence[Attachment] = (),
    page_size: str = "A4",
) -> bytes:
    """The unsigned report as an archival file, with the files it was made from.

    The same data and files give the same bytes, whenever and wherever it is built.
    `page_size`: "A4" or "letter". Raises KeyError for any other.
    """
    from reports import layout, running_pages, text

    width = layout.column_width(page_size)
    out = io.BytesIO()
    with fonts.setting:
        document = layout.document(out, page_size)
        canvas = running_pages.numbered_canvas(_running(data))
        document.build(_story(data, width), canvasmaker=canvas)
    about = About(
        title=text.printable(_title(data)),
        agency=text.printable(data.agency),
        subject=CAUTION,
        made_at=data.made_at,
    )
    return archived(out.getvalue(), about, attachments)


def _title(data: ReportData) -> str:
    from reports.sections.front import kind_of

    return f"{data.incident}: {kind_of(data)}"


def _running(data: ReportData) -> Any:
    from reports import running_pages
    from reports.sections.front import FULL_KIND, kind_of

    kind = kind_of(data)
    head = f"Record {data.head.seq}, {data.head.sha256[:12]}" if data.head else ""
    return running_pages.Running(
        incident=data.incident,
        kind=kind,
        head=head,
        marked=kind != FULL_KIND,
        drill=data.drill,
    )


def _story(data: ReportData, width: float) -> list[Any]:
    from reports.sections import (
        basis,
        charts,
        coverage,
        evidence,
        front,
        photos,
        sign_off,
    )
    from reports.sections import standing as teams
    from reports.sections import timeline as log

    return [
        *front.front(data, width),
        *teams.standing(data, width),
        *coverage.coverage(data, width),
        *evidence.evidence(data, width),
        *log.decisions(data, width),
        *charts.charts(data, width),
        *log.timeline(data, width),
        *teams.teams(data, width),
        *basis.rules(data, width),
        *basis.limits(data, width),
        *basis.cautions(data),
        *photos.photos(data, width),
        *sign_off.sign_off(data, width),
    ]
