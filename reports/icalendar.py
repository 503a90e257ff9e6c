"""Days that are due as a calendar, RFC 5545: one all-day event each, nothing repeats.

Lines end in CRLF and are folded at 75 octets; text is escaped. The same days give the
same bytes, so that a calendar that reads the file again changes its events, and makes
none twice.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Final

from screening.verdicts import CAUTION

PRODUCT: Final = "-//Hazmat Incident Worksheet//Days due 1//EN"
_OCTETS: Final = 75  # of a line without its end; RFC 5545, 3.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """Something that is due on a day, or at a moment; `uid` is the same for it always.

    One of the two, `day` or `starts` (aware), is given.
    """

    uid: str
    title: str
    day: date | None = None
    starts: datetime | None = None
    words: str = ""


def calendar(name: str, days: Iterable[Due], made_at: datetime) -> Iterator[str]:
    """The file line by line, folded."""
    stamp = made_at.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")
    yield from _lines("BEGIN:VCALENDAR", "VERSION:2.0", f"PRODID:{PRODUCT}")
    yield from _lines(f"X-WR-CALNAME:{escaped(name)}")
    for due in days:
        yield from _lines(
            "BEGIN:VEVENT",
            f"UID:{escaped(due.uid)}",
            f"DTSTAMP:{stamp}",
            *_times(due),
            f"SUMMARY:{escaped(due.title)}",
            f"DESCRIPTION:{escaped(' '.join(filter(None, (due.words, CAUTION))))}",
            "TRANSP:TRANSPARENT",
            "END:VEVENT",
        )
    yield from _lines("END:VCALENDAR")


def _times(due: Due) -> tuple[str, ...]:
    """A whole day, or a moment in UTC that takes no time (RFC 5545, 3.6.1)."""
    if due.starts is not None:
        return (f"DTSTART:{due.starts.astimezone(UTC):%Y%m%dT%H%M%SZ}",)
    if due.day is None:
        raise ValueError("a thing that is due has a day or a moment")
    after = due.day + timedelta(days=1)  # the end of an event is not part of it
    return (f"DTSTART;VALUE=DATE:{due.day:%Y%m%d}", f"DTEND;VALUE=DATE:{after:%Y%m%d}")


def escaped(text: str) -> str:
    """RFC 5545, 3.3.11: backslash, semicolon, comma and line end."""
    for raw, kept in (("\\", "\\\\"), (";", "\\;"), (",", "\\,"), ("\n", "\\n")):
        text = text.replace(raw, kept)
    return text.replace("\r", "")


def _lines(*texts: str) -> Iterator[str]:
    for text in texts:
        yield "\r\n ".join(_folded(text)) + "\r\n"


def _folded(text: str) -> Iterator[str]:
    """Pieces of at most 75 octets with the blank before them, no character in two."""
    piece, size, room = "", 0, _OCTETS
    for character in text:
        octets = len(character.encode())
        if size + octets > room:
            yield piece
            piece, size, room = "", 0, _OCTETS - 1
        piece += character
        size += octets
    yield piece
