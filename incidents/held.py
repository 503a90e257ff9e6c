"""Who of a team should not go in: not fit, not checked though checks are kept, elsewhere.

No value of anybody comes in here, so none can go out.
"""

from collections.abc import Iterator

from command.medical import State
from command.scene import Held, Scene
from command.whereabouts import clean
from incidents import medical
from incidents.line import people_of
from incidents.models import Incident
from screening import state as engine_state


def held_back(
    incident: Incident, scene: Scene, state: engine_state.State
) -> Iterator[Held]:
    """Members outside, one by one. Two queries at most.

    Medical checks count where the plan asks for them or the first was recorded.
    """
    people = people_of(incident, scene.plan, state, scene.at)
    said = scene.plan.medical
    asked = said is not None and said.monitoring == "yes"
    checks = asked or incident.medical_checks.exists()
    standings = medical.standings(incident, people, scene.at) if checks else {}
    for person in people:
        now = standings.get(person.key)
        for team in person.teams:
            if not person.is_in:
                how = clean(person, scene.plan, scene.at).value
                words = f"{person.name}: {person.where}, {how}."
                yield Held(key="member_elsewhere", team=team, words=words)
            if person.named and now is not None and now.state is not State.FIT:
                key = "member_not_fit" if now.blocks else "member_not_checked"
                yield Held(key=key, team=team, words=f"{person.name}: {now.words}.")
