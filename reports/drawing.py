"""A drawing of lines, signs and labels that a page shows as SVG and the PDF as vectors.

Lengths are in points, the origin is at the lower left. Nothing is told by colour: lines
differ by their dashes, signs by their shape.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any, Final, Literal
from xml.sax.saxutils import escape, quoteattr

from reports import text

Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """A line through points; `closed` joins its ends, `filled` makes it solid."""

    points: tuple[tuple[float, float], ...]
    width: float = 0.8
    dash: tuple[float, ...] = ()
    closed: bool = False
    filled: bool = False
    kind: str = "line"  # the class of the SVG element


@dataclass(frozen=True, slots=True, kw_only=True)
class Ring:
    x: float
    y: float
    radius: float
    width: float = 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    x: float
    y: float
    words: str  # as people wrote them
    size: float = 7.0
    anchor: Anchor = "start"
    bold: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """Shapes that lead somewhere on a page; on paper they are only drawn.

    The keyboard passes them by: a page that has them has the same links in a table.
    """

    href: str
    title: str  # what a pointer is told
    shapes: tuple["Plain", ...]


Plain = Stroke | Ring | Label
Shape = Plain | Link
# What is only to be hit by a pointer, and never seen.
TARGET: Final = "target"


def target(x: float, y: float, half: float) -> Stroke:
    """Room for a pointer about a sign."""
    low, high = y - half, y + half
    corners = ((x - half, low), (x - half, high), (x + half, high), (x + half, low))
    return Stroke(points=corners, width=0, closed=True, kind=TARGET)


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    width: float
    height: float
    shapes: tuple[Shape, ...]
    title: str  # what it is, for those who cannot see it
    description: str  # what it shows, in words


def lifted(shape: Shape, by: float) -> Shape:
    """The same, higher by some points."""
    if isinstance(shape, Link):
        inner = (lifted(each, by) for each in shape.shapes)
        return replace(shape, shapes=tuple(e for e in inner if not isinstance(e, Link)))
    if isinstance(shape, Stroke):
        return replace(shape, points=tuple((x, y + by) for x, y in shape.points))
    return replace(shape, y=shape.y + by)


def svg(drawing: Drawing, ident: str) -> str:
    """The drawing as one SVG element, ready for a page with a strict CSP.

    No style attribute and no script: presentation attributes and classes only, ink in
    the page's own colour. `ident` makes its ids unique on the page; it is escaped.
    """
    title, words = quoteattr(f"{ident}-title"), quoteattr(f"{ident}-desc")
    both = quoteattr(f"{ident}-title {ident}-desc")
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="chart" role="{_role(drawing)}"'
        f' viewBox="0 0 {_n(drawing.width)} {_n(drawing.height)}"'
        f' aria-labelledby={both} fill="none" stroke="currentColor">',
        f"<title id={title}>{_e(drawing.title)}</title>",
        f"<desc id={words}>{_e(drawing.description)}</desc>",
        *(_svg_shape(shape, drawing.height) for shape in drawing.shapes),
        "</svg>",
    ]
    return "".join(parts)


def _role(drawing: Drawing) -> str:
    """A picture has nothing in it to be opened; a drawing with links is no picture."""
    return "group" if any(isinstance(each, Link) for each in drawing.shapes) else "img"


def _svg_shape(shape: Shape, height: float) -> str:
    if isinstance(shape, Link):
        inner = "".join(_svg_shape(each, height) for each in shape.shapes)
        return (
            f'<a href={quoteattr(shape.href)} tabindex="-1">'
            f"<title>{_e(shape.title)}</title>{inner}</a>"
        )
    if isinstance(shape, Ring):
        return (
            f'<circle class="point" cx="{_n(shape.x)}" cy="{_n(height - shape.y)}"'
            f' r="{_n(shape.radius)}" stroke-width="{_n(shape.width)}"/>'
        )
    if isinstance(shape, Label):
        weight = ' font-weight="700"' if shape.bold else ""
        return (
            f'<text x="{_n(shape.x)}" y="{_n(height - shape.y)}"'
            f' font-size="{_n(shape.size)}" text-anchor="{shape.anchor}"{weight}'
            f' fill="currentColor" stroke="none">{_e(shape.words)}</text>'
        )
    points = " ".join(f"{_n(x)},{_n(height - y)}" for x, y in shape.points)
    tag = "polygon" if shape.closed else "polyline"
    dash = f' stroke-dasharray="{_list(shape.dash)}"' if shape.dash else ""
    fill = ' fill="currentColor"' if shape.filled else ""
    return (
        f'<{tag} class={quoteattr(shape.kind)} points="{points}"'
        f' stroke-width="{_n(shape.width)}"{dash}{fill}/>'
    )


def _n(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _list(values: Iterable[float]) -> str:
    return " ".join(map(_n, values))


def _e(words: str) -> str:
    return escape(text.printable(words))


def flowable(drawing: Drawing) -> Any:
    """The drawing as a flowable of reportlab, its lines as vectors."""
    from reportlab.platypus import Flowable

    class Figure(Flowable):  # type: ignore[misc]  # reportlab ships no type hints
        def __init__(self) -> None:
            super().__init__()
            self.width, self.height = drawing.width, drawing.height

        def draw(self) -> None:
            for shape in drawing.shapes:
                draw_shape(self.canv, shape)

    return Figure()


def draw_shape(canvas: Any, shape: Shape) -> None:
    """Put one shape on a canvas of reportlab, at its own place."""
    from reports import fonts

    if isinstance(shape, Link):
        for each in shape.shapes:
            draw_shape(canvas, each)
        return
    if isinstance(shape, Stroke) and shape.kind == TARGET:
        return
    if isinstance(shape, Ring):
        canvas.setLineWidth(shape.width)
        canvas.setFillGray(1)
        canvas.circle(shape.x, shape.y, shape.radius, fill=1)
        canvas.setFillGray(0)
        return
    if isinstance(shape, Label):
        font = fonts.BOLD if shape.bold else fonts.REGULAR
        words = text.printable(shape.words).replace("\n", " ")
        canvas.setFont(font, shape.size)
        place = {
            "start": canvas.drawString,
            "middle": canvas.drawCentredString,
            "end": canvas.drawRightString,
        }[shape.anchor]
        place(shape.x, shape.y, words)
        return
    canvas.setLineWidth(shape.width)
    canvas.setDash(list(shape.dash))
    path = canvas.beginPath()
    path.moveTo(*shape.points[0])
    for point in shape.points[1:]:
        path.lineTo(*point)
    if shape.closed:
        path.close()
        canvas.setFillGray(0 if shape.filled else 1)
    canvas.drawPath(path, stroke=1, fill=int(shape.closed))
    canvas.setFillGray(0)
    canvas.setDash([])
