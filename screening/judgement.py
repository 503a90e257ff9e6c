"""What a team is to do at one moment, and every finding behind it."""

from collections.abc import Hashable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import TypeAlias

from screening.coverage import first_look_gaps
from screening.crews import effective, team_air
from screening.incident import Context
from screening.memory import Core, Stand, TeamState, place_key
from screening.rules import Rule, judge
from screening.rules.found import ENSEMBLE_INDEX, Found
from screening.rules.people import TeamFacts
from screening.verdicts import Action, Finding

Token: TypeAlias = tuple[Hashable, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """One finding as it stands for one team."""

    rule: Rule
    found: Found
    action: Action
    place: str
    entry: str  # "" where time or the team itself raised it
    at: datetime | None

    @property
    def token(self) -> Token:
        """Equal for the same statement: what has not changed is not said again."""
        found = self.found
        return (
            self.rule.number, found.hazard, found.subject, self.action, place_key(self.place),
            self.entry,
        )  # fmt: skip


def standing_for(
    core: Core, team: TeamState, at: datetime, context: Context
) -> list[Standing]:
    """Everything that stands for a team at a moment, strictest first."""
    placed = [_placed(stand, action) for stand, action in effective(core, team)]
    index = ENSEMBLE_INDEX[team.ensemble]
    own = [
        Standing(
            rule=rule,
            found=found,
            action=found.severity[index],
            place=team.place,
            entry="",
            at=None,
        )
        for rule, found in judge("team", team_facts(core, team, at, context))
    ]
    return sorted(placed + own, key=lambda s: (-s.action, s.rule.number, s.place))


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
        unanswered=team.unanswered,
        dose_read=dose[0] if dose else None,
        dose_shown=dose[1] if dose else "",
        dose_now=team.dose.now(at),
        rate=team.dose.rate,
        rate_shown=team.dose.rate_shown,
        air=team_air(team, context),
        open_hazards=first_look_gaps(core, team, at, context) if team.inside else (),
    )


def strictest(standing: list[Standing]) -> Action:
    return max((item.action for item in standing), default=Action.CONTINUE)


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
    )


def findings_of(standing: list[Standing], team: str, place: str) -> Iterator[Finding]:
    for item in standing:
        yield finding(item, team, place)
