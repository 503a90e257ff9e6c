"""What is needed before a team goes in: the table, each row with its source.

29 CFR 1910.120 (q) binds an emergency response; its paragraphs (b) and (k) bind clean-up
sites and are used here as the nearest published yardstick. 29 CFR 1910.134(g) is the
respirator rule. "From memory" marks what could not be read.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from screening.verdicts import Action

PRACTICE: Final = "common practice, no source"
BUDDY: Final = "29 CFR 1910.120(q)(3)(v)"
STANDBY: Final = "29 CFR 1910.120(q)(3)(vi)"
SAFETY_OFFICER: Final = "29 CFR 1910.120(q)(3)(vii)"
SKILLED: Final = "29 CFR 1910.120(q)(4)"
TWO_OUT: Final = "29 CFR 1910.134(g)(3)(i) and (g)(4)(ii)"
SECOND_TASK: Final = "29 CFR 1910.134(g)(4), note 1"
BRIEFING: Final = "29 CFR 1910.120(b)(4)(iii), for clean-up sites, by analogy"
TASKS: Final = "29 CFR 1910.120(b)(4)(ii)(A), for clean-up sites, by analogy"
SITE_CONTROL: Final = (
    "29 CFR 1910.120(q)(3)(v) and (b)(4)(ii)(F), the latter by analogy"
)
DECON: Final = "from memory of 29 CFR 1910.120(k)(2)(i), for clean-up sites, by analogy"
FORM: Final = "ICS 208 HM"
MEDICAL_CHECK: Final = (
    "a hazmat EMS field protocol (local guidance, not law); NFPA 1584, from memory"
)
FLUORIDE: Final = f"{STANDBY}; ICS 206, from memory; delayed effects: ATSDR"


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """One row. `action` STOP keeps a team from going in until overridden.

    `inside`: an open lack of it counts in the verdict of a team that is inside.
    """

    key: str
    title: str
    action: Action
    source: str
    part: str  # where it is mended
    inside: bool = True


def _stop(key: str, title: str, source: str, part: str) -> Need:
    return Need(key=key, title=title, action=Action.STOP, source=source, part=part)


def _caution(
    key: str, title: str, source: str, part: str, *, inside: bool = False
) -> Need:
    return Need(
        key=key,
        title=title,
        action=Action.CAUTION,
        source=source,
        part=part,
        inside=inside,
    )


NEEDS: Final[Mapping[str, Need]] = MappingProxyType(
    {
        need.key: need
        for need in (
            _stop("no_backup_team", "No backup team outside", STANDBY, "team-new"),
            _stop("backup_not_ready", "Backup not dressed and ready", STANDBY, "teams"),
            _stop(
                "backup_lesser_ensemble",
                "Backup in a lesser ensemble",
                f"{PRACTICE}; {STANDBY} asks for equipment ready to rescue",
                "teams",
            ),
            _stop("team_of_one", "Fewer than two in the team", BUDDY, "team-new"),
            _stop("decon_not_ready", "Decon not ready", DECON, "decon"),
            _stop("no_briefing", "Not briefed", BRIEFING, "briefing"),
            _stop(
                "plan_not_signed", "Plan not signed", f"{FORM}, block 36", "signatures"
            ),
            _stop(
                "no_medical_plan", "No aid or transport standing by", STANDBY, "medical"
            ),
            _stop(
                "no_answer_for_fluoride",
                "No answer for fluoride burns",
                FLUORIDE,
                "medical",
            ),
            _stop(
                "not_checked_in",
                "Not checked in",
                "ICS 211, from memory; training: 29 CFR 1910.120(q)(6)",
                "check_in",
            ),
            _stop(
                "non_intervention",
                "Operating mode is non-intervention",
                "from memory of NFPA 472 (2018), 5.3",
                "mode",
            ),
            _stop(
                "skilled_support_not_briefed",
                "Skilled support in without a briefing",
                SKILLED,
                "check_in",
            ),
            _stop(
                "no_safety_officer", "No safety officer", SAFETY_OFFICER, "positions"
            ),
            _stop(
                "commander_is_safety_officer",
                "Commander is safety officer, without a reason",
                SAFETY_OFFICER,
                "positions",
            ),
            _stop("zones_not_set", "Hot zone not set", SITE_CONTROL, "zones"),
            _caution(
                "zones_after_wind_shift",
                "Wind has shifted since the zones were looked at",
                PRACTICE,
                "zones_checked",
                inside=True,
            ),
            _caution(
                "commander_doubles",
                "Commander is safety officer as well",
                SAFETY_OFFICER,
                "positions",
            ),
            _caution("one_in_backup", "One person in the backup", TWO_OUT, "team-new"),
            _caution(
                "outside_second_task",
                "Someone outside has a second task",
                SECOND_TASK,
                "teams",
            ),
            _caution(
                "defensive_mode",
                "Operating mode is defensive",
                "from memory of NFPA 472 (2018), 5.3",
                "mode",
            ),
            _caution(
                "no_mode",
                "Operating mode not said",
                "from memory of NFPA 472 (2018), 5.3",
                "mode",
            ),
            _caution(
                "weather_stale", "Weather old or not recorded", PRACTICE, "weather"
            ),
            _caution(
                "no_substance",
                "No substance recorded",
                "29 CFR 1910.120(q)(3)(ii)",
                "substances",
            ),
            _caution(
                "no_reference_data",
                "No reference data on a substance",
                "29 CFR 1910.120(c)(5)(iii) and (j)(1)(iv), by analogy",
                "substances",
            ),
            _caution("no_objective", "No objective", f"{FORM}, block 31", "objectives"),
            _caution(
                "objective_without_end",
                "An objective without a “done when”",
                "ICS 202, from memory",
                "objectives",
            ),
            _caution(
                "task_without_hazards",
                "A task without its hazards",
                TASKS,
                "hazards",
            ),
            _caution("late_benchmark", "A benchmark is late", PRACTICE, "benchmarks"),
            _caution(
                "no_communications",
                "Channels not recorded",
                f"{FORM}, blocks 25 to 27",
                "communications",
            ),
            _caution(
                "team_without_task",
                "Team without a task or a channel",
                TASKS,
                "teams",
            ),
            _stop(
                "member_not_fit",
                "Somebody of the team is not fit to go in",
                MEDICAL_CHECK,
                "medical-checks",
            ),
            _stop(
                "member_elsewhere",
                "Somebody of the team is not in the cold zone",
                PRACTICE,
                "line",
            ),
            _caution(
                "member_not_checked",
                "Somebody of the team has no medical check",
                MEDICAL_CHECK,
                "medical-checks",
            ),
            _caution(
                "blocks_missing",
                "Blocks of the plan not recorded",
                f"{FORM}, blocks 1 to 33",
                "",
            ),
            _caution(
                "no_emergency_procedures",
                "Emergency procedures not recorded",
                f"{FORM}, block 33",
                "emergency",
            ),
            _caution(
                "no_hospital",
                "No hospital named that can decontaminate",
                "ICS 206, from memory",
                "medical",
            ),
            _caution(
                "briefing_incomplete",
                "The briefing left something out",
                f"{FORM}, blocks 31 to 34; {BRIEFING}",
                "briefing",
            ),
            _caution(
                "changed_since_signed",
                "The plan was changed after it was signed",
                PRACTICE,
                "signatures",
            ),
            _caution(
                "plan_dissent",
                "Someone did not sign",
                f"{FORM}, blocks 34 to 36",
                "signatures",
            ),
            _caution(
                "instrument_not_tested",
                "An instrument without a bump test today",
                "OSHA SHIB 09-30-2013",
                "",
            ),
            _caution(
                "not_readable", "A record of the plan cannot be read", PRACTICE, ""
            ),
        )
    }
)
