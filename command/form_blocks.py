"""Blocks 20 to 36 of the form: monitoring, decon, medical, map, objectives, signatures."""

from collections.abc import Iterator
from typing import Final

from command.form import Block, Paper, Tool, some
from command.plan import Plan
from command.questions import YES_NO
from command.site_parts import BASES, ZONES, ZoneLine
from command.words import NOT_RECORDED, moment_words, said, wind_words
from command.work_parts import SIGNING, Signature

_SENSORS: Final = (
    (20, "LEL instruments", frozenset({"lel"})),
    (21, "O2 instruments", frozenset({"oxygen"})),
)


def monitoring(paper: Paper) -> Iterator[Block]:
    gas = [tool for tool in paper.tools if tool.kind == "gas_meter"]
    for number, title, sensors in _SENSORS:
        lines = (_tool(tool) for tool in gas if sensors & set(tool.sensors))
        yield Block(number=number, title=title, lines=tuple(lines))
    toxic = (
        f"{_tool(tool)}: {', '.join(others)}"
        for tool in gas
        if (others := [s for s in tool.sensors if s not in ("lel", "oxygen")])
    )
    yield Block(number=22, title="Toxicity and ppm instruments", lines=tuple(toxic))
    rays = (_tool(tool) for tool in paper.tools if tool.kind == "dosimeter")
    yield Block(number=23, title="Radiological instruments", lines=tuple(rays))


def _tool(tool: Tool) -> str:
    return f"{tool.name} ({tool.fitness})" if tool.fitness else tool.name


# --- V to VII -------------------------------------------------------------------------


def decon(plan: Plan) -> Block:
    decon = plan.decon
    lines: list[str] = []
    if decon is not None:
        lines = [f"Standard procedures: {_yes_no(decon.standard)}"]
        lines += [
            f"{label}: {words}"
            for label, words in said(decon)
            if label != "By the standard procedure"
        ]
    return Block(
        number=24, title="Standard decontamination procedures", lines=tuple(lines)
    )


def _yes_no(answer: str) -> str:
    return YES_NO[answer].lower() if answer else NOT_RECORDED


def communications(plan: Plan) -> Iterator[Block]:
    says = plan.communications
    for number, title, channel in (
        (25, "Command frequency", says.command if says else ""),
        (26, "Tactical frequency", says.tactical if says else ""),
        (27, "Entry frequency", says.entry if says else ""),
    ):
        yield Block(number=number, title=title, lines=some(channel))


def medical(plan: Plan) -> Iterator[Block]:
    medical = plan.medical
    monitored = medical.monitoring if medical else ""
    yield Block(
        number=28,
        title="Medical monitoring",
        lines=some(YES_NO[monitored] if monitored else ""),
    )
    lines = [] if medical is None else [
        f"{label}: {words}"
        for label, words in said(medical)
        if label != "Medical checks before and after entry"
    ]  # fmt: skip
    yield Block(
        number=29,
        title="Medical treatment and transport in place",
        lines=tuple(lines),
    )


# --- VIII to XII ----------------------------------------------------------------------


def site_map(paper: Paper) -> Block:
    plan, at = paper.plan, paper.scene.at
    lines = []
    report = plan.weather(at) if plan.begun else None
    if report is not None:
        words = "; ".join(
            f"{label.lower()}: {value}"
            for label, value in said(report.says, paper.zone)
            if not label.lower().startswith(("wind", "or blowing"))
        )
        when = moment_words(report.at, paper.zone)
        tail = f"; {words}" if words else ""
        blows = plan.wind(at) or report
        wind = wind_words(blows.says)
        if blows is not report:
            wind += f" (read at {moment_words(blows.at, paper.zone)})"
        lines.append(f"Weather at {when}: {wind}{tail}")
    lines += [f"{ZONES[zone]}: {zone_words(says)}" for zone, says in plan.zones.items()]
    if plan.site is not None:
        lines += [f"{label}: {words}" for label, words in said(plan.site)]
    return Block(number=30, title="Site map", lines=tuple(lines), sketch=True)


def zone_words(says: ZoneLine) -> str:
    """The line with what it was set by, which always stands beside it."""
    where = ", ".join(some(says.distance.shown if says.distance else "", says.runs))
    basis = ", ".join(
        some(
            BASES[says.basis].lower(),
            says.edition,
            f"page {says.page}" if says.page else "",
            f"{says.spill} spill" if says.spill else "",
            says.daylight,
            says.why,
        )
    )
    return f"{where}; set by: {basis}"


def objectives(paper: Paper) -> Block:
    plan = paper.plan
    lines = []
    for record in plan.items("objectives").values():
        says = record.says
        until = says.done_when or "no “done when”"
        by = f"; by {moment_words(says.by_when, paper.zone)}" if says.by_when else ""
        lines.append(f"{says.objective}. Done when: {until}{by}")
    for record in plan.items("hazards").values():
        says = record.says
        rest = "; ".join(some(says.control, says.who))
        lines.append(f"{says.task}: {says.hazard}{f': {rest}' if rest else ''}")
    return Block(number=31, title="Entry objectives", lines=tuple(lines))


def practices(plan: Plan) -> Block:
    changes = plan.emergency.sop_changes if plan.emergency else ""
    return Block(
        number=32,
        title="Modifications to documented SOPs or work practices",
        lines=some(changes),
    )


def emergency(plan: Plan) -> Block:
    emergency, channels = plan.emergency, plan.communications
    lines = [] if emergency is None else [emergency.procedures]
    if emergency is not None and emergency.signal:
        lines.append(f"Signal to leave: {emergency.signal}")
    if channels is not None and channels.lost_contact:
        lines.append(f"Lost contact: {channels.lost_contact}")
    return Block(number=33, title="Emergency procedures", lines=some(*lines))


def signatures(paper: Paper) -> Iterator[Block]:
    briefings = paper.plan.items("briefing").values()
    told = [
        f"Safety briefing completed {moment_words(record.at, paper.zone)}, by "
        f"{record.says.speaker}; heard by {', '.join(record.says.listeners)}"
        for record in briefings
    ]
    for number, title, capacity, first in (
        (34, "Asst. safety officer, HM, signature", "assistant_safety_officer", told),
        (35, "HM group supervisor signature", "hazmat_group_supervisor", []),
        (36, "Incident commander signature", "incident_commander", []),
    ):
        lines = [*first, *_signed(paper, capacity)]
        yield Block(
            number=number, title=title, lines=tuple(lines), asked=False, signed=True
        )


def _signed(paper: Paper, capacity: str) -> Iterator[str]:
    """Dissent stands above the name that it belongs to."""
    for record in paper.plan.items("signatures").values():
        says: Signature = record.says
        if says.capacity != capacity:
            continue
        if says.dissent:
            yield f"Dissent or remark: {says.dissent}"
        if says.waiver:
            yield f"Signed although blocks are missing, because: {says.waiver}"
        verb = "Signed" if says.agrees == "yes" else "Not signed"
        when = moment_words(record.at, paper.zone)
        yield f"{verb}: {says.name}, {SIGNING[capacity].lower()}, {when}"
