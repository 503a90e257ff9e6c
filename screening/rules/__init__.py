"""The rules, one small function each, and the one table that says which of them run.

A rule on a reading takes the reading and `ReadingFacts`; a rule on a team takes
`TeamFacts`; a rule on a place takes what stands there. Each yields what it found, or
nothing. None knows any team's clothing: a finding carries one action per ensemble.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from screening.readings import Entry
from screening.rules import gases, papers, people, radiation, signs, thermal, together
from screening.rules.found import Found, ReadingFacts

COMMON_PRACTICE: Final = "common practice, no source"
PUBLISHED: Final = "published"
OUR_CHOICE: Final = "this worksheet's own choice"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One row of the table: what a page and the report print of a rule."""

    number: int
    name: str
    title: str
    judged_on: str  # an entry's kind, or "team", "place", "gauge"
    source: str
    status: str
    function: Callable[..., Iterator[Found]]


def _rule(
    number: int,
    judged_on: str,
    function: Callable[..., Iterator[Found]],
    title: str,
    source: str = COMMON_PRACTICE,
    status: str = COMMON_PRACTICE,
) -> Rule:
    return Rule(
        number=number,
        name=function.__name__,
        title=title,
        judged_on=judged_on,
        source=source,
        status=status,
        function=function,
    )


_146 = "29 CFR 1910.146(b), hazardous atmosphere"
_POCKET = "NIOSH Pocket Guide (IDLH, ceilings)"
_EPA = "EPA-400/R-17/001, Table 3-1"
_NCRP = "NCRP Commentary 19"

RULES: Final[tuple[Rule, ...]] = (
    _rule(1, "ph_paper", papers.acid_vapour_at_stop, "Acid vapour at the stop limit"),
    _rule(2, "ph_paper", papers.acid_vapour_weak, "Weak acid vapour"),
    _rule(3, "ph_paper", papers.base_vapour, "Base vapour"),
    _rule(4, "ph_paper", papers.corrosive_liquid, "Corrosive liquid, no contact"),
    _rule(5, "ph_paper", papers.faded_paper, "A faded paper clears nothing"),
    _rule(6, "ki_starch_paper", papers.oxidiser_vapour, "Oxidiser in the air"),
    _rule(7, "ki_starch_paper", papers.oxidiser_liquid, "Oxidising liquid"),
    _rule(8, "ki_starch_paper", papers.wet_edge_not_looked_at, "Look at the wet edge"),
    _rule(9, "fluoride_paper", papers.fluoride, "Fluoride found"),
    _rule(10, "gas_meter", gases.lel_at_withdraw, "LEL at the withdraw limit", _146, PUBLISHED),
    _rule(11, "gas_meter", gases.lel_at_caution, "LEL at the caution limit"),
    _rule(
        12, "gas_meter", gases.lel_needs_oxygen, "A quiet LEL needs oxygen",
        "NIOSH/OSHA/USCG/EPA guidance manual 1985; 29 CFR 1910.146 App. B(5)", PUBLISHED,
    ),
    _rule(13, "gas_meter", gases.oxygen_enriched, "Oxygen enriched", _146, PUBLISHED),
    _rule(14, "gas_meter", gases.oxygen_deficient, "Oxygen deficient", _146, PUBLISHED),
    _rule(15, "gas_meter", gases.toxic_gas, "Toxic gas", _POCKET, PUBLISHED),
    _rule(16, "thermal_imager", thermal.hot_relief_discharge, "Hot relief discharge"),
    _rule(17, "thermal_imager", thermal.warm_container, "Warm container, rise not known"),
    _rule(18, "thermal_imager", thermal.rising_container, "Container rising"),
    _rule(19, "thermal_imager", thermal.steady_warm_container, "Container warm, steady"),
    _rule(20, "dosimeter", radiation.gamma_raised, "Gamma above background", _NCRP, PUBLISHED),
    _rule(20, "team", people.dose_at_half, "Half the turn-back dose", _EPA, PUBLISHED),
    _rule(21, "team", people.dose_at_turn_back, "Turn-back dose reached", _EPA, PUBLISHED),
    _rule(
        22, "dosimeter", radiation.dose_rate_at_turn_back, "Turn-back dose rate",
        _NCRP, PUBLISHED,
    ),
    _rule(23, "team", people.stay_time_short, "Stay time", "physics: dose is rate by time"),
    _rule(
        24, "gauge", people.gauge_at_limit, "Air at turn-around or alarm",
        "NFPA 1981 (alarm at 33 %); turn-around: common practice", PUBLISHED,
    ),
    _rule(24, "team", people.air_forecast, "Air forecast from consumption"),
    _rule(25, "team", people.roll_call_overdue, "PAR overdue or unanswered"),
    _rule(26, "gas_meter", gases.lel_spike_then_fall, "LEL spike, then fall"),
    _rule(27, "ph_paper", papers.bleached_paper, "Paper went white"),
    _rule(28, "gas_meter", gases.oxygen_drop, "Oxygen drop, not deficient"),
    _rule(29, "gas_meter", gases.oxygen_rise, "Oxygen rise, not enriched"),
    _rule(30, "gas_meter", gases.organic_vapour, "Organic vapour, unexplained"),
    _rule(
        31, "place", together.fluoride_with_acid, "Fluoride with acid",
        "29 CFR 1910.146(b), note (delayed collapse after hydrogen fluoride); the action is "
        "common practice", PUBLISHED,
    ),
    _rule(32, "place", together.oxidiser_with_flammable, "Oxidiser with flammable gas"),
    _rule(
        33, "team", people.monitoring_gaps, "Not looked for after the first minutes",
        "29 CFR 1910.120(h)(2) by analogy (initial monitoring on entry)", PUBLISHED,
    ),
    _rule(
        34, "team", people.no_backup, "No backup team",
        "29 CFR 1910.120(q)(3)(vi)", PUBLISHED,
    ),
    _rule(35, "sign", thermal.failing_container, "Container about to fail"),
    _rule(36, "sign", signs.unexplained_sign, "Unexplained sign"),
)  # fmt: skip


def rules_on(subject: str) -> tuple[Rule, ...]:
    """The rules judged on one kind of entry, or on "team", "place" or "gauge"."""
    return _BY_SUBJECT.get(subject, ())


def judge_reading(entry: Entry, facts: ReadingFacts) -> list[tuple[Rule, Found]]:
    """What every rule on this kind of reading finds, in the order of the table."""
    return [
        (rule, found)
        for rule in rules_on(entry.kind)
        for found in rule.function(entry, facts)
    ]


def judge(subject: str, facts: Any) -> list[tuple[Rule, Found]]:
    """The same for a team, a place or a gauge."""
    return [
        (rule, found) for rule in rules_on(subject) for found in rule.function(facts)
    ]


def _grouped() -> Mapping[str, tuple[Rule, ...]]:
    subjects = dict.fromkeys(rule.judged_on for rule in RULES)
    return {s: tuple(r for r in RULES if r.judged_on == s) for s in subjects}


_BY_SUBJECT: Final = _grouped()
