"""Everyone of an incident, where they are and how they stand at the decon line.

Neither writes nor decides: `command.whereabouts` is given the log and the plan.
"""

from datetime import datetime

from command.plan import Plan
from command.whereabouts import Crew, Person, everyone
from incidents import plans
from incidents.models import Incident
from screening.state import State
from screening.trust import standing_log


def people_of(
    incident: Incident, plan: Plan, state: State, at: datetime
) -> tuple[Person, ...]:
    """All who are in a team, checked in or written down. No query of its own once the
    names are known; one pass of the log."""
    names = plans.names_of(incident.pk, incident.setup)
    crews = [
        Crew(id=key, name=name, members=members)
        for key, (name, members) in names.items()
    ]
    return everyone(crews, standing_log(state), plan, at)
