"""What the pages of the plan show."""

from dataclasses import dataclass
from datetime import datetime

from command import readiness
from command.plan import Plan
from command.scene import Lack, Scene
from command.site_safety_plan import Paper
from incidents import engine, judging, plans
from incidents.models import Incident


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanView:
    """The plan at a moment, and what of it is not ready."""

    incident: Incident
    at: datetime
    paper: Paper
    lacks: tuple[Lack, ...]

    @property
    def scene(self) -> Scene:
        return self.paper.scene

    @property
    def plan(self) -> Plan:
        return self.paper.plan

    def of_team(self, team: str) -> tuple[Lack, ...]:
        """What keeps one team from going in."""
        return readiness.blocking(self.scene, team)


def plan_view(incident: Incident, at: datetime) -> PlanView:
    """Six queries at most, however long the plan, and those of the engine to catch up."""
    now = engine.live(incident)
    scene = judging.scene_at(incident, now, at)
    paper = plans.paper_of(incident, scene, now.context, now.state)
    whole = plans.looked_through(incident, paper)
    return PlanView(
        incident=incident,
        at=whole.at,
        paper=Paper(
            incident=paper.incident,
            location=paper.location,
            scene=whole,
            tools=paper.tools,
            zone=paper.zone,
        ),
        lacks=readiness.not_ready(whole),
    )
