"""What a team is to do at one moment, and every finding behind it."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from typing import TypeAlias

from screening.coverage import first_look_gaps
from screening.crews import meant_at, team_air
from screening.ensembles import Ensemble
from screening.incident import Context
from screening.memory import Core, PlaceState, Stand, TeamState, place_key
from screening.rules import Rule, judge
from screening.rules.found import Found
from screening.rules.people import TeamFacts
from screening.verdicts import Action, Finding, Hazard

# Rule's number, hazard, what of, action, key of the place, entry.
Token: TypeAlias = tuple[int, Hazard, str, Action, str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """One finding as it stands for one team."""

    rule: Rule
    found: Found
    action: Action
    place: str
    entry: str  # "" where time or the team itself raised it
    at: datetime | None
    # Equal for the same statement: what has not changed is not said again.
    token: Token = field(init=False, compare=False)

    def __post_init__(self) -> None:
        found = self.found
        token = (
            self.rule.number, found.hazard, found.subject, self.action,
            place_key(self.place), self.entry,
        )  # fmt: skip
        object.__setattr__(self, "token", token)


def subject_of(token: Token) -> tuple[int, Hazard, str, Action]:
    """The rule's number, hazard, key of the place and action, leaving the entry out."""
    number, hazard, _, action, place, _ = token
    return number, hazard, place, action


def standing_for(
    core: Core, team: TeamState, at: datetime, context: Context
) -> list[Standing]:
    """Everything that stands for a team at a moment, strictest first."""
    worn, here = team.worn, team.place_key
    placed: list[Standing] = []
    for name, place in core.marked_places():
        placed += _placed_at(place, worn, here=name == here)
    placed += [_placed(stand, stand.found.means(worn)) for stand in team.own.values()]
    own = [
        Standing(
            rule=rule,
            found=found,
            action=found.means(worn),
            place=team.place,
            entry="",
            at=None,
        )
        for rule, found in judge("team", team_facts(core, team, at, context))
    ]
    return sorted(placed + own, key=lambda s: (-s.action, s.rule.number, s.place))


def _placed_at(
    place: PlaceState, worn: tuple[Ensemble, ...], *, here: bool
) -> tuple[Standing, ...]:
    return place.once(
        ("placed", worn, here),
        lambda: tuple(_placed(*pair) for pair in meant_at(place, worn, here=here)),
    )


def _placed(stand: Stand, action: Action) -> Standing:
    return Standing(
        rule=stand.rule,
        found=stand.found,
        action=action,
        place=stand.place,
        entry=stand.entry,
        at=stand.order[0],
    )


def team_facts(
    core: Core, team: TeamState, at: datetime, context: Context
) -> TeamFacts:
    """The team as its own rules see it."""
    dose = team.dose.highest_read
    return TeamFacts(
        context=context,
        at=at,
        inside=team.inside,
        inside_since=team.inside_since,
        last_par=team.last_par,
        unanswered=tuple(context.name_of(team.id, m) for m in team.unanswered),
        dose_read=dose[0] if dose else None,
        dose_shown=dose[1] if dose else "",
        dose_now=team.dose.now(at),
        rate=team.dose.rate,
        rate_shown=team.dose.rate_shown,
        air=team_air(team, context),
        open_hazards=first_look_gaps(core, team, at, context) if team.inside else (),
    )


def strictest(standing: list[Standing]) -> Action:
    """The verdict of what `standing_for` gave, which is strictest first."""
    return standing[0].action if standing else Action.CONTINUE


def finding(item: Standing, team: str, place: str) -> Finding:
    """The statement as people and documents get it."""
    because = item.found.because
    if (
        place_key(item.place) != place_key(place)
        and not item.found.everywhere
        and item.entry
    ):
        because = f"At {item.place or 'a place not named'}: {because}"
    return Finding(
        rule=item.rule.name,
        number=item.rule.number,
        hazard=item.found.hazard,
        team=team,
        place=item.place,
        action=item.action,
        because=because,
        advice=item.found.advice,
        source=item.rule.source,
        entry=item.entry,
        at=item.at,
        subject=item.found.subject,
    )


def findings_of(standing: list[Standing], team: str, place: str) -> Iterator[Finding]:
    for item in standing:
        yield finding(item, team, place)
