"""What a form of the plan starts with: what stands, else what is known already."""

from collections.abc import Mapping
from dataclasses import fields
from datetime import datetime
from typing import Any

from command.parts import Part
from incidents.selectors import PlanView


def start_of(part: Part, stands: Any, view: PlanView, person: str) -> Mapping[str, Any]:
    """Answers by the name of their question. Weather starts empty: it is looked at anew."""
    known = _KNOWN.get(part.key)
    if stands is not None and not part.kept:
        return {each.name: getattr(stands, each.name) for each in fields(stands)}
    return known(view, person) if known is not None else {}


def _command(view: PlanView, person: str) -> dict[str, Any]:
    del person
    lacks = "\n".join(f"{lack.need.title}: {lack.words}" for lack in view.lacks)
    return {
        "takes_over_from": view.plan.commander(view.at),
        "summary": _situation(view),
        "open_items": lacks,
    }


def _situation(view: PlanView) -> str:
    """Who is inside since when, and what is to be done."""
    inside = [
        f"{crew.name} inside: {', '.join(crew.members) or 'nobody named'}"
        for crew in view.scene.crews
        if crew.inside
    ]
    objectives = [
        f"Objective: {record.says.objective}"
        for record in view.plan.items("objectives").values()
        if record.says.done_at is None
    ]
    return "\n".join([*(inside or ["Nobody is inside."]), *objectives])


def _zones_checked(view: PlanView, person: str) -> dict[str, Any]:
    del view
    return {"by": person}


def _signature(view: PlanView, person: str) -> dict[str, Any]:
    commands = view.plan.commander(view.at) == person
    return {"name": person} | ({"capacity": "incident_commander"} if commands else {})


def _check_in(view: PlanView, person: str) -> dict[str, datetime]:
    del person
    return {"arrived": view.at}


def _briefing(view: PlanView, person: str) -> dict[str, Any]:
    """What the plan says already, so that it is read out and not typed again."""
    plan = view.plan
    channels, decon, site = plan.communications, plan.decon, plan.site
    emergency = plan.emergency
    objectives = [r.says.objective for r in plan.items("objectives").values()]
    hazards = [r.says.hazard for r in plan.items("hazards").values()]
    signals = [channels.hand_signals, channels.audible_signals] if channels else []
    return {
        "speaker": person,
        "objectives": "; ".join(objectives)[:200],
        "hazards": "; ".join(dict.fromkeys(hazards))[:200],
        "radio": channels.entry if channels else "",
        "signals": "; ".join(
            filter(None, [*signals, emergency.signal if emergency else ""])
        )[:200],
        "lost_contact": channels.lost_contact if channels else "",
        "emergency_decon": decon.emergency if decon else "",
        "refuge": site.refuge_area if site else "",
    }


_KNOWN = {
    "command": _command,
    "zones_checked": _zones_checked,
    "signatures": _signature,
    "check_in": _check_in,
    "briefing": _briefing,
}
