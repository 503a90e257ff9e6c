"""What the site as a whole lacks: command, zones, substances, work, medical, paper."""

from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Final

from command.documents import name_key, same_name
from command.parts import PARTS, is_briefed
from command.plan import Record
from command.scene import Lack, Scene
from command.site_parts import ZONES
from command.words import NOT_RECORDED, moment_words, rows
from command.work_parts import BENCHMARKS, MODES
from screening.rules.found import minutes
from screening.substances import find

# What a signature stands under; weather, check-in and benchmarks go on without it.
_SIGNED_FOR: Final = (
    "substances", "site", "zones", "objectives", "hazards", "teams", "decon",
    "medical", "communications", "emergency",
)  # fmt: skip
_FLUORIDES: Final = ("fluoride", "hydrofluoric")


def of_site(scene: Scene) -> Iterator[Lack]:
    yield from _command(scene)
    yield from _zones_and_weather(scene)
    yield from _substances(scene)
    yield from _work(scene)
    yield from _medical(scene)
    yield from _paper(scene)


def _command(scene: Scene) -> Iterator[Lack]:
    plan, at = scene.plan, scene.at
    mode = plan.mode(at)
    if mode is None:
        yield Lack(key="no_mode", words="Nobody has said how the incident is worked.")
    elif mode.mode == "non_intervention":
        yield Lack(
            key="non_intervention",
            words=f"{MODES[mode.mode]}, because: {mode.why}. Nobody goes in.",
        )
    elif mode.mode == "defensive":
        yield Lack(
            key="defensive_mode",
            words=f"Defensive, because: {mode.why}. Entry is offensive work.",
        )
    officers = plan.holds("safety_officer", at)
    commander = plan.commander(at)
    if not officers:
        yield Lack(key="no_safety_officer", words="Nobody holds the position.")
    for officer in officers:
        if commander and same_name(officer.name, commander):
            if officer.why:
                yield Lack(
                    key="commander_doubles",
                    words=f"{officer.name} holds both, because: {officer.why}",
                )
            else:
                yield Lack(
                    key="commander_is_safety_officer",
                    words=f"{officer.name} holds both and no reason is given.",
                )


def _zones_and_weather(scene: Scene) -> Iterator[Lack]:
    plan, at = scene.plan, scene.at
    if "hot" not in plan.zones:
        yield Lack(
            key="zones_not_set", words="No line of the hot zone stands.", item="hot"
        )
    rules = scene.weather_rules
    shifted = plan.shifted_zones(at, rules.shift_degrees)
    if shifted:
        lines = ", ".join(ZONES[zone].lower() for zone in shifted)
        most = max(shifted.values())
        yield Lack(
            key="zones_after_wind_shift",
            words=f"By {most:f}°. Look at these lines again: {lines}.",
        )
    report = plan.weather(at)
    if report is None:
        yield Lack(key="weather_stale", words="No weather is recorded.")
    elif at - report.at > rules.counts_for:
        yield Lack(
            key="weather_stale",
            words=f"The last is {int((at - report.at).total_seconds() // 60)} min old; "
            f"it counts for {minutes(rules.counts_for.total_seconds())}.",
        )


def _substances(scene: Scene) -> Iterator[Lack]:
    items = scene.plan.items("substances")
    if not items:
        yield Lack(
            key="no_substance",
            words=f"Suspected in the set-up: {', '.join(scene.suspects)}. "
            "Say how each is known."
            if scene.suspects
            else "Nothing is said on the substance. “unknown” is an answer.",
        )
    for item, record in items.items():
        if find(record.says.name) is None and not record.says.facts:
            yield Lack(
                key="no_reference_data",
                words=f"{record.says.name}: no reference data. Every hazard stays open.",
                item=item,
            )


def _work(scene: Scene) -> Iterator[Lack]:
    plan, at = scene.plan, scene.at
    objectives = plan.items("objectives")
    if not objectives:
        yield Lack(key="no_objective", words="No objective stands.")
    for item, record in objectives.items():
        if not record.says.done_when:
            yield Lack(
                key="objective_without_end",
                words=f"“{record.says.objective}” does not say when it is done.",
                item=item,
            )
    tasks = {name_key(r.says.task) for r in plan.items("hazards").values()}
    for record in objectives.values():
        if name_key(record.says.objective) not in tasks:
            yield Lack(
                key="task_without_hazards",
                words=f"“{record.says.objective}” has no hazard, nor “none found”.",
            )
    for item, record in plan.items("benchmarks").items():
        meant, done = record.says.intended, done_at(scene, item)
        if meant is not None and (done or at) > meant:
            late = f"done {moment_words(done)}" if done else "not done"
            yield Lack(
                key="late_benchmark",
                words=f"{BENCHMARKS.get(item, item)}: meant for "
                f"{moment_words(meant)}, {late}.",
                item=item,
            )


