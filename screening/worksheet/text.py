"""Text from people: what is refused, what counts as empty, how a name is made comparable."""

import re
import unicodedata
from typing import Final

# NUL and other controls (tab and line ends aside), lone surrogates, noncharacters, and
# the marks that turn the direction of text: with them a name can be shown as another.
_REFUSED: Final = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff"
    "\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]"
)
_ZERO_WIDTH: Final = re.compile("[\u200b\u2060\ufeff]")
_NOTHING_TO_SEE: Final = re.compile("[\\s\u200b-\u200d\u2060\ufeff]*")


def refused(text: str) -> str:
    """What in the text cannot be taken, in words; "" where nothing."""
    if text.isascii() and text.isprintable():
        return ""
    match = _REFUSED.search(text)
    if match is None:
        return ""
    code = ord(match[0])
    if code == 0:
        kind = "a NUL character"
    elif 0xD800 <= code <= 0xDFFF:
        kind = "half a character (a lone surrogate)"
    elif code in (0xFFFE, 0xFFFF):
        kind = "a code that is no character"
    elif code < 0xA0:
        kind = "a control character"
    else:
        kind = "a mark that turns the direction of text"
    return f"{kind}, U+{code:04X}"


def is_blank(text: str) -> bool:
    """Empty, or nothing but white space and characters of no width."""
    return not text or _NOTHING_TO_SEE.fullmatch(text) is not None


def collapsed(text: str) -> str:
    """One spelling for names that look alike: white space single, composed, none unseen."""
    if not text.isascii():
        text = unicodedata.normalize("NFC", _ZERO_WIDTH.sub("", text))
    return " ".join(text.split())
