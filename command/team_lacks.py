"""What one team lacks: a second person, a backup, a briefing, a check-in."""

from collections.abc import Iterator

from command.documents import name_key
from command.parts import is_briefed
from command.scene import Crew, Lack, Scene


def of_team(scene: Scene, crew: Crew) -> Iterator[Lack]:
    if len(crew.members) < 2:
        yield Lack(
            key="team_of_one",
            words=f"{crew.name} has {_people(len(crew.members))} named. Go in by twos.",
            team=crew.id,
        )
    for held in scene.held:
        if held.team == crew.id and not crew.inside:
            yield Lack(key=held.key, words=held.words, team=crew.id)
    yield from _backup(scene, crew)
    yield from _people_of(scene, crew)
    said = scene.plan.team(crew.id)
    if said is None or not (said.task and said.channel):
        yield Lack(
            key="team_without_task",
            words=f"{crew.name}: task and radio channel are not recorded.",
            team=crew.id,
            item=crew.id,
        )


def _people(count: int) -> str:
    return {0: "nobody", 1: "one person"}.get(count, f"{count} people")


def _backup(scene: Scene, crew: Crew) -> Iterator[Lack]:
    """The best backup that is outside answers for the team; its own team never does."""
    outside = [
        other
        for other in scene.crews
        if other.role == "backup"
        and other.id != crew.id
        and not other.inside
        and other.members
    ]
    if not outside:
        yield Lack(
            key="no_backup_team",
            words="No backup team with people named stands outside.",
            team=crew.id,
        )
        return
    lacks = min((list(_of_backup(scene, crew, b)) for b in outside), key=_severity)
    yield from lacks


def _severity(lacks: list[Lack]) -> tuple[int, int]:
    return sum(lack.blocks for lack in lacks), len(lacks)


def _of_backup(scene: Scene, crew: Crew, backup: Crew) -> Iterator[Lack]:
    said = scene.plan.team(backup.id)
    if said is None or said.dressed != "yes":
        yield Lack(
            key="backup_not_ready",
            words=f"{backup.name} is not recorded as dressed and ready.",
            team=crew.id,
            item=backup.id,
        )
    if backup.weakest.rank < crew.strongest.rank:
        yield Lack(
            key="backup_lesser_ensemble",
            words=f"{backup.name} wears {backup.weakest.label}; {crew.name} wears "
            f"{crew.strongest.label}.",
            team=crew.id,
            item=backup.id,
        )
    if len(backup.members) < 2:
        yield Lack(
            key="one_in_backup",
            words=f"{backup.name} has one person named. Interior structural "
            "firefighting in an IDLH atmosphere needs two outside.",
            team=crew.id,
        )
    if said is not None and said.second_task:
        yield Lack(
            key="outside_second_task",
            words=f"{backup.name}: {said.second_task}. One of the two outside may have "
            "another task only if it can be left without danger to anyone.",
            team=crew.id,
            item=backup.id,
        )


def _people_of(scene: Scene, crew: Crew) -> Iterator[Lack]:
    briefed = scene.plan.briefed(scene.at)
    unbriefed = [name for name in crew.members if name_key(name) not in briefed]
    if unbriefed or not crew.members:
        who = ", ".join(unbriefed) or "nobody is named"
        yield Lack(key="no_briefing", words=f"{crew.name}: {who}.", team=crew.id)
    here = {name: scene.plan.check_in_of(name) for name in crew.members}
    missing = [n for n, c in here.items() if c is None or c.where == "left"]
    if missing:
        yield Lack(
            key="not_checked_in",
            words=f"{crew.name}: {', '.join(missing)}.",
            team=crew.id,
        )
    for name, check in here.items():
        if check and check.skilled_support == "yes" and not is_briefed(check):
            yield Lack(
                key="skilled_support_not_briefed",
                words=f"{name} is in {crew.name}.",
                team=crew.id,
            )
