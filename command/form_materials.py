"""Block 19 of the form: each material with its figures, each figure with its source."""

from collections.abc import Iterator, Mapping
from typing import Any, Final

from command.form import Block, Paper, Table
from command.references import differing
from command.site_parts import CERTAINTIES, STATES, SuspectedSubstance
from screening.substances import BASES as LISTS
from screening.substances import Basis, Cell, Substance, find

MATERIAL_COLUMNS: Final = (
    "Material", "Container type", "Qty.", "Phys. state", "pH", "IDLH", "F.P.", "I.T.",
    "V.P.", "V.D.", "S.G.", "LEL", "UEL",
)  # fmt: skip
_MATERIAL_SHARES: Final = (3.5, 3, 2.5, 2.5, 1.4, 2, 2, 2, 2.2, 1.8, 1.6, 3, 3)


def materials(paper: Paper) -> Block:
    rows = [_material(each) for each in paper.plan.substances]
    known = {each.name.casefold() for each in paper.plan.substances}
    rows += [
        _facts(name, find(name), "suspected in the set-up", "", "")
        for name in paper.scene.suspects
        if name.casefold() not in known
    ]
    return Block(
        number=19,
        title="Material",
        table=Table(
            columns=MATERIAL_COLUMNS, rows=tuple(rows), shares=_MATERIAL_SHARES
        ),
        lines=tuple(_sources(paper)),
    )


def _sources(paper: Paper) -> Iterator[str]:
    """Where each figure comes from; what people wrote of references stands beside it."""
    names = (*(each.name for each in paper.plan.substances), *paper.scene.suspects)
    for name in dict.fromkeys(map(str.casefold, names)):
        known = find(name)
        if known is None:
            continue
        cells = (
            ("IDLH", [known.idlh]),
            ("F.P.", known.flash_point.values()),
            ("V.P.", [known.vapour_pressure or known.vapour_pressure_published]),
            ("V.D.", [known.vapour_density]),
            ("LEL", known.lel.values()),
            ("UEL", known.uel.values()),
        )
        said_by = "; ".join(
            f"{label} {cell.source}"
            for label, values in cells
            for cell in values
            if cell is not None
        )
        yield f"Figures on {name}: {said_by}"
    for each in paper.plan.substances:
        if each.facts:
            yield f"References on {each.name}, as written: {each.facts}"
        if differ := differing(each.name, each.facts):
            yield differ


def _material(says: SuspectedSubstance) -> tuple[str, ...]:
    name = f"{says.name} ({CERTAINTIES[says.certainty].lower()})"
    container = "; ".join(
        part for part in (says.container, says.size) if part != "unknown"
    )
    state = STATES.get(says.state, "")
    return _facts(name, find(says.name), container or "unknown", says.quantity, state)


def _facts(
    name: str, known: Substance | None, container: str, quantity: str, state: str
) -> tuple[str, ...]:
    """A row of block 19. Figures are of our own table; what it does not hold says so."""
    head = (name, container, quantity or "unknown", state or "unknown")
    if known is None:
        return (*head, *("no reference data",) * 9)
    return (
        *head,
        "–",
        _cell(known.idlh),
        _of_lists(known.flash_point),
        "–",
        _cell(known.vapour_pressure or known.vapour_pressure_published),
        _cell(known.vapour_density),
        "–",
        _of_lists(known.lel),
        _of_lists(known.uel),
    )


def _cell(cell: Cell[Any] | None) -> str:
    return "–" if cell is None else cell.text


def _of_lists(cells: Mapping[Basis, Cell[Any]]) -> str:
    """Both published lists, each by its name; where they differ both stand."""
    return (
        "; ".join(f"{cell.text} {LISTS[basis]}" for basis, cell in cells.items()) or "–"
    )