def done_at(scene: Scene, benchmark: str) -> datetime | None:
    """When a benchmark was met: as said, else as the log has it."""
    record = scene.plan.last("benchmarks", benchmark)
    if record is not None and record.says is not None and record.says.done:
        when: datetime = record.says.done
        return when
    if benchmark == "plan_signed":
        signed = _by_commander(scene)
        return min(record.at for record in signed) if signed else None
    return scene.first_entry if benchmark == "first_entry" else None


def _medical(scene: Scene) -> Iterator[Lack]:
    medical = scene.plan.medical
    if medical is None or not medical.aid or not medical.transport:
        yield Lack(
            key="no_medical_plan",
            words="First aid with its equipment, and transport, stand by before entry.",
        )
    if suspected_fluoride(scene) and (medical is None or not medical.antidotes):
        yield Lack(
            key="no_answer_for_fluoride",
            words="A fluoride is suspected: say what is there for its burns. "
            "People may feel well and be worse hours later.",
        )
    if medical is None or not medical.hospital:
        yield Lack(key="no_hospital", words="No hospital is named.")
    decon = scene.plan.decon
    if decon is None or decon.ready != "yes":
        stands = (
            "Nothing is recorded" if decon is None else "It is not said to be ready"
        )
        yield Lack(key="decon_not_ready", words=f"{stands}.")


def suspected_fluoride(scene: Scene) -> bool:
    named = (*scene.suspects, *(each.name for each in scene.plan.substances))
    return scene.fluoride_found or any(
        word in name for name in map(name_key, named) for word in _FLUORIDES
    )


def _paper(scene: Scene) -> Iterator[Lack]:
    plan = scene.plan
    channels = plan.communications
    if channels is None or not (channels.command and channels.entry):
        yield Lack(
            key="no_communications", words="Command and entry channel are not recorded."
        )
    if plan.emergency is None or not plan.emergency.procedures:
        yield Lack(key="no_emergency_procedures", words="Nothing is recorded.")
    yield from _signatures(scene)
    briefings = list(plan.items("briefing").items())
    if briefings:
        item, last = briefings[-1]
        left_out = [label for label, words in rows(last.says) if words == NOT_RECORDED]
        if left_out:
            yield Lack(
                key="briefing_incomplete",
                words=f"Not said: {', '.join(left_out).lower()}.",
                item=item,
            )
    if scene.missing_blocks:
        yield Lack(key="blocks_missing", words=f"{'; '.join(scene.missing_blocks)}.")
    for check in plan.checked_in:
        inside = check.where in ("warm", "hot")
        if check.skilled_support == "yes" and inside and not is_briefed(check):
            yield Lack(
                key="skilled_support_not_briefed",
                words=f"{check.name} is in the {check.where} zone.",
            )
    for name in scene.untested:
        yield Lack(
            key="instrument_not_tested",
            words=f"{name}: a quiet reading of it cannot tell.",
        )
    if plan.unreadable:
        numbers = ", ".join(map(str, plan.unreadable))
        yield Lack(key="not_readable", words=f"Log entries {numbers}. They are kept.")


def _by_commander(scene: Scene) -> list[Record]:
    return [
        record
        for record in scene.plan.items("signatures").values()
        if record.at <= scene.at
        and record.says.agrees == "yes"
        and record.says.capacity == "incident_commander"
    ]


def _signatures(scene: Scene) -> Iterator[Lack]:
    plan = scene.plan
    by_commander = _by_commander(scene)
    if not by_commander:
        yield Lack(
            key="plan_not_signed", words="The incident commander has not signed it."
        )
    else:
        last = max(record.seq for record in by_commander)
        changed = [
            part
            for part in _SIGNED_FOR
            if any(each[-1].seq > last for each in plan.records.get(part, {}).values())
        ]
        if changed:
            yield Lack(
                key="changed_since_signed",
                words=f"Since then: {', '.join(_titles(changed))}.",
            )
    for record in plan.items("signatures").values():
        if record.says.agrees == "no" and record.at <= scene.at:
            yield Lack(
                key="plan_dissent",
                words=f"{record.says.name}: {record.says.dissent}",
            )


def _titles(parts: Iterable[str]) -> list[str]:
    return [PARTS[part].title.lower() for part in parts]
