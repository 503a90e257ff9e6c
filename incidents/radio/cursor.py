"""Going through a line word by word, keeping what could have stood there."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any, Final, NoReturn, TypeVar

from incidents.radio.understood import Problem
from incidents.radio.words import Word, phrase, words_of

T = TypeVar("T")
MOST_LISTED: Final = 8


class MisheardError(Exception):
    """The line cannot be read on from here."""

    def __init__(self, problem: Problem) -> None:
        super().__init__(problem.expected)
        self.problem = problem


class Cursor:
    """Where in the line we are; `body` and `spans` fill up on the way.

    `awaited` holds the words that could stand at the end of the line, in the order asked.
    """

    def __init__(self, line: str) -> None:
        self.line = line
        self.words = words_of(line)
        self.position = 0
        self.started = 0  # where the word that begins the reading stands
        self.body: dict[str, Any] = {}
        self.spans: dict[str, tuple[int, int]] = {}
        self.awaited: dict[str, None] = {}

    @property
    def done(self) -> bool:
        return self.position >= len(self.words)

    @property
    def word(self) -> Word | None:
        return None if self.done else self.words[self.position]

    def asks(self, phrases: Iterable[str]) -> None:
        """Note what could stand here, where the line ends here or inside of it."""
        left = tuple(word.folded for word in self.words[self.position :])
        for text in phrases:
            parts = phrase(text)
            if len(parts) > len(left) and parts[: len(left)] == left:
                self.awaited.setdefault(" ".join(text.split()[len(left) :]) or text)

    def take(self, *phrases: str) -> str | None:
        """The longest of the phrases that stands here, passed over; None for none."""
        return self.take_of({text: text for text in phrases})

    def take_of(self, names: Mapping[str, T]) -> T | None:
        """The value of the longest name that stands here. Names are matched by words."""
        self.asks(names)
        best: tuple[int, T] | None = None
        for name, value in names.items():
            length = self._matches(phrase(name))
            if length and (best is None or length > best[0]):
                best = length, value
        if best is None:
            return None
        self.position += best[0]
        return best[1]

    def stands(self, phrases: Iterable[str]) -> bool:
        """Whether one of them stands here."""
        return any(self._matches(phrase(text)) for text in phrases)

    def _matches(self, parts: tuple[str, ...]) -> int:
        """How many words of the line a phrase covers here; 0 where it does not stand."""
        rest = self.words[self.position :]
        flat: list[str] = []
        for count, word in enumerate(rest, start=1):
            flat.extend(phrase(word.text))
            if tuple(flat) == parts:
                return count
            if len(flat) >= len(parts) or tuple(flat) != parts[: len(flat)]:
                return 0
        return 0

    def figure(self, what: str) -> Decimal:
        """A number, to the last digit as it was typed. Raises `MisheardError` at the word."""
        word = self.word
        if word is None:
            self.fail(f"{what}, as a number")
        text = word.figure
        if text is None and word.digits and "," in word.text:
            self.fail(f"a point, as in {word.text.replace(',', '.')}")
        if text is None:
            self.fail(f"{what}, as a number")
        self.position += 1
        return Decimal(text)

    def choose(self, names: Mapping[str, T], what: str = "") -> T:
        """One of the names, which has to stand here."""
        found = self.take_of(names)
        if found is None:
            self.fail(what or listed(names))
        return found

    def fail(self, expected: str) -> NoReturn:
        """Stop at this word, or at the end of the line."""
        word = self.word
        at = (word.start, word.end) if word else (len(self.line), len(self.line))
        raise MisheardError(Problem(*at, expected))

    def put(self, field: str, value: Any, since: int) -> None:
        """Say a field, by the words from `since` to here. A second time is refused."""
        start = self.words[since].start
        end = self.words[self.position - 1].end
        if field in self.body:
            raise MisheardError(Problem(start, end, f"{plain(field)} once only"))
        self.body[field] = value
        self.spans[field] = (start, end)

    def rest(self) -> str:
        """The line from here to its end, as it was typed."""
        word = self.word
        if word is None:
            return ""
        self.position = len(self.words)
        return self.line[word.start :].strip()


def plain(field: str) -> str:
    return field.removesuffix("_percent").removesuffix("_ppm").replace("_", " ")


def listed(names: Iterable[str]) -> str:
    """ "wet or dry", "a, b, c …" where there are many."""
    every = list(dict.fromkeys(names))
    if len(every) > MOST_LISTED:
        return f"{', '.join(every[:MOST_LISTED])} …"
    *most, last = every or [""]
    return f"{', '.join(most)} or {last}" if most else last
