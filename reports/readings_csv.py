"""The readings of one kind as CSV (RFC 4180): one line each, units in the head.

UTF-8, lines end in CRLF, a cell is quoted where it must be. Figures are in the units that
the head names; beside one that was converted stands what was entered. Text that a
spreadsheet would run as a formula gets an apostrophe in front; a figure never does, so a
negative one stays a figure. `docs/exports.md` describes every column.
"""

import csv
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from types import MappingProxyType
from typing import Any, Final, TypeAlias

from reports.words import SIGN_LABELS
from screening import readings
from screening.verdicts import CAUTION, Action

FORMAT: Final = "hazmat-readings-csv"
VERSION: Final = 1
# What a spreadsheet takes for the beginning of a formula; the wide forms too.
_FORMULA: Final = frozenset("=+-@\t\r\n\uff1d\uff0b\uff0d\uff20")

Cell: TypeAlias = "str | Decimal | int | bool | None"
Column: TypeAlias = tuple[str, Callable[[Any], Cell]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One reading with what only the log knows of it."""

    seq: int
    entry: readings.Entry
    team: str
    recorded_at: datetime
    author: str
    device: str = ""
    struck_by: int | None = None  # the number of the entry that strikes it
    struck_reason: str = ""
    right_seq: int | None = None  # the entry that stands in its place
    action: Action | None = None  # its strictest finding that was not judged anew
    because: Sequence[str] = ()
    drill: bool = False


def _shown(name: str) -> Column:
    return f"{name}_as_entered", lambda entry: entry.shown.get(name, "")


def _field(name: str, head: str = "") -> Column:
    return head or name, lambda entry: getattr(entry, name)


_COLUMNS: Final[Mapping[str, Sequence[Column]]] = MappingProxyType(
    {
        "ph_paper": (
            _field("sample"),
            _field("moistened"),
            _field("bleached"),
            _field("low", "pH_low"),
            _field("high", "pH_high"),
            _field("band"),
            _field("faded"),
            _field("carried_on"),
        ),
        "ki_starch_paper": (
            _field("sample"),
            _field("result"),
            _field("moistened"),
            _field("edge_checked"),
        ),
        "fluoride_paper": (_field("sample"), _field("result"), _field("moistened")),
        "gas_meter": (
            _field("lel_percent", "flammable_percent_of_LEL"),
            _field("oxygen_percent", "oxygen_percent_by_volume"),
            _field("co_ppm", "carbon_monoxide_ppm"),
            _field("h2s_ppm", "hydrogen_sulfide_ppm"),
            _field("voc_ppm", "VOC_ppm"),
            (
                "other_gases_ppm",
                lambda entry: "; ".join(f"{gas} {ppm:f}" for gas, ppm in entry.gases),
            ),
            ("over_range", lambda entry: "; ".join(sorted(entry.over_range))),
            _field("lamp_ev", "lamp_eV"),
            _field("height"),
        ),
        "thermal_imager": (
            _field("target"),
            _field("container"),
            _field("surface_degf", "surface_degF"),
            _shown("surface"),
            _field("surroundings_degf", "surroundings_degF"),
            _shown("surroundings"),
            _field("shiny"),
        ),
        "sign": (("what", lambda entry: SIGN_LABELS.get(entry.what, entry.what)),),
        "dosimeter": (
            _field("dose_rate_rem_per_hour"),
            _shown("dose_rate"),
            _field("dose_rem"),
            _shown("dose"),
            _field("alarm"),
            _field("member"),
            _field("distance_m"),
            _shown("distance"),
            _field("contact"),
        ),
        "air_check": (
            _field("member"),
            _field("pressure_psi"),
            _shown("pressure"),
        ),
    }
)
KINDS: Final = tuple(_COLUMNS)
_BEFORE: Final = (
    "seq", "id", "observed_at", "recorded_at", "team", "place", "instrument",
)  # fmt: skip
_AFTER: Final = (
    "note", "author", "device", "action", "because", "struck_by_seq", "struck_reason",
    "right_seq", "drill",
)  # fmt: skip


def heads(kind: str) -> list[str]:
    """The first line; its last cell is the caution, and the format with its version."""
    about = f"{CAUTION} ({FORMAT} {VERSION}, {kind})"
    return [*_BEFORE, *(name for name, _ in _COLUMNS[kind]), *_AFTER, about]


def lines(kind: str, rows: Iterable[Line]) -> Iterator[str]:
    """The file, a line at a time; nothing of it is kept."""
    echo = csv.writer(_Echo(), lineterminator="\r\n")
    yield echo.writerow(heads(kind))
    for row in rows:
        yield echo.writerow([cell(value) for value in _values(kind, row)])


def _values(kind: str, row: Line) -> Iterator[Cell]:
    entry = row.entry
    yield row.seq
    yield entry.id
    yield entry.at.isoformat()
    yield row.recorded_at.isoformat()
    yield row.team
    yield entry.place
    yield entry.instrument
    for _, value in _COLUMNS[kind]:
        yield value(entry)
    yield entry.note
    yield row.author
    yield row.device
    yield None if row.action is None else row.action.word
    yield " | ".join(row.because)
    yield row.struck_by
    yield row.struck_reason
    yield row.right_seq
    yield True if row.drill else None
    yield None


def cell(value: Cell) -> str:
    """Text without a formula in it; a figure as it is; yes, no, or nothing."""
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case Decimal():
            return format(value, "f")
        case int():
            return str(value)
    # NUL cannot stand in a log; an apostrophe at the front is doubled, so that taking
    # the first one away always gives the text back.
    if value[:1] in _FORMULA or value.startswith("'"):
        return f"'{value}" if value else ""
    return value


class _Echo:
    """What `csv` writes to: gives back what it is given."""

    def write(self, text: str) -> str:
        return text
