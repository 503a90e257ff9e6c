"""What was done in the blocks of the public form ICS 214, Activity Log.

Numbers and titles of the blocks follow that form, a work of the United States government
(edition of 2010).
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, tzinfo
from typing import Final

from command.form import Block, Section, Table, for_hand, set_out, some
from command.words import NOT_RECORDED, moment_words

SOURCE: Final = "ICS 214"
TITLE: Final = "Activity log"
_WIDTHS: Final[Mapping[int, int]] = {1: 3, 2: 3, 3: 2, 4: 2, 5: 2}
_PEOPLE_FOR_HAND: Final = 8
_LINES_FOR_HAND: Final = 24
_RESOURCES: Final = Table(
    columns=("Name", "ICS position or team", "Home agency and unit"), rows=()
)
_ACTIVITIES: Final = Table(
    columns=("Date and time", "Notable activities", "Logged by"),
    rows=(),
    shares=(1.5, 6, 1.8),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Activity:
    """One line of the log. `recorded_at` is given where it was logged late."""

    at: datetime
    words: str
    by: str
    recorded_at: datetime | None = None
    struck: str = ""  # why, by whom and what stands in its place


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """All that the form is filled from; times are printed in `zone`."""

    incident: str = ""
    since: datetime | None = None
    until: datetime | None = None
    name: str = ""  # of whoever prepares it
    position: str = ""
    agency: str = ""
    resources: tuple[tuple[str, str, str], ...] = ()
    activities: tuple[Activity, ...] = ()
    at: datetime | None = None
    zone: tzinfo | None = None


def sections(known: Known) -> tuple[Section, ...]:
    """Blocks 1 to 8; the form has no sections, so these have no titles."""
    made = (
        Section(number="", title="", blocks=tuple(_head(known))),
        Section(number="", title="", blocks=(_activities(known),)),
        Section(number="", title="", blocks=(_prepared(known),)),
    )
    return set_out(made, _WIDTHS)


def blank() -> tuple[Section, ...]:
    """The same blocks with nothing in them, to be filled in by hand."""
    return for_hand(sections(Known()), _PEOPLE_FOR_HAND, {7: _LINES_FOR_HAND})


def _head(known: Known) -> Iterator[Block]:
    yield Block(number=1, title="Incident name", lines=some(known.incident))
    yield Block(number=2, title="Operational period", lines=some(_period(known)))
    yield Block(number=3, title="Name", lines=some(known.name))
    yield Block(number=4, title="ICS position", lines=some(known.position))
    yield Block(number=5, title="Home agency and unit", lines=some(known.agency))
    yield Block(
        number=6,
        title="Resources assigned",
        table=replace(_RESOURCES, rows=known.resources),
    )


def _period(known: Known) -> str:
    if known.since is None:
        return ""
    until = moment_words(known.until, known.zone) if known.until else NOT_RECORDED
    return f"from {moment_words(known.since, known.zone)} to {until}"


def _activities(known: Known) -> Block:
    rows = tuple(_row(each, known.zone) for each in known.activities)
    return Block(number=7, title="Activity log", table=replace(_ACTIVITIES, rows=rows))


def _row(each: Activity, zone: tzinfo | None) -> tuple[str, str, str]:
    when = f"{each.at.astimezone(zone):%Y-%m-%d %H:%M:%S}"
    if each.recorded_at is not None:
        when += f"\nlogged {each.recorded_at.astimezone(zone):%H:%M:%S}"
    words = each.words
    if each.struck:
        words = f"[struck] {words} [put right: {each.struck}]"
    return when, words, each.by


def _prepared(known: Known) -> Block:
    when = moment_words(known.at, known.zone) if known.at else ""
    line = ", ".join(some(known.name, known.position, when))
    return Block(number=8, title="Prepared by", lines=some(line), signed=True)
