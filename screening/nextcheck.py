"""The next check: which one tells most, and how it is done.

For a team that is to leave it is what made it leave, read from outside. Else fluoride
comes first after any acid; then the wet edge of a strip that is still in the hand; then,
for a team that is out, a fresh reading of what keeps it out; then what is worth most. A
check may answer several hazards at once (one wet pH
strip, both acid and base). Its worth is the sum, over the hazards that are not known and
that it answers, of how badly each could hurt this team in what it wears, times how much is
open. The weights are stated here and are a choice: common practice, no source.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from screening.ensembles import Ensemble
from screening.methods import next_step, recognise
from screening.methods.meter import READ_METER
from screening.methods.papers import WET_FLUORIDE, WET_KI, WET_PH
from screening.methods.radiation import READ_RATE
from screening.suspected import suspected
from screening.verdicts import Action, CoverageRow, Hazard, Status


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    kind: str  # of the reading
    answers: tuple[Hazard, ...]
    how: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Situation:
    """What of a team decides what it should look at next, beside the coverage."""

    ensemble: Ensemble
    action: Action = Action.CONTINUE  # what it is to do
    inside: bool = True
    acid_found: bool = False  # at its place
    wet_edge: bool = False  # a KI-starch strip on a liquid, its edge not looked at yet
    held_by: Hazard | None = None  # keeps the team out, and is to be read again
    held_at: str = ""  # where that is, if it is elsewhere
    suspects: tuple[str, ...] = ()
    frost: bool = False  # water on a strip would freeze


# Of two worth the same the earlier comes first: what rule 33 asks for, then the rest.
CHECKS: Final[tuple[Check, ...]] = (
    Check(
        kind="gas_meter",
        answers=(
            Hazard.FLAMMABLE_ATMOSPHERE,
            Hazard.OXYGEN_ENRICHED,
            Hazard.OXYGEN_DEFICIENT,
            Hazard.TOXIC_GAS,
        ),
        how=READ_METER,
    ),
    Check(
        kind="ph_paper",
        answers=(Hazard.ACID_VAPOUR, Hazard.BASE_VAPOUR),
        how=WET_PH,
    ),
    Check(
        kind="dosimeter",
        answers=(Hazard.GAMMA_RADIATION,),
        how=READ_RATE,
    ),
    Check(
        kind="ki_starch_paper",
        answers=(Hazard.OXIDISER_VAPOUR,),
        how=WET_KI,
    ),
    Check(
        kind="fluoride_paper",
        answers=(Hazard.FLUORIDE_VAPOUR,),
        how=WET_FLUORIDE,
    ),
    Check(
        kind="thermal_imager",
        answers=(Hazard.CONTAINER_HEATING,),
        how="Read the container again from a distance, on a dull or painted spot, with its "
        "surroundings.",
    ),
)
WET_EDGE: Final = "Look at the edge between wet and dry on the KI-starch strip."
FIND_CONTAINERS: Final = (
    "Look for closed containers here; read each with the imager from a distance, on a dull "
    "or painted spot."
)

# How badly each hazard, unseen, could hurt a team in this clothing: 3 what can kill at
# once, or what nothing worn keeps off; 2 what can injure at once; 1 what the clothing
# mostly keeps off. SCBA answers what is breathed, vapour-tight gear what reaches the skin,
# nothing answers fire, a burst or gamma. 1 more where a suspect would show in it.
_SKIN: Final = frozenset(
    {
        Hazard.ACID_VAPOUR,
        Hazard.BASE_VAPOUR,
        Hazard.OXIDISER_VAPOUR,
        Hazard.FLUORIDE_VAPOUR,
    }
)
_BREATHED: Final = frozenset({Hazard.OXYGEN_DEFICIENT, Hazard.TOXIC_GAS})
_SUSPECTED: Final = 1


def weight(hazard: Hazard, ensemble: Ensemble, suspects: tuple[str, ...] = ()) -> int:
    """3, 2 or 1 as above, and 1 more where a suspect would show in it."""
    more = _SUSPECTED if hazard in shown_by(suspects) else 0
    if hazard in _SKIN:
        return more + (1 if ensemble.vapour_tight else 2)
    if hazard in _BREATHED:
        return more + (1 if ensemble.has_scba else 3)
    return more + 3


def shown_by(suspects: tuple[str, ...]) -> frozenset[Hazard]:
    """The hazards as which the suspects would show, where that is sure."""
    found: set[Hazard] = set()
    for one in suspected(suspects):
        if one.burns:
            found.add(Hazard.FLAMMABLE_ATMOSPHERE)
        if one.enriches:
            found.add(Hazard.OXYGEN_ENRICHED)
        if one.poisons:
            found.add(Hazard.TOXIC_GAS)
        papers = one.substance.papers if one.substance is not None else {}
        for (paper, sample), response in papers.items():
            if sample == "vapour" and len(response.shows - {"bleached"}) == 1:
                found |= {_BY_OUTCOME[paper, shown] for shown in response.shows
                          if (paper, shown) in _BY_OUTCOME}  # fmt: skip
    return frozenset(found)


_BY_OUTCOME: Final = {
    ("ph", "acid"): Hazard.ACID_VAPOUR,
    ("ph", "base"): Hazard.BASE_VAPOUR,
    ("ki_starch", "positive"): Hazard.OXIDISER_VAPOUR,
    ("fluoride", "changed"): Hazard.FLUORIDE_VAPOUR,
}

# A hazard that was never looked for tells more than one whose answer is merely old, or
# one with a suspect that needs another sensor, which may not be at hand. One that the
# instrument carried cannot tell in this air tells least: the same instrument, read again,
# leaves it open. So does a container where nobody has seen one.
_OPEN: Final[Mapping[Status, int]] = {
    Status.NOT_CHECKED: 3,
    Status.CANNOT_TELL: 3,
    Status.OUT_OF_DATE: 2,
}
_OTHER_SENSOR: Final = 2
_LEAST: Final = 1


def openness(row: CoverageRow) -> int:
    """How much a check of this row could still tell: 0 where it is known."""
    if row.status is Status.CANNOT_TELL:
        for said in recognise(row.because)[:1]:
            if said.sentence.key == "suspect_not_measured":
                return _OTHER_SENSOR
            if said.sentence.other_means:
                return _LEAST
    if row.hazard is Hazard.CONTAINER_HEATING and row.status is Status.NOT_CHECKED:
        return _LEAST
    return _OPEN.get(row.status, 0)


_STRIPS: Final = (WET_PH, WET_KI, WET_FLUORIDE)
_FROST: Final = " In this frost, wet it with water and glycerol and say so in the note."


def how_to_look(
    hazard: Hazard, status: Status, because: str, *, frost: bool = False
) -> str:
    """The check for one hazard, as a sentence to act on; it meets the doubt named."""
    step = ""
    if status in (Status.CANNOT_TELL, Status.OUT_OF_DATE):
        step = next_step(because)
    if not step and hazard is Hazard.CONTAINER_HEATING and status is Status.NOT_CHECKED:
        step = FIND_CONTAINERS
    usual = (check.how for check in CHECKS if hazard in check.answers)
    step = step or next(usual, "")
    return step + _FROST if frost and step in _STRIPS else step


def look_next(rows: Sequence[CoverageRow], team: Situation) -> str:
    """The check that comes first for a team, and why; "" where nothing is open.

    A team that is to hold or to leave does that first, and looks from there.
    """
    step, why = _first(rows, team)
    if not step:
        return ""
    if team.action >= Action.STOP:
        step = f"{_before(team)}: {step[:1].lower()}{step[1:]}"
    return f"{step} {why}".rstrip()


def _before(team: Situation) -> str:
    at = f", at {team.held_at}" if team.held_by is not None and team.held_at else ""
    if not team.inside:
        return f"From outside{at}"
    if team.action is Action.STOP:
        return "Back off first. From there"
    return f"Leave first. Then, from outside{at}"


_MAY_BE_HF: Final = "An acid was found: it may be hydrogen fluoride."
_MAY_BE_BLEACH: Final = "A bleach leaves no more than a line there."
_HOLDS: Final = "Without a fresh reading it cannot be lifted."


def _first(rows: Sequence[CoverageRow], team: Situation) -> tuple[str, str]:
    """The step and why it comes first, both "" where nothing is open."""
    worth = {
        row.hazard: openness(row) * weight(row.hazard, team.ensemble, team.suspects)
        for row in rows
        if openness(row)
    }
    by_hazard = {row.hazard: row for row in rows}
    if team.held_by is not None and team.action is Action.WITHDRAW:
        return _usual(team.held_by, team), _HOLDS
    if team.acid_found and Hazard.FLUORIDE_VAPOUR in worth:
        return _step(by_hazard[Hazard.FLUORIDE_VAPOUR], team), _MAY_BE_HF
    if team.wet_edge:
        return WET_EDGE, _MAY_BE_BLEACH
    if team.held_by is not None:
        return _usual(team.held_by, team), _HOLDS
    return _worth_most(by_hazard, worth, team)


def _step(row: CoverageRow, team: Situation) -> str:
    return how_to_look(row.hazard, row.status, row.because, frost=team.frost)


def _usual(hazard: Hazard, team: Situation) -> str:
    return how_to_look(hazard, Status.FOUND, "", frost=team.frost)


def _worth_most(
    rows: Mapping[Hazard, CoverageRow], worth: Mapping[Hazard, int], team: Situation
) -> tuple[str, str]:
    """Where what weighs most in a check is a doubt, the step that meets the doubt."""
    # Of two checks worth the same, the one that answers the worse single hazard.
    best = max(CHECKS, key=lambda check: _worths(check, worth))
    asked = [rows[hazard] for hazard in best.answers if hazard in worth]
    if not asked:
        return "", ""
    # Of two that weigh the same, the one that nobody has looked for: its check is the
    # usual one.
    first = max(
        asked,
        key=lambda row: (worth[row.hazard], row.status is not Status.CANNOT_TELL),
    )
    step = _step(first, team)
    flammable = rows.get(Hazard.FLAMMABLE_ATMOSPHERE)
    if best.how == READ_METER and flammable and flammable.status is Status.FOUND:
        step = READ_METER  # where it comes from shows at several heights
    return step, f"Open: {', '.join(row.hazard.label.lower() for row in asked)}."


def _worths(check: Check, worth: Mapping[Hazard, int]) -> tuple[int, int]:
    each = [worth.get(hazard, 0) for hazard in check.answers]
    return sum(each), max(each)
