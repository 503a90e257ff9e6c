"""The typeface of the reports: Noto Sans, cut once to two weights and always embedded.

The font package holds one variable font; the PDF needs fixed ones. Cutting takes seconds,
so the two cuts are kept in a cache folder and made again only when the package changes.
Noto Sans has no arrows and no "at least" sign; `_ADDED` draws the few that reports use.
Scripts that need shaping are printed letter by letter; a character that no cut holds is
printed as its code point by `reports.text`.
"""

import hashlib
import io
import os
import tempfile
from collections.abc import Mapping, Sequence
from functools import lru_cache
from pathlib import Path
from threading import Lock
from typing import Any, Final

REGULAR: Final = "WorksheetSans"
BOLD: Final = "WorksheetSans-Bold"
WEIGHTS: Final[Mapping[str, int]] = {REGULAR: 400, BOLD: 700}

# Part of the cached file's name: raise it when the cutting below changes.
_RECIPE: Final = 2

# reportlab keeps its fonts in one table for the whole process: one document at a time.
setting: Final = Lock()

Contour = Sequence[tuple[int, int]]


def register() -> None:
    """Make both cuts known to reportlab, once per process."""
    _register()


@lru_cache(maxsize=1)
def _register() -> None:
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    for name in WEIGHTS:
        pdfmetrics.registerFont(TTFont(name, io.BytesIO(font_bytes(name))))
    pdfmetrics.registerFontFamily(
        REGULAR, normal=REGULAR, bold=BOLD, italic=REGULAR, boldItalic=BOLD
    )


@lru_cache(maxsize=2)
def glyph_widths(name: str = REGULAR) -> Mapping[int, float]:
    """Advance widths by code point, in thousandths of the font size."""
    from reportlab.pdfbase import pdfmetrics

    register()
    face = pdfmetrics.getFont(name).face
    return {
        code: face.charWidths.get(code, face.defaultWidth) for code in face.charToGlyph
    }


def has_glyph(character: str) -> bool:
    """Whether both cuts can print it."""
    code = ord(character)
    return all(code in glyph_widths(name) for name in WEIGHTS)


@lru_cache(maxsize=2)
def font_bytes(name: str) -> bytes:
    """The cut as a TrueType file, from the cache or made now."""
    source = _source()
    digest = hashlib.sha256(source.read_bytes()).hexdigest()[:16]
    folder = cache_folder()
    if folder is None:
        return cut(source, name)
    kept = folder / f"{name}-{_RECIPE}-{digest}.ttf"
    try:
        return kept.read_bytes()
    except OSError:
        data = cut(source, name)
        _keep(kept, data)
        return data


def cache_folder() -> Path | None:
    """`WORKSHEET_DATA/fonts`, else the user's own cache: never a folder others write.

    None for a user that has no home.
    """
    data = os.environ.get("WORKSHEET_DATA")
    if data:
        return Path(data) / "fonts"
    try:
        cache = os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache"
    except RuntimeError:
        return None
    return Path(cache) / "hazmat-incident-worksheet" / "fonts"


def cut(source: Path, name: str) -> bytes:
    """One fixed weight of the variable font, with the added signs drawn in."""
    from fontTools.ttLib import TTFont
    from fontTools.varLib import instancer

    # The time stamp of the source stays, so that a cut is the same on every machine.
    font = TTFont(source, recalcTimestamp=False)
    for table in ("GPOS", "GSUB", "GDEF", "STAT"):
        del font[table]
    location = {"wght": WEIGHTS[name], "wdth": 100}
    font = instancer.instantiateVariableFont(font, location, inplace=True)
    _add_signs(font, thickness=71 if name == REGULAR else 107)
    for name_id, value in ((1, name), (4, name), (6, name)):
        font["name"].setName(value, name_id, 3, 1, 0x409)
    out = io.BytesIO()
    font.save(out)
    return out.getvalue()


def _source() -> Path:
    import fontpkg_noto_sans

    root = Path(fontpkg_noto_sans.__file__).parent / "files"
    return root / "NotoSans[wdth,wght].ttf"


def _keep(path: Path, data: bytes) -> None:
    """Store a cut, whole or not at all; a cache that cannot be written is no error."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(dir=path.parent)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        os.replace(temporary, path)
    except OSError:
        return


def _add_signs(font: Any, thickness: int) -> None:
    from fontTools.pens.ttGlyphPen import TTGlyphPen

    for code, contours in _signs(thickness).items():
        glyph_name = f"uni{code:04X}"
        pen = TTGlyphPen(None)
        for contour in contours:
            pen.moveTo(contour[0])
            for point in contour[1:]:
                pen.lineTo(point)
            pen.closePath()
        font.setGlyphOrder([*font.getGlyphOrder(), glyph_name])
        font["glyf"][glyph_name] = pen.glyph()
        font["hmtx"][glyph_name] = (_SIGN_WIDTH, 0)
        for table in font["cmap"].tables:
            if table.isUnicode():
                table.cmap[code] = glyph_name


_SIGN_WIDTH: Final = 700


def _signs(thick: int) -> Mapping[int, Sequence[Contour]]:
    """Outlines of the added signs on the em of 1000, clockwise, by code point."""
    right = _arrow(thick)
    rising = _half_turned(right)
    greater: Contour = ((80, 640), (620, 440), (620, 375), (80, 175), (80, 255), (500, 408), (80, 560))  # fmt: skip
    bar = _box(80, 60, 620, 60 + thick)
    less = _mirrored(greater)
    wave = _wave(thick)
    return {
        0x2190: [_mirrored(right)],
        0x2191: [_turned(right)],
        0x2192: [right],
        0x2193: [_mirrored_down(_turned(right))],
        0x2196: [_mirrored(rising)],
        0x2197: [rising],
        0x2198: [_mirrored_down(rising)],
        0x2199: [_mirrored_down(_mirrored(rising))],
        0x2248: [_raised(wave, 100), _raised(wave, -100)],
        0x2264: [less, bar],
        0x2265: [greater, bar],
        0x25A0: [_box(80, 60, 620, 600)],
        0x25B2: [((350, 640), (660, 60), (40, 60))],
    }


def _arrow(thick: int) -> Contour:
    low, high = 353 - thick // 2, 353 + thick // 2
    return (
        (40, high), (480, high), (330, 520), (430, 580), (660, 353),
        (430, 126), (330, 186), (480, low), (40, low),
    )  # fmt: skip


def _wave(thick: int) -> Contour:
    upper = [(60, 330), (190, 410), (290, 400), (420, 330), (510, 325), (640, 400)]
    lower = [(x, y - thick) for x, y in reversed(upper)]
    return (*upper, *lower)


def _box(left: int, bottom: int, right: int, top: int) -> Contour:
    return ((left, bottom), (left, top), (right, top), (right, bottom))


def _mirrored(contour: Contour) -> Contour:
    return tuple((_SIGN_WIDTH - x, y) for x, y in reversed(contour))


def _mirrored_down(contour: Contour) -> Contour:
    return tuple((x, 706 - y) for x, y in reversed(contour))


def _turned(contour: Contour) -> Contour:
    """A quarter turn to the left about the middle of the sign."""
    return tuple((703 - y, x + 3) for x, y in contour)


def _half_turned(contour: Contour) -> Contour:
    """An eighth of a turn to the left about the middle of the sign."""
    half = 0.5**0.5
    return tuple(
        (
            round(350 + half * ((x - 350) - (y - 353))),
            round(353 + half * ((x - 350) + (y - 353))),
        )
        for x, y in contour
    )


def _raised(contour: Contour, by: int) -> Contour:
    return tuple((x, y + by) for x, y in contour)
