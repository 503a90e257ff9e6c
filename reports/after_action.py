"""The after-action report as a PDF. Plain values in, bytes out; signing is elsewhere."""

import io
from threading import Lock
from typing import Any, Final

from reports.data import ReportData

# reportlab keeps its fonts in one table for the whole process.
_building: Final = Lock()


def build(data: ReportData, *, invariant: bool = True, page_size: str = "A4") -> bytes:
    """The unsigned report.

    `invariant`: the same data gives the same bytes, whenever and wherever it is built.
    `page_size`: "A4" or "letter". Raises KeyError for any other.
    """
    from reports import layout

    width = layout.column_width(page_size)
    out = io.BytesIO()
    with _building:
        document = layout.document(out, page_size, _title(data), invariant)
        canvas = layout.numbered_canvas(_running(data))
        document.build(_story(data, width), canvasmaker=canvas)
    return out.getvalue()


def _title(data: ReportData) -> str:
    from reports.sections.front import kind_of

    return f"{data.incident}: {kind_of(data)}"


def _running(data: ReportData) -> Any:
    from reports import layout
    from reports.sections.front import FULL_KIND, kind_of

    kind = kind_of(data)
    head = f"Record {data.head.seq}, {data.head.sha256[:12]}" if data.head else ""
    return layout.Running(
        incident=data.incident, kind=kind, head=head, marked=kind != FULL_KIND
    )


def _story(data: ReportData, width: float) -> list[Any]:
    from reports.sections import basis, charts, coverage, front, sign_off
    from reports.sections import standing as teams
    from reports.sections import timeline as log

    return [
        *front.front(data, width),
        *teams.standing(data, width),
        *coverage.coverage(data, width),
        *log.decisions(data, width),
        *charts.charts(data, width),
        *log.timeline(data, width),
        *teams.teams(data, width),
        *basis.rules(data, width),
        *basis.limits(data, width),
        *basis.cautions(data),
        *sign_off.sign_off(data, width),
    ]
