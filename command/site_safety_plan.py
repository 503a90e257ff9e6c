"""The plan in the blocks of the public form ICS 208 HM, Site Safety and Control Plan.

The block numbers and what they are for follow that form (edition of 3/98), a work of the
United States government; the answers come from what is known already. A block for which
nothing is recorded says so, and is named where the plan is signed without it.
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from command import form_blocks as blocks
from command.form import (
    Block,
    Paper,
    Section,
    Table,
    Tool,
    for_hand,
    no_paper,
    set_out,
    some,
)
from command.form_materials import materials
from command.plan import Plan
from command.scene import Crew
from command.words import moment_words, said
from command.work_parts import POSITIONS

__all__ = ["SOURCE", "Paper", "Tool", "blank", "missing", "sections"]

SOURCE: Final = "ICS 208 HM (3/98)"
TITLE: Final = "Site safety and control plan"
_THIRDS: Final = (1, 2, 3, *range(5, 17), 25, 26, 27)
_HALVES: Final = (17, 18, 20, 21, 22, 23, 28, 29, 35, 36)
_WIDTHS: Final[Mapping[int, int]] = {
    **dict.fromkeys(_THIRDS, 2),
    **dict.fromkeys(_HALVES, 3),
}
_ROWS_FOR_HAND: Final = 4  # people that the printed form has room for


def sections(paper: Paper) -> tuple[Section, ...]:
    """All blocks, 1 to 36, in the order of the form."""
    plan = paper.plan
    groups: tuple[tuple[str, str, Iterable[Block]], ...] = (
        ("I", "Site information", _site(paper)),
        ("II", "Organization", (*_organization(paper), *_elements(paper))),
        ("III", "Hazard and risk analysis", [materials(paper)]),
        ("IV", "Hazard monitoring", blocks.monitoring(paper)),
        ("V", "Decontamination procedures", [blocks.decon(plan)]),
        ("VI", "Site communications", blocks.communications(plan)),
        ("VII", "Medical assistance", blocks.medical(plan)),
        ("VIII", "Site map", [blocks.site_map(paper)]),
        ("IX", "Entry objectives", [blocks.objectives(paper)]),
        ("X", "SOPs and safe work practices", [blocks.practices(plan)]),
        ("XI", "Emergency procedures", [blocks.emergency(plan)]),
        ("XII", "Safety briefing", blocks.signatures(paper)),
    )
    made = (
        Section(number=number, title=title, blocks=tuple(of_group))
        for number, title, of_group in groups
    )
    return set_out(made, _WIDTHS)


def missing(paper: Paper) -> tuple[Block, ...]:
    """Blocks that ask for something and got nothing; signatures are not among them."""
    return tuple(
        block
        for section in sections(paper)
        for block in section.blocks
        if block.asked and block.is_empty
    )


def blank() -> tuple[Section, ...]:
    """The same blocks with nothing in them, to be filled in by hand."""
    return for_hand(sections(no_paper()), _ROWS_FOR_HAND)


# --- I and II -------------------------------------------------------------------------


def _site(paper: Paper) -> Iterator[Block]:
    plan, zone = paper.plan, paper.zone
    begun = bool(paper.incident)  # the blank form has no date
    prepared = moment_words(paper.scene.at, zone) if begun else ""
    record = plan.last("period")
    period = dict(said(record.says, zone)) if record and record.says else {}
    yield Block(number=1, title="Incident name", lines=some(paper.incident))
    yield Block(number=2, title="Date prepared", lines=some(prepared))
    yield Block(
        number=3,
        title="Operational period",
        lines=some(" ".join(f"{key.lower()} {value}" for key, value in period.items())),
    )
    looked = plan.size_up
    place = looked.place if looked and looked.place != "unknown" else ""
    yield Block(
        number=4,
        title="Incident location",
        lines=some(*dict.fromkeys((paper.location, place))),
    )


_ORGANIZATION: Final = (
    (6, "HM group supervisor", "hazmat_group_supervisor"),
    (7, "Tech. specialist, HM reference", "technical_specialist"),
    (8, "Safety officer", "safety_officer"),
    (9, "Entry leader", "entry_leader"),
    (10, "Site access control leader", "site_access_control_leader"),
    (11, "Asst. safety officer, HM", "assistant_safety_officer"),
    (12, "Decontamination leader", "decontamination_leader"),
    (13, "Safe refuge area manager", "safe_refuge_area_manager"),
    (14, "Environmental health", "environmental_health"),
)


def _organization(paper: Paper) -> Iterator[Block]:
    plan, at = paper.plan, paper.scene.at
    commander = plan.commander(at) if plan.begun else ""
    yield Block(number=5, title="Incident commander", lines=some(commander))
    for number, title, position in _ORGANIZATION:
        holders = plan.holds(position, at) if plan.begun else ()
        yield Block(number=number, title=title, lines=tuple(h.name for h in holders))
    named = {position for _, _, position in _ORGANIZATION}
    others = [
        f"{POSITIONS[each.position]}: {each.name}"
        for each in plan.positions
        if each.position not in named and each in plan.holds(each.position, at)
    ]
    for number, line in zip((15, 16), (*others[:2], "", ""), strict=False):
        yield Block(number=number, title="", lines=some(line), asked=False)


def _elements(paper: Paper) -> Iterator[Block]:
    for number, title, roles in (
        (17, "Entry team (buddy system)", ("entry", "backup")),
        (18, "Decontamination element", ("decon",)),
    ):
        crews = [crew for crew in paper.scene.crews if crew.role in roles]
        rows = tuple(row for crew in crews for row in _people(paper.plan, crew))
        yield Block(
            number=number,
            title=title,
            table=Table(columns=("Name", "PPE level"), rows=rows, shares=(2, 3)),
        )


def _people(plan: Plan, crew: Crew) -> Iterator[tuple[str, str]]:
    said_of = plan.team(crew.id)
    more = []
    if said_of is not None:
        more = list(some(said_of.garment, said_of.respirator, said_of.limits))
    for name in crew.members or ("nobody named",):
        own = crew.own.get(name)
        # What is said of the team's dress says nothing of another one's.
        worn = [crew.ensemble.label, *more] if own is None else [f"{own.label} (own)"]
        if said_of is not None:
            worn += some(said_of.own_dress)
        yield f"{name}, {crew.name}", "; ".join(worn)
