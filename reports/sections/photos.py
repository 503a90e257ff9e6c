"""The appendix of photos: each as its record names it, and those that never came."""

import hashlib
import io
from typing import Any, Final

from reports import layout
from reports.clock import moment
from reports.data import PhotoLine, ReportData

# Nine centimetres; two of them share a page.
TALLEST: Final = 250.0
# Its number over it and the lines under it.
CAPTION: Final = 68.0
HEADING: Final = 60.0


def photos(data: ReportData, width: float) -> list[Any]:
    """Each photo with its record; nothing where no record names one."""
    if not data.photos:
        return []
    # The heading stands over the first of them, never alone at the foot of a page.
    parts: list[Any] = [layout.page_break_unless(HEADING + _room(data.photos[0]))]
    parts += layout.heading(
        "Photos",
        "Each record named below holds the SHA-256 of its photo, and so does the chain."
        " A photo is not judged: what it shows counts where it was logged as a reading.",
    )
    for photo in data.photos:
        parts += _one(data, photo, width)
    return parts


def _one(data: ReportData, photo: PhotoLine, width: float) -> list[Any]:
    where = ", ".join(filter(None, (photo.team, photo.place)))
    words = f"{photo.words}, {where}" if where else photo.words
    facts = f"{moment(photo.at, data.zone)}, {_by(photo)}. {_state(photo)}"
    parts: list[Any] = [layout.page_break_unless(_room(photo))]
    parts += layout.part_heading(f"Record {photo.seq}")
    if photo.picture:
        parts += [Picture(photo, width), layout.spacer(3)]
    parts += layout.body(words)
    parts += layout.small(facts)
    return [*parts, *layout.small(f"SHA-256 {photo.sha256}"), layout.spacer(8)]


def _room(photo: PhotoLine) -> float:
    return CAPTION + (TALLEST if photo.picture else 0)


def _by(photo: PhotoLine) -> str:
    return ", ".join(filter(None, (f"by {photo.author}", photo.device)))


def _state(photo: PhotoLine) -> str:
    sentences = []
    if photo.taken_back:
        sentences.append(f"Taken back: {photo.taken_back}.")
    if photo.state:
        sentences.append(f"{photo.state}.")
    elif not photo.as_kept:
        sentences.append(
            f"Printed from a smaller copy; the photo itself has {photo.size} bytes."
        )
    return " ".join(sentences)


class Picture(layout.Flow):
    """A JPEG, put into the file byte for byte."""

    def __init__(self, photo: PhotoLine, width: float) -> None:
        super().__init__()
        wide, high = photo.pixels_wide, photo.pixels_high
        scale = min(width / wide, TALLEST / high, 1.0)
        self.width, self.height = wide * scale, high * scale
        self._photo = photo

    def wrap(self, avail_width: float, avail_height: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        canvas = self.canv
        name = _known_to(canvas, self._photo)
        canvas.saveState()
        canvas.scale(self.width, self.height)
        canvas._code.append(f"/{name} Do")
        canvas.restoreState()
        canvas.setLineWidth(layout.HAIRLINE)
        canvas.rect(0, 0, self.width, self.height)


class _Jpeg:
    """What reportlab asks of an image, for bytes that need no unpacking."""

    def __init__(self, content: bytes) -> None:
        self._content = content

    def jpeg_fh(self) -> io.BytesIO:
        return io.BytesIO(self._content)


def _known_to(canvas: Any, photo: PhotoLine) -> str:
    """The name of the picture in the file, which has it once.

    reportlab's own way unpacks it and writes it as text, a quarter larger.
    """
    from reportlab.pdfbase.pdfdoc import PDFImageXObject

    name = hashlib.sha256(photo.picture).hexdigest()
    registered: str = canvas._doc.getXObjectName(name)
    canvas._currentPageHasImages = 1
    canvas._formsinuse.append(name)
    if registered not in canvas._doc.idToObject:
        image = PDFImageXObject(name, _Jpeg(photo.picture))
        image.streamContent, image._filters = photo.picture, ("DCTDecode",)
        canvas._setXObjects(image)
        canvas._doc.Reference(image, registered)
        canvas._doc.addForm(name, image)
    return registered
