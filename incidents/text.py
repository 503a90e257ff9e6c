"""The one way in for text and numbers that people type.

Whatever passes here can be stored by every database, printed, and hashed.
"""

import re
import unicodedata
from decimal import Decimal

# Direction marks can make a line read differently from what it holds.
_BIDI = frozenset(
    "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
)
_NUMBER = re.compile(
    r"(?P<sign>[+\-\u2212]?)(?P<whole>[0-9]*)(?:[.,](?P<part>[0-9]*))?"
)
LONGEST_NUMBER = 30


def clean_text(value: str, *, max_length: int, one_line: bool = False) -> str:
    """The text in NFC without outer white space, or a `ValueError` that says why not.

    Refuses NUL and other control characters (line ends and tabs are kept, unless
    `one_line`), surrogates, direction marks and anything over `max_length` characters.
    """
    text = value.replace("\r\n", "\n").replace("\r", "\n").strip()
    if one_line:
        text = " ".join(text.split())
    for character in text:
        if character in "\n\t":
            continue
        category = unicodedata.category(character)
        if (
            category in ("Cc", "Cs", "Zl", "Zp")
            or character in _BIDI
            or _is_no_character(ord(character))
        ):
            raise ValueError(
                "The text has a character that cannot be kept "
                f"(U+{ord(character):04X}). Delete it and send again."
            )
    text = unicodedata.normalize("NFC", text)
    if len(text) > max_length:
        raise ValueError(
            f"The text has {len(text)} characters; at most {max_length} are kept."
        )
    return text


def _is_no_character(code: int) -> bool:
    return code & 0xFFFE == 0xFFFE or 0xFDD0 <= code <= 0xFDEF


def strict_decimal(text: str) -> Decimal:
    """The number as it was typed: ASCII digits, one decimal sign, comma or point.

    `7`, `7.5`, `7,50`, `-3`, `.5` pass and keep their digits; a minus zero is zero.
    Raises `ValueError` for everything else: `1_000`, `1e3`, `1.000,5`, `NaN`, digits of
    other scripts.
    """
    typed = text.strip()
    if len(typed) > LONGEST_NUMBER:
        raise ValueError(f"At most {LONGEST_NUMBER} characters make a number.")
    match = _NUMBER.fullmatch(typed)
    if match is None or not (match["whole"] or match["part"]):
        raise ValueError(
            "Enter a number with the digits 0 to 9 and at most one decimal sign, "
            "such as 7.5 or 7,5."
        )
    minus = "-" if match["sign"] in ("-", "\u2212") else ""
    number = Decimal(
        f"{minus}{match['whole'] or '0'}.{match['part'] or ''}".rstrip(".")
    )
    return abs(number) if number.is_zero() else number
