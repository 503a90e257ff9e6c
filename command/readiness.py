"""What is not ready yet: for the site, for one team, and for one that is inside."""

from collections.abc import Iterable, Sequence

from command.needs import NEEDS
from command.scene import Lack, Scene
from command.site_lacks import of_site
from command.team_lacks import of_team
from command.work_parts import Override


def not_ready(scene: Scene) -> tuple[Lack, ...]:
    """Everything open: of the site, of each entry team and of each team inside.

    The stopping ones first. Empty where no plan was begun.
    """
    if not scene.plan.begun:
        return ()
    lacks = list(of_site(scene))
    for crew in scene.crews:
        if crew.role == "entry" or crew.inside:
            lacks += of_team(scene, crew)
    return _sorted(lacks)


def lacks_of(scene: Scene, team: str) -> tuple[Lack, ...]:
    """What is open for one team: its own lacks and those of the site, overrides marked.

    An override counts from when the team went in; of a team outside, none does.
    """
    crew = scene.crew(team)
    if crew is None or not scene.plan.begun:
        return ()
    lacks = [*of_site(scene), *of_team(scene, crew)]
    if not crew.inside:
        return _sorted(lacks)
    overrides = scene.plan.overrides(team, crew.inside_since)
    return _sorted(_waived(lack, overrides) for lack in lacks)


def blocking(scene: Scene, team: str) -> tuple[Lack, ...]:
    """What keeps a team that is outside from going in."""
    return tuple(lack for lack in lacks_of(scene, team) if lack.blocks)


def standing_inside(scene: Scene, team: str) -> tuple[Lack, ...]:
    """What counts in the verdict of a team that is inside."""
    crew = scene.crew(team)
    if crew is None or not crew.inside:
        return ()
    return tuple(lack for lack in lacks_of(scene, team) if lack.need.inside)


def _sorted(lacks: Iterable[Lack]) -> tuple[Lack, ...]:
    order = list(NEEDS)
    return tuple(sorted(lacks, key=lambda lack: (-lack.action, order.index(lack.key))))


def _waived(lack: Lack, overrides: Sequence[Override]) -> Lack:
    for override in reversed(overrides):
        if lack.key in override.lacks:
            return Lack(
                key=lack.key,
                words=lack.words,
                team=lack.team,
                item=lack.item,
                waived_by=override,
            )
    return lack
