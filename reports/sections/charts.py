"""Each meter against its limits, and under them the verdicts on the same clock."""

from typing import Any

from reports import figures, layout, text
from reports.data import ReportData
from reports.drawing import flowable
from screening.verdicts import Action


def charts(data: ReportData, width: float) -> list[Any]:
    """The verdicts over time, then a chart for each channel."""
    parts: list[Any] = [layout.page_break_unless(200)]
    parts += layout.heading(
        "Readings against their limits",
        "Limits are dashed. Figures of one team at one place with one instrument are"
        " joined by a line.",
    )
    end = data.closed_at or data.made_at
    latest = max((row.at for row in data.timeline), default=end)
    span = figures.span_of(data.series, data.verdicts, min(end, latest))
    if span is None:
        return [*parts, *layout.body("No meter was read.")]
    parts += [Legend(), layout.spacer(6)]
    if data.verdicts:
        chart = figures.verdict_chart(data.verdicts, span, data.zone, width)
        parts += [flowable(chart), layout.spacer(10)]
    for series in data.series:
        chart = figures.meter_chart(series, span, data.zone, width)
        parts += [flowable(chart), layout.spacer(10)]
    return parts


class Legend(layout.Flow):
    """What the signs of the points mean."""

    def wrap(self, avail_width: float, avail_height: float) -> tuple[float, float]:
        return avail_width, 10

    def draw(self) -> None:
        from reports.drawing import draw_shape

        x = 4.0
        for action in Action:
            for shape in figures.marker(action, x, 3.6):
                draw_shape(self.canv, shape)
            self.canv.setFont(layout.REGULAR, layout.SMALL)
            self.canv.drawString(x + 7, 1.2, action.label)
            x += text.width_of(action.label, layout.SMALL) + 26
