"""What a decision's page offers: teams, hazards that stand, people, alarms to hear."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from incidents import commands, engine, selectors
from incidents.forms.decisions import Clearable
from incidents.models import Incident, Person
from screening.verdicts import Action, Clocks, Finding

# These are about a team that is inside; without one there is nothing to decide.
INSIDE_ONLY: Final = frozenset({"exit", "par", "order"})


@dataclass(frozen=True, slots=True, kw_only=True)
class TeamChoice:
    """One team to decide on, with what helps to tell it from the others."""

    key: str
    name: str
    ensemble: str
    place: str
    members: tuple[str, ...]
    clocks: Clocks
    answered: bool  # or out, since the Mayday that stands


def teams_for(view: selectors.SheetView, kind: str) -> list[TeamChoice]:
    """In the order of the set-up, which never changes under the finger."""
    since = view.mayday.at if view.mayday else None
    open_names = commands.unaccounted(view.assessment, since) if since else []
    return [
        TeamChoice(
            key=row.team.key,
            name=row.team.name,
            ensemble=row.now.ensemble,
            place=row.now.place,
            members=tuple(member.name for member in row.team.members.all()),
            clocks=row.now.clocks,
            answered=row.team.key not in open_names,
        )
        for row in view.teams
        if row.now.clocks.inside or kind not in INSIDE_ONLY
    ]


def clearable(view: selectors.SheetView, by: str) -> list[Clearable]:
    """Hazards that stand, each with its place and what speaks against a clear now."""
    found: dict[tuple[str, str], Finding] = {}
    for finding in (f for row in view.teams for f in row.now.findings):
        if not finding.entry or finding.action < Action.CAUTION:
            continue
        key = (finding.hazard.value, finding.place)
        # Said in the words of the team that it holds for in full.
        if key not in found or finding.action > found[key].action:
            found[key] = finding
    now = engine.live(view.incident)
    return [
        Clearable(
            value=f"{hazard}|{place}",
            label=_named(finding),
            why_not=engine.clear_refusal(
                now, hazard=hazard, place=place, by=by, at=view.at
            ),
        )
        for (hazard, place), finding in found.items()
    ]


def _named(finding: Finding) -> str:
    where = f", {finding.place}" if finding.place else ""
    return f"{finding.hazard.label}{where}: {finding.because}"


def second_people(incident: Incident, person: Person) -> list[str]:
    """Everyone else with a part in the incident."""
    roles: Sequence[Person] = [
        role.person for role in incident.roles.select_related("person")
    ]
    return [one.shown_name for one in roles if one.pk != person.pk]
