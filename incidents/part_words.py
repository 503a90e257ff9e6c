"""Who took which part, in a line of plain words, for pages and the report."""

from collections.abc import Mapping
from typing import Any

from incidents.models import IncidentRole


def say_part(given: Mapping[str, Any]) -> str:
    """The words of a record's `role`: given, changed, or taken back (`role` is "").

    The agency is named only where someone was invited from another.
    """
    name = given["name"]
    if not given["role"]:
        return f"{name} takes no further part, was {_label(given['ended'])}"
    part = f"takes part as {_label(given['role'])}"
    if "invited_by" in given:
        return f"{name} of {given['agency']} {part}, invited by {given['invited_by']}"
    return f"{name} {part}"


def _label(role: str) -> str:
    return IncidentRole.Role(role).label.lower()
