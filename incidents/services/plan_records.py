"""One record of the plan: checked against what stands, chained to a locked incident."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from command.documents import Body, name_key, read_body
from command.following import misfits
from command.line_parts import Moved
from command.parts import PARTS
from command.plan import Plan, Record
from command.site_safety_plan import missing
from command.whereabouts import IN, MAY_LEAVE, clean
from command.work_parts import Signature
from incidents import engine, judging, plans
from incidents.documents import dumps, loads
from incidents.line import people_of
from incidents.models import Incident, LogEntry, Person
from incidents.models.log import PLAN
from incidents.services import anchors, chain
from incidents.services.entries import CLOCK_SLACK, cleaned
from incidents.services.errors import EntryRefusedError, PartConflictError
from screening.worksheet import DocumentError, WorksheetErrors

# Parts whose record closes a stretch of the log that somebody answers for.
_ANCHORED: Final = {
    "signatures": anchors.Why.SIGN_OFF,
    "command": anchors.Why.TRANSFER,
}
First = tuple[str, str, Mapping[str, Any]]  # part, item, what it says


def add_first(incident: Incident, parts: Iterable[First], at: datetime) -> None:
    """The parts that an opening brings along; the caller saves the moved head."""
    for part, item, says in parts:
        text = text_of({"part": part, "item": item, "says": says, "based_on": None})
        add(incident, incident.opened_by, text, at, at, chain.next_id(incident, PLAN))


def text_of(raw: Mapping[str, Any]) -> str:
    errors: list[DocumentError] = []
    body = cleaned(raw, "", errors)
    if errors:
        raise EntryRefusedError(tuple(errors))
    try:
        return dumps(body)
    except TypeError as error:
        raise EntryRefusedError((refused_at("/says", str(error)),)) from error


def add(
    incident: Incident,
    person: Person,
    text: str,
    at: datetime,
    holds_from: datetime,
    key: UUID,
) -> LogEntry:
    """Check the body against what stands and chain it to the locked incident."""
    try:
        body = read_body(loads(text))
    except WorksheetErrors as error:
        raise EntryRefusedError(error.errors) from error
    if holds_from > at + CLOCK_SLACK:
        raise EntryRefusedError((refused_at("/at", "a time that has passed"),))
    plan = plans.plan_of(incident)
    _check_seen(body, plan.last(body.part.key, body.item))
    wrong = misfits(plan, body, holds_from)
    if isinstance(body.says, Signature):
        wrong += _unsigned_blocks(incident, body.says, holds_from)
    if isinstance(body.says, Moved):
        wrong += _not_clean(incident, plan, body.says, holds_from)
    if wrong:
        raise EntryRefusedError(tuple(refused_at(*each) for each in wrong))
    row = chain.add_record(
        incident=incident,
        kind=PLAN,
        body=text,
        client_uuid=key,
        observed_at=holds_from,
        recorded_at=at,
        author=person,
    )
    why = _ANCHORED.get(body.part.key)
    if why is not None:
        anchors.keep(incident=incident, why=why, at=at, by=person)
    return row


def _unsigned_blocks(
    incident: Incident, says: Signature, at: datetime
) -> list[tuple[str, str]]:
    """A plan with blocks missing is signed with a reason or not at all."""
    if says.agrees != "yes" or says.waiver:
        return []
    now = engine.live(incident)
    scene = judging.scene_at(incident, now, at)
    paper = plans.paper_of(incident, scene, now.context, now.state)
    names = ", ".join(block.name for block in missing(paper))
    return [("/says/waiver", f"why it is signed without: {names}")] if names else []


def _not_clean(
    incident: Incident, plan: Plan, says: Moved, at: datetime
) -> list[tuple[str, str]]:
    """Nobody leaves the line for the cold zone before a check or a reason for none."""
    if says.where not in IN:
        return []
    moving = {name_key(name) for name in says.who}
    people = people_of(incident, plan, engine.live(incident).state, at)
    return [
        (
            "/says/who",
            f"a check of {person.name} after decon, or why there is none: "
            f"{clean(person, plan, at).value}",
        )
        for person in people
        if person.key in moving and clean(person, plan, at) not in MAY_LEAVE
    ]


def _check_seen(body: Body, last: Record | None) -> None:
    """Nobody writes over what they have not seen."""
    if body.part.guarded and last is not None and last.seq != body.based_on:
        raise PartConflictError(PARTS[body.part.key].title, last)
    if body.based_on is not None and last is None:
        raise EntryRefusedError((refused_at("/based_on", "null: no record stands"),))


def refused_at(pointer: str, expected: str) -> DocumentError:
    return DocumentError(pointer=pointer, value="", expected=expected)
