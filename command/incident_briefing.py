"""What is known now in the blocks of the public form ICS 201, Incident Briefing.

For whoever takes over: situation, objectives, what was done and is planned, who is in
which place, and what is there. Numbers and titles of the blocks follow that form, a work
of the United States government (edition of 2010).
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Final

from command.form import Block, Paper, Section, Table, for_hand, no_paper, set_out, some
from command.form_blocks import objectives, site_map
from command.words import moment_words, said
from command.work_parts import MODES, POSITIONS, WHERE

SOURCE: Final = "ICS 201"
TITLE: Final = "Incident briefing"
_WIDTHS: Final[Mapping[int, int]] = {1: 2, 2: 2, 3: 2}
_ROWS_FOR_HAND: Final = 8
_ACTIONS: Final = Table(columns=("Time", "Actions"), rows=(), shares=(1, 4))
_RESOURCES: Final = Table(
    columns=(
        "Resource",
        "Identifier",
        "Ordered",
        "ETA",
        "Arrived",
        "Notes: place, task, status",
    ),
    rows=(),
    shares=(3, 3, 2, 1.4, 2, 4),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What the plan does not have: the number, the verdicts, what was done, by whom."""

    number: str
    initiated: datetime | None
    standing: tuple[str, ...] = ()  # one sentence for each team
    done: tuple[tuple[datetime, str], ...] = ()  # decisions, in order of time
    prepared_by: str = ""


def sections(paper: Paper, known: Known) -> tuple[Section, ...]:
    """The four pages of the form, blocks 1 to 10 in its order."""
    made = (
        Section(number="1", title="Situation", blocks=tuple(_situation(paper, known))),
        Section(number="2", title="Actions", blocks=tuple(_actions(paper, known))),
        Section(number="3", title="Organization", blocks=(_organization(paper),)),
        Section(number="4", title="Resources", blocks=(_resources(paper),)),
    )
    return set_out(made, _WIDTHS)


def blank() -> tuple[Section, ...]:
    """The same blocks with nothing in them, to be filled in by hand."""
    nothing = sections(no_paper(), Known(number="", initiated=None))
    return for_hand(nothing, _ROWS_FOR_HAND)


def _situation(paper: Paper, known: Known) -> Iterator[Block]:
    zone = paper.zone
    begun = moment_words(known.initiated, zone) if known.initiated else ""
    yield Block(number=1, title="Incident name", lines=some(paper.incident))
    yield Block(number=2, title="Incident number", lines=some(known.number))
    yield Block(number=3, title="Date and time initiated", lines=some(begun))
    yield Block(
        number=4, title="Map or sketch", lines=site_map(paper).lines, sketch=True
    )
    yield Block(
        number=5,
        title="Situation summary and health and safety briefing",
        lines=tuple(_summary(paper, known)),
    )
    prepared = f"{known.prepared_by}, {moment_words(paper.scene.at, zone)}"
    yield Block(
        number=6,
        title="Prepared by",
        lines=some(prepared if known.prepared_by else ""),
        signed=True,
    )


def _summary(paper: Paper, known: Known) -> Iterator[str]:
    looked = paper.plan.size_up
    if paper.location:
        yield f"Location: {paper.location}"
    if looked is not None:
        yield from (f"{label}: {words}" for label, words in said(looked, paper.zone))
    if paper.scene.suspects:
        yield f"Suspected: {', '.join(paper.scene.suspects)}"
    yield from known.standing
    for record in paper.plan.items("hazards").values():
        says = record.says
        yield "; ".join(some(f"{says.task}: {says.hazard}", says.control, says.who))


def _actions(paper: Paper, known: Known) -> Iterator[Block]:
    plan, zone = paper.plan, paper.zone
    yield Block(
        number=7,
        title="Current and planned objectives",
        lines=objectives(paper).lines,
    )
    mode = plan.mode(paper.scene.at) if plan.begun else None
    planned = [
        f"{crew.name}: {task.task}"
        for crew in paper.scene.crews
        if (task := plan.team(crew.id)) is not None and task.task
    ]
    yield Block(
        number=8,
        title="Current and planned actions, strategies and tactics",
        lines=some(f"{MODES[mode.mode]}: {mode.why}" if mode else "", *planned),
        table=replace(
            _ACTIONS,
            rows=tuple((moment_words(at, zone), words) for at, words in known.done),
        ),
    )


def _organization(paper: Paper) -> Block:
    plan, at = paper.plan, paper.scene.at
    commander = plan.commander(at) if plan.begun else ""
    held = [
        f"{POSITIONS[each.position]}: {each.name}"
        for each in plan.positions
        if each in plan.holds(each.position, at)
    ]
    crews = [
        f"{crew.name}: {', '.join(crew.members) or 'nobody named'}"
        for crew in paper.scene.crews
    ]
    lines = some(f"Incident commander: {commander}" if commander else "", *held, *crews)
    return Block(number=9, title="Current organization", lines=lines)


def _resources(paper: Paper) -> Block:
    rows = [*_checked_in(paper), *_tools(paper)]
    table = replace(_RESOURCES, rows=tuple(rows))
    return Block(number=10, title="Resource summary", table=table)


def _checked_in(paper: Paper) -> Iterable[tuple[str, ...]]:
    for check in paper.plan.checked_in:
        arrived = moment_words(check.arrived, paper.zone) if check.arrived else ""
        where = WHERE.get(check.where, "") if check.where else ""
        notes = "; ".join(some(where, check.training))
        yield (check.agency, check.name, "", "", arrived, notes)


def _tools(paper: Paper) -> Iterable[tuple[str, ...]]:
    for tool in paper.tools:
        kind = tool.kind.replace("_", " ")
        yield (kind, tool.name, "", "", "on scene", tool.fitness)
