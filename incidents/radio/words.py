"""A line cut into words, each with its place in the line."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

# A figure may have its unit glued on: "4%", "3200psi", "41°C".
_PIECES: Final = re.compile(
    r'"(?P<quoted>[^"]*)"?'
    r"|(?P<figure>[+\-−]?\d+(?:[.,]\d+)*)(?=$|\s|%|°|[A-Za-zµμ])"
    r"|(?P<word>[^\s\"]+)"
)
_FIGURE: Final = re.compile(r"[+-]?\d+(\.\d+)?", re.ASCII)


@dataclass(frozen=True, slots=True)
class Word:
    text: str
    start: int
    end: int
    quoted: bool = False

    @property
    def folded(self) -> str:
        return self.text.casefold()

    @property
    def figure(self) -> str | None:
        """The figure as JSON writes it; None where the word is not one."""
        plain = self.text.replace("\N{MINUS SIGN}", "-")
        if self.quoted or not _FIGURE.fullmatch(plain):
            return None
        return plain.removeprefix("+")

    @property
    def digits(self) -> bool:
        return not self.quoted and self.text.strip("+-\N{MINUS SIGN}")[:1].isdigit()


def words_of(line: str) -> tuple[Word, ...]:
    return tuple(_words(line))


def _words(line: str) -> Iterator[Word]:
    for piece in _PIECES.finditer(line):
        quoted = piece.group("quoted")
        text = piece.group() if quoted is None else quoted
        yield Word(text, piece.start(), piece.end(), quoted is not None)


def phrase(name: str) -> tuple[str, ...]:
    """A name as the words by which it is found in a line: "Entry-1" is "entry 1"."""
    return tuple(re.sub(r"[-_/]", " ", name).casefold().split())
