"""The one way in for text and numbers that people type.

Whatever passes here can be stored by every database, printed, and hashed.
"""

import re
import unicodedata
from collections.abc import Sequence
from decimal import Decimal

from django.utils.text import slugify

# Direction marks can make a line read differently from what it holds.
_BIDI = frozenset(
    "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
)
_NUMBER = re.compile(
    r"(?P<sign>[+\-\u2212]?)(?P<whole>[0-9]*)(?:[.,](?P<part>[0-9]*))?"
)
LONGEST_NUMBER = 30
# What a word is looked for by: figures count ("1005"), marks of punctuation do not.
_WORD = re.compile(r"[^\W_]+(?:[.,'’-][^\W_]+)*")


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


def folded(text: str) -> str:
    """For searching only: small letters without accents, so that "Érables" is "erables".

    Letters that are no accented ones stay as they are ("ø"), but for those that the
    case mapping writes out ("ß" is "ss").
    """
    apart = unicodedata.normalize("NFKD", text.casefold())
    plain = "".join(each for each in apart if not unicodedata.combining(each))
    return unicodedata.normalize("NFC", plain)


def search_words(text: str) -> list[str]:
    """The words of a text as they are kept and looked for, folded, without marks."""
    return _WORD.findall(folded(text))


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


def unique_key(name: str, taken: Sequence[str], fallback: str) -> str:
    """A short key for a name, e.g. `entry-1`; numbered where it is taken."""
    stem = slugify(name)[:50] or fallback
    key, number = stem, 2
    while key in taken:
        key, number = f"{stem}-{number}", number + 1
    return key
