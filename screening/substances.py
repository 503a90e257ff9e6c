"""The reference table of substances: `data/substances.csv`, read once.

Every value stands with where it comes from and how far it was checked: `read` in the
source named, from `memory` of it, or `common practice`. An empty cell is unknown or does
not apply; it is never a guess. A value from memory carries that mark wherever it is shown.

Lower explosive limits differ between the two published lists, so they are kept apart and
the list is always named: NFPA 497 (US) and IEC 60079-20-1.
"""

import csv
import io
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from importlib.resources import files
from typing import Any, Final, Generic, Literal, TypeVar, cast

from screening.planning.gases import AIR_MOLAR_MASS

T = TypeVar("T")
Status = Literal["read", "memory", "common practice"]
Basis = Literal["us", "iec"]
Paper = Literal["ph", "ki_starch", "fluoride"]
Sample = Literal["liquid", "vapour"]

STATUSES: Final = ("read", "memory", "common practice")
BASES: Final[Mapping[Basis, str]] = {"us": "NFPA 497", "iec": "IEC 60079-20-1"}
PAPERS: Final[tuple[Paper, ...]] = ("ph", "ki_starch", "fluoride")
SAMPLES: Final[tuple[Sample, ...]] = ("liquid", "vapour")
MEMORY_MARK: Final = "[memory]"
# At this vapour pressure in mmHg or less, about 1 ppm of saturated vapour, nothing held in
# the air can be expected to see it. Common practice, no source.
NEXT_TO_NO_VAPOUR_MMHG: Final = Decimal("0.001")
# A lamp far above their ionisation energy still sees these only weakly (maker's technical
# note on photoionisation factors [read]).
WEAK_TO_LAMPS: Final = frozenset({"hydrogen peroxide", "nitrogen dioxide"})

# Limits not to be passed even for a short time; the averages over a shift are not in it.
_SHORT_LIMITS: Final = ("rel_c", "pel_c", "rel_st", "pel_st")


@dataclass(frozen=True, slots=True)
class Cell(Generic[T]):
    """One value of the table with its source and how far that was checked."""

    value: T
    source: str
    status: Status
    unit: str = ""
    note: str = ""

    @property
    def text(self) -> str:
        """The value with its unit, marked where it is from memory."""
        words = (
            f"{self.value:,f}" if isinstance(self.value, Decimal) else str(self.value)
        )
        return marked(f"{words} {self.unit}".rstrip(), self)


def marked(words: str, *cells: Cell[Any] | None) -> str:
    """What was worked out from cells, marked where one of them is from memory."""
    from_memory = any(cell is not None and cell.status == "memory" for cell in cells)
    return f"{words} {MEMORY_MARK}" if from_memory else words


