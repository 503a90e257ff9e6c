"""The one way by which text from people reaches a page of the report.

Nothing that a person typed is ever read as markup: `Paragraph` is called here and nowhere
else (a test reads the sources for it), always on escaped text. What cannot be printed is
shown as its code point instead of being dropped; the exact text is in the attached JSON.
"""

import unicodedata
from functools import lru_cache
from typing import Any, Final
from xml.sax.saxutils import escape

from reports import fonts

# Long paragraphs cost more than their length: they are set in pieces of this many signs.
PIECE: Final = 2000
TAB: Final = "    "
MARKS_IN_A_ROW: Final = 4
_REPLACEMENT: Final = "\N{REPLACEMENT CHARACTER}"


def printable(text: str) -> str:
    """The text as the page can show it, with line breaks as "\\n" and nothing hidden.

    Control characters, lone surrogates and noncharacters become U+FFFD; direction marks
    and other invisible signs, and whatever the font lacks, print as [U+1F525]; of a heap
    of combining marks the first few are kept and the rest are counted.
    """
    if text.isascii() and text.isprintable():
        return text
    text = text.replace("\r\n", "\n").replace("\r", "\n").replace("\t", TAB)
    text = unicodedata.normalize("NFC", text)
    return _without_heaps("".join(map(_shown, text)))


@lru_cache(maxsize=4096)
def _shown(character: str) -> str:
    code = ord(character)
    if character == "\n" or (32 <= code < 127):
        return character
    if character in "\N{NO-BREAK SPACE}\N{NARROW NO-BREAK SPACE}":
        return " "
    category = unicodedata.category(character)
    if category in ("Cc", "Cs") or code & 0xFFFE == 0xFFFE or 0xFDD0 <= code <= 0xFDEF:
        return _REPLACEMENT if fonts.has_glyph(_REPLACEMENT) else "[U+FFFD]"
    if category in ("Zl", "Zp"):
        return "\n"
    if category == "Cf" or not fonts.has_glyph(character):
        return f"[U+{code:04X}]"
    return character


def _without_heaps(text: str) -> str:
    out: list[str] = []
    marks = 0
    for character in text:
        if unicodedata.combining(character):
            marks += 1
            if marks <= MARKS_IN_A_ROW:
                out.append(character)
            continue
        if marks > MARKS_IN_A_ROW:
            out.append(f"[{marks - MARKS_IN_A_ROW} more marks]")
        marks = 0
        out.append(character)
    if marks > MARKS_IN_A_ROW:
        out.append(f"[{marks - MARKS_IN_A_ROW} more marks]")
    return "".join(out)


def markup(text: str) -> str:
    """Printable text escaped for reportlab: every sign of it prints as itself."""
    return escape(printable(text)).replace("\n", "<br/>")


def paragraphs(text: str, style: Any, lead: str = "") -> list[Any]:
    """Flowing text as reportlab paragraphs, in pieces short enough to set fast.

    `lead` is set in bold before the text. Words longer than the line are broken.
    """
    from reportlab.platypus import Paragraph

    fonts.register()
    pieces = _pieces(text) or [""]
    bold = f"<b>{markup(lead)}</b> " if lead else ""
    return [
        Paragraph((bold if index == 0 else "") + markup(piece), style)
        for index, piece in enumerate(pieces)
    ]


def _pieces(text: str) -> list[str]:
    pieces = []
    while text:
        end = len(text)
        if end > PIECE:
            end = max(text.rfind(" ", 0, PIECE), text.rfind("\n", 0, PIECE)) + 1
            end = end if end > PIECE // 2 else PIECE
        pieces.append(text[:end])
        text = text[end:]
    return pieces


def width_of(text: str, size: float, font: str = fonts.REGULAR) -> float:
    """Width in points of one printable line."""
    return _units(text, font) * size / 1000


@lru_cache(maxsize=20_000)
def _units(text: str, font: str) -> float:
    widths = fonts.glyph_widths(font)
    return sum(widths.get(ord(character), 600.0) for character in text)


def wrap(
    text: str, width: float, size: float, font: str = fonts.REGULAR
) -> tuple[str, ...]:
    """Printable lines of at most `width` points; a word that is longer is broken.

    Cost grows with the length of the text and no faster.
    """
    lines: list[str] = []
    for line in printable(text).split("\n"):
        lines += _wrap_line(line, width * 1000 / size, font)
    return tuple(lines)


def _wrap_line(line: str, room: float, font: str) -> list[str]:
    if len(line) * 250 <= room and _units(line, font) <= room:
        return [line]
    space = _units(" ", font)
    lines: list[str] = []
    words: list[str] = []
    used = 0.0
    for word in line.split(" "):
        size = _units(word, font) if len(word) < 80 else room + 1
        if words and used + space + size > room:
            lines.append(" ".join(words))
            words, used = [], 0.0
        if size > room:
            *full, word = _broken(word, room, font)
            lines += full
            size = _units(word, font)
        used += size + (space if words else 0.0)
        words.append(word)
    lines.append(" ".join(words))
    return lines


def _broken(word: str, room: float, font: str) -> list[str]:
    widths = fonts.glyph_widths(font)
    parts: list[str] = []
    start = 0
    used = 0.0
    for index, character in enumerate(word):
        size = widths.get(ord(character), 600.0)
        if used + size > room and index > start:
            parts.append(word[start:index])
            start, used = index, 0.0
        used += size
    parts.append(word[start:])
    return parts


def fitted(text: str, width: float, size: float, font: str = fonts.REGULAR) -> str:
    """One line cut to `width` points, with an ellipsis where something was left out."""
    line = printable(text).replace("\n", " ")
    if width_of(line, size, font) <= width:
        return line
    dots = "…"
    kept = _broken(line[:1000], (width * 1000 / size) - _units(dots, font), font)[0]
    return kept.rstrip() + dots
