"""What the printed form is made of: blocks, sections, and what they are filled from."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, tzinfo
from typing import Final

from command.plan import Plan
from command.scene import Scene

WHOLE: Final = 6  # widths are in sixths of the line


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """`shares` are the widths of the columns in proportion; empty is all alike."""

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    shares: tuple[float, ...] = ()

    def empty(self, rows: int) -> "Table":
        """The same columns over as many rows to fill in by hand."""
        return replace(self, rows=(("",) * len(self.columns),) * rows)


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """One numbered block. `asked` is False for those that the form leaves open."""

    number: int
    title: str
    lines: tuple[str, ...] = ()
    table: Table | None = None
    asked: bool = True
    signed: bool = False  # a signature goes here
    sketch: bool = False  # room for a drawing
    width: int = WHOLE

    @property
    def is_empty(self) -> bool:
        return not self.lines and (self.table is None or not self.table.rows)

    @property
    def name(self) -> str:
        return f"{self.number} {self.title}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    number: str
    title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tool:
    """One instrument that was taken along, and what is known of its fitness."""

    name: str
    kind: str  # as the worksheet document names it
    sensors: tuple[str, ...] = ()
    fitness: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """What the form is filled from, beside the scene."""

    incident: str
    location: str
    scene: Scene
    tools: tuple[Tool, ...] = ()
    zone: tzinfo | None = None

    @property
    def plan(self) -> Plan:
        return self.scene.plan


def no_paper() -> Paper:
    """Nothing known at all, for a blank form."""
    scene = Scene(plan=Plan(), at=datetime.min, crews=())  # noqa: DTZ901  not shown
    return Paper(incident="", location="", scene=scene)


def set_out(
    sections: Iterable[Section], widths: Mapping[int, int]
) -> tuple[Section, ...]:
    """The sections with each block as wide as the public form has it."""
    return _changed(
        sections, lambda block: replace(block, width=widths.get(block.number, WHOLE))
    )


def for_hand(
    sections: Iterable[Section], rows: int, more: Mapping[int, int] | None = None
) -> tuple[Section, ...]:
    """The same blocks with nothing in them; `more` is the rows of single blocks."""

    def emptied(block: Block) -> Block:
        count = (more or {}).get(block.number, rows)
        return replace(block, lines=(), table=block.table and block.table.empty(count))

    return _changed(sections, emptied)


def _changed(
    sections: Iterable[Section], change: Callable[[Block], Block]
) -> tuple[Section, ...]:
    return tuple(
        replace(section, blocks=tuple(map(change, section.blocks)))
        for section in sections
    )


def some(*lines: str) -> tuple[str, ...]:
    return tuple(line for line in lines if line)