@dataclass(frozen=True, slots=True)
class Response:
    """What one paper is expected to show for one substance.

    `shows` holds every outcome that would agree: of `acid`, `base`, `neutral`, `bleached`
    for pH paper, `positive`, `no_change` for KI-starch, `changed`, `no_change` for fluoride.
    """

    cell: Cell[str]
    shows: frozenset[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Substance:
    """One row. Empty cells are None; the plain properties drop the source, not the mark."""

    name: str
    aliases: tuple[str, ...]
    cas: str
    formula: str
    notes: str
    molar_mass: Cell[Decimal] | None  # g/mol
    lel: Mapping[Basis, Cell[Decimal]]  # % by volume
    uel: Mapping[Basis, Cell[Decimal]]  # % by volume
    idlh: Cell[Decimal] | None  # its unit is "ppm" or "mg/m3"
    limits: Mapping[str, Cell[Decimal]]  # rel_twa, rel_st, rel_c, pel_twa, pel_st, ...
    ionisation: Cell[Decimal] | None  # eV
    vapour_pressure: Cell[Decimal] | None  # mmHg at 20 °C
    vapour_pressure_published: Cell[str] | None
    boiling_point: Cell[Decimal] | None  # °C
    flash_point: Mapping[Basis, Cell[Decimal]]  # °C
    vapour_density: Cell[Decimal] | None  # air is 1; as published
    un_number: Cell[str] | None
    # Metres in all directions at first, with the guide and its edition as the note.
    isolation: Cell[Decimal] | None
    papers: Mapping[tuple[Paper, Sample], Response]
    paper_reason: str

    @property
    def idlh_ppm(self) -> Decimal | None:
        """None where it is not known, or given in mg/m3."""
        if self.idlh is None or self.idlh.unit != "ppm":
            return None
        return self.idlh.value

    @property
    def ceiling(self) -> Cell[Decimal] | None:
        """The strictest ceiling or short-term limit in ppm, REL or PEL."""
        cells = [
            self.limits[name]
            for name in _SHORT_LIMITS
            if name in self.limits and self.limits[name].unit == "ppm"
        ]
        return min(cells, key=lambda cell: cell.value, default=None)

    @property
    def ceiling_ppm(self) -> Decimal | None:
        cell = self.ceiling
        return None if cell is None else cell.value

    @property
    def ionisation_ev(self) -> Decimal | None:
        return None if self.ionisation is None else self.ionisation.value

    def lel_percent(self, basis: Basis = "us") -> Decimal | None:
        """Lower explosive limit in % by volume; `BASES[basis]` names the list."""
        return self.lel[basis].value if basis in self.lel else None

    def uel_percent(self, basis: Basis = "us") -> Decimal | None:
        return self.uel[basis].value if basis in self.uel else None

    @property
    def density_ratio(self) -> Decimal | None:
        """Vapour density against air: as published, else molar mass over 28.96 g/mol."""
        if self.vapour_density is not None:
            return self.vapour_density.value
        if self.molar_mass is None:
            return None
        return self.molar_mass.value / AIR_MOLAR_MASS

    @property
    def gives_vapour(self) -> bool:
        """False where the table says that its vapour pressure is next to nothing."""
        cell = self.vapour_pressure_published
        if cell is None or self.vapour_pressure is not None:
            return True
        first = cell.value.split()[0]
        try:
            return Decimal(first) > NEXT_TO_NO_VAPOUR_MMHG
        except ArithmeticError:  # ">1 atm" and the like
            return True


def _status(row: Mapping[str, str], group: str) -> Status:
    status = row[f"{group}_status"]
    if status not in STATUSES:
        raise ValueError(f"{row['name']}: {group} has no status")
    if not row[f"{group}_source"]:
        raise ValueError(f"{row['name']}: {group} has no source")
    return cast(Status, status)


def _number(
    row: Mapping[str, str], column: str, group: str, unit: str, note: str = ""
) -> Cell[Decimal] | None:
    if not row[column]:
        return None
    source = row[f"{group}_source"]
    return Cell(Decimal(row[column]), source, _status(row, group), unit, note)


def _words(row: Mapping[str, str], column: str, group: str) -> Cell[str] | None:
    if not row[column]:
        return None
    return Cell(row[column], row[f"{group}_source"], _status(row, group))


def _two_lists(
    row: Mapping[str, str], column: str, group: str, unit: str
) -> dict[Basis, Cell[Decimal]]:
    cells = {}
    for basis in BASES:
        cell = _number(row, column.format(basis), group.format(basis), unit)
        if cell is not None:
            cells[basis] = cell
    return cells


def _limits(row: Mapping[str, str]) -> dict[str, Cell[Decimal]]:
    cells = {}
    for name in (
        "rel_twa",
        "rel_st",
        "rel_c",
        "pel_twa",
        "pel_st",
        "pel_c",
        "pel_peak",
    ):
        unit, note = row["limits_unit"], row["limits_note"]
        cell = _number(row, name, "limits", unit, note)
        if cell is not None:
            cells[name] = cell
    return cells


def _papers(row: Mapping[str, str]) -> dict[tuple[Paper, Sample], Response]:
    responses: dict[tuple[Paper, Sample], Response] = {}
    for paper in PAPERS:
        for sample in SAMPLES:
            column = f"{paper}_{sample}"
            cell = _words(row, column, "paper")
            if cell is not None:
                shows = frozenset(row[f"{column}_shows"].split())
                responses[paper, sample] = Response(cell, shows)
    return responses


def _substance(row: Mapping[str, str]) -> Substance:
    flammable = "flammable_{}"
    return Substance(
        name=row["name"],
        aliases=tuple(filter(None, row["aliases"].split(";"))),
        cas=row["cas"],
        formula=row["formula"],
        notes=row["notes"],
        molar_mass=_number(row, "molar_mass_g_mol", "molar_mass", "g/mol"),
        lel=_two_lists(row, "lel_{}_vol_percent", flammable, "% by volume"),
        uel=_two_lists(row, "uel_{}_vol_percent", flammable, "% by volume"),
        idlh=_number(row, "idlh", "idlh", row["idlh_unit"], row["idlh_note"]),
        limits=_limits(row),
        ionisation=_number(row, "ionisation_ev", "ionisation", "eV"),
        vapour_pressure=_number(
            row, "vapour_pressure_20c_mmhg", "vapour_pressure", "mmHg at 20 °C"
        ),
        vapour_pressure_published=_words(
            row, "vapour_pressure_published", "vapour_pressure_published"
        ),
        boiling_point=_number(row, "boiling_point_c", "boiling_point", "°C"),
        flash_point=_two_lists(row, "flash_{}_c", "flash", "°C"),
        vapour_density=_density(row),
        un_number=_words(row, "un_number", "un"),
        isolation=_isolations().get(row["name"]),
        papers=_papers(row),
        paper_reason=row["paper_reason"],
    )


@lru_cache(maxsize=1)
def _isolations() -> Mapping[str, Cell[Decimal]]:
    """First isolation distances by name: only those that were read with their edition."""
    text = (files("screening") / "data" / "isolation.csv").read_text(encoding="utf-8")
    cells = {}
    for row in csv.DictReader(io.StringIO(text)):
        named = {f"isolation_{key}": value for key, value in row.items()} | row
        cell = _number(named, "metres", "isolation", "m", row["guide"])
        if cell is not None:
            cells[row["name"]] = cell
    return cells


def _density(row: Mapping[str, str]) -> Cell[Decimal] | None:
    """A range such as `3-4` is taken at its lower end, and says so."""
    low, dash, high = row["vapour_density"].partition("-")
    note = f"range {low} to {high}" if dash else ""
    single = {**row, "vapour_density": low}
    return _number(single, "vapour_density", "vapour_density", "times air", note)


@lru_cache(maxsize=1)
def load() -> tuple[Substance, ...]:
    """Every row of the table, in its order. Raises ValueError for a value without source."""
    text = (files("screening") / "data" / "substances.csv").read_text(encoding="utf-8")
    return tuple(_substance(row) for row in csv.DictReader(io.StringIO(text)))


def _key(name: str) -> str:
    return " ".join(name.replace("_", " ").casefold().split())


@lru_cache(maxsize=1)
def _index() -> Mapping[str, Substance]:
    index: dict[str, Substance] = {}
    for substance in load():
        for name in (substance.name, substance.cas, *substance.aliases):
            if index.setdefault(_key(name), substance) is not substance:
                raise ValueError(f"{name} names two substances")
    return index


def find(name: str) -> Substance | None:
    """The row for a name, an alias or a CAS number, whatever the case; else None."""
    return _index().get(_key(name))


SUBSTANCES: Final[tuple[Substance, ...]] = load()
