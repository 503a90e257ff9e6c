"""What is asked of the work and of those who do it: from objectives to signatures."""

from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType
from typing import Final

from command.questions import (
    Amount,
    amount,
    choice,
    line,
    moment,
    names,
    note,
    yes_no,
)
from screening.units import Dimension
from screening.worksheet.fields import (
    DURATION,
    PRESSURE,
)

MODES: Final = MappingProxyType(
    {
        "offensive": "Offensive",
        "defensive": "Defensive",
        "non_intervention": "Non-intervention",
    }
)
BENCHMARKS: Final = MappingProxyType(
    {
        "isolated": "Isolated",
        "identified": "Identified",
        "plan_signed": "Plan signed",
        "first_entry": "First entry",
        "leak_stopped": "Leak stopped",
        "all_out": "All out",
        "decon_done": "Decon done",
    }
)
# Block titles of the ICS 208 HM organization, and the ICS positions around it.
POSITIONS: Final = MappingProxyType(
    {
        "safety_officer": "Safety officer",
        "hazmat_group_supervisor": "Hazmat group supervisor",
        "assistant_safety_officer": "Assistant safety officer, hazmat",
        "technical_specialist": "Technical specialist, hazmat reference",
        "entry_leader": "Entry leader",
        "decontamination_leader": "Decontamination leader",
        "site_access_control_leader": "Site access control leader",
        "safe_refuge_area_manager": "Safe refuge area manager",
        "environmental_health": "Environmental health",
        "medical": "Medical",
        "operations": "Operations section chief",
        "liaison": "Liaison officer",
        "public_information": "Public information officer",
        "other": "Other",
    }
)
WHERE: Final = MappingProxyType(
    {"cold": "Cold zone", "warm": "Warm zone", "hot": "Hot zone", "left": "Left"}
)
SIGNING: Final = MappingProxyType(
    {
        "assistant_safety_officer": "Assistant safety officer, hazmat",
        "hazmat_group_supervisor": "Hazmat group supervisor",
        "incident_commander": "Incident commander",
        "safety_officer": "Safety officer",
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Objective:
    objective: str = line("Objective", required=True)
    done_when: str = line("Done when", help="What can be seen or measured.")
    by_when: datetime | None = moment("By when")
    done_at: datetime | None = moment("Done at")


@dataclass(frozen=True, slots=True, kw_only=True)
class TaskHazard:
    """One hazard of one task; "none found" is an answer that somebody gave."""

    task: str = line("Task", required=True)
    hazard: str = line(
        "Hazard", help="“none found” where there is none.", required=True
    )
    control: str = line("Control")
    who: str = line("Who sees to it")


@dataclass(frozen=True, slots=True, kw_only=True)
class Benchmark:
    intended: datetime | None = moment("Meant to be done at")
    done: datetime | None = moment("Done at")
    remarks: str = line("Remarks")


@dataclass(frozen=True, slots=True, kw_only=True)
class OperatingMode:
    mode: str = choice("Mode", MODES, required=True)
    why: str = line("Why", required=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class CommandTaken:
    """Who commands from this moment on; the one before commands until then."""

    name: str = line("Takes command", required=True)
    takes_over_from: str = line("From", help="Empty for the first commander.")
    summary: str = note("Said at the transfer", help="Situation, who is where.")
    open_items: str = note("Open items")
    face_to_face: str = yes_no("Face to face")


@dataclass(frozen=True, slots=True, kw_only=True)
class Position:
    position: str = choice("Position", POSITIONS, required=True)
    name: str = line("Name", required=True)
    since: datetime | None = moment("Since")
    until: datetime | None = moment("Until")
    why: str = line(
        "Why the same person", help="Needed where the commander takes it as well."
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckIn:
    """One person or unit on the scene."""

    name: str = line("Name of the person or unit", required=True)
    agency: str = line("Agency")
    training: str = line("Level of training claimed")
    arrived: datetime | None = moment("Arrived")
    where: str = choice("Where", WHERE)
    skilled_support: str = choice(
        "Skilled support, such as crane, pump or tow", {"yes": "Yes", "no": "No"}
    )
    briefed_at: datetime | None = moment("Briefed at")
    briefed_by: str = line("Briefed by")
    briefed_on: str = line("Briefed on", help="Dress, hazards, duties.")


@dataclass(frozen=True, slots=True, kw_only=True)
class TeamPlan:
    """What one team is to do, with what; who is in it stands in the set-up."""

    task: str = line("Task")
    channel: str = line("Radio channel")
    tools: str = line("Tools")
    dressed: str = yes_no(
        "Dressed and ready", help="On air at the word; backup in place with its tools."
    )
    garment: str = line("Garment and its standard")
    gloves_and_boots: str = line("Gloves and boots")
    respirator: str = line("Respirator")
    limits: str = line("Limits of what is worn", help="Heat, flash, breakthrough.")
    own_dress: str = line(
        "Who wears something else",
        help="Name: gloves, boots, suit, and the limits that their makers give.",
    )
    why: str = line("Why this ensemble")
    second_task: str = line(
        "A second task of someone outside", help="Empty where nobody has one."
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Briefing:
    """What was said before going in, by whom, to whom."""

    speaker: str = line("Speaker", required=True)
    listeners: tuple[str, ...] = names("Listeners", required=True)
    objectives: str = line("Objectives")
    path: str = line("Path in and out")
    hazards: str = line("Hazards")
    turn_back: str = line("Turn-back values")
    time_limit: Amount | None = amount(
        "Time limit", Dimension.TIME, DURATION, ("min", "h")
    )
    pressure: Amount | None = amount(
        "Turn-back pressure", Dimension.PRESSURE, PRESSURE, ("psi", "bar")
    )
    radio: str = line("Radio channel")
    signals: str = line("Hand and audible signals")
    lost_contact: str = line("Lost contact")
    emergency_decon: str = line("Emergency decon")
    refuge: str = line("Refuge")


@dataclass(frozen=True, slots=True, kw_only=True)
class Communications:
    command: str = line("Command channel")
    tactical: str = line("Tactical channel")
    entry: str = line("Entry channel")
    backup: str = line("Backup channel or signal")
    hand_signals: str = line("Hand signals")
    audible_signals: str = line("Audible signals")
    lost_contact: str = line("Lost contact")
    remarks: str = note("Remarks")


@dataclass(frozen=True, slots=True, kw_only=True)
class MedicalPlan:
    aid: str = line("Aid on the scene", help="Who stands by, with what.")
    transport: str = line("Transport")
    hospital: str = line("Hospital that can decontaminate")
    hospital_told: str = yes_no("Hospital told")
    antidotes: str = line(
        "Antidotes and first treatment",
        help="Where a fluoride is suspected: what is there for fluoride burns.",
    )
    monitoring: str = yes_no("Medical checks before and after entry")
    delayed_effects: str = line("Delayed effects to watch for")


@dataclass(frozen=True, slots=True, kw_only=True)
class DeconSetup:
    ready: str = yes_no("Ready", required=True)
    method: str = line("Method")
    agent: str = line("Agent")
    stages: str = line("Stages")
    who: str = line("Who")
    run_off: str = line("Run-off")
    equipment_held: str = line("Equipment held back")
    emergency: str = line("Emergency decon")
    standard: str = yes_no("By the standard procedure")


@dataclass(frozen=True, slots=True, kw_only=True)
class Period:
    """The operational period that the plan is for."""

    since: datetime | None = moment("From")
    until: datetime | None = moment("To")


@dataclass(frozen=True, slots=True, kw_only=True)
class Emergency:
    """What is done when something goes wrong, and what departs from the SOP."""

    procedures: str = note("Emergency procedures")
    signal: str = line("Signal to leave")
    sop_changes: str = line(
        "Changes to SOPs or work practices", help="“none” is an answer."
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Signature:
    """One name under the plan as it stood when it was signed."""

    capacity: str = choice("Signs as", SIGNING, required=True)
    name: str = line("Name", required=True)
    agrees: str = choice(
        "Signs", {"yes": "Signs the plan", "no": "Does not sign"}, required=True
    )
    dissent: str = note("Dissent or remark", help="Printed above the signature.")
    waiver: str = line(
        "Signed although blocks are missing, because",
        help="Needed where a block is missing.",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Override:
    """Go anyway, and why: one team, the lacks that stood open, one name."""

    team: str = line("Team", required=True)
    lacks: tuple[str, ...] = names("What was not ready", required=True)
    why: str = line("Why", required=True)
    by: str = line("By", required=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Handing:
    """The emergency phase is over and the site goes to somebody."""

    recipient: str = line("Handed to", required=True)
    of: str = line("Of")
    remains: str = note("What remains", help="Hazards, work, property held.")
    told: str = line("What they were told")
