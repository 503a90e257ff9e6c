"""The application's own records in a line of plain words, for pages and the report."""

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any, Final, TypeAlias

from incidents.models.log import (
    ADDENDUM,
    CORRECTION,
    DRILL,
    HEARD,
    MAYDAY,
    MAYDAY_OVER,
    NOTE,
    ORDER,
    SIGN_OFF,
    UNDONE,
)

Body: TypeAlias = Mapping[str, Any]


def say(kind: str, body: Body, teams: Mapping[str, str]) -> str:
    """The words of one of `WRITTEN_KINDS`; `teams` are the names by id."""
    team = str(body.get("team", ""))
    return _WRITERS[kind](body, teams.get(team, team))


def _order(body: Body, team: str) -> str:
    reason = f": {body['reason']}" if body.get("reason") else ""
    return f"{team} ordered out by {body['by']}{reason}"


def _mayday(body: Body, team: str) -> str:
    return f"Mayday called by {body['by']}" + (f" for {team}" if team else "")


def _sign_off(body: Body, team: str) -> str:
    words = f"Signed off by {body['by']}, {body['role']}"
    if "replaces" in body:
        words += f", in the place of entry {body['replaces']}"
    dissent = body.get("dissent")
    return f"{words}, with a dissent: {dissent}" if dissent else words


def _drill(body: Body, team: str) -> str:
    if body["what"] == "begun":
        pace = f"{body['speed']} times as fast" if body["speed"] else "by hand"
        return f"Drill begun by {body['by']} from the script {body['script']}, {pace}"
    return f"Drill ended by {body['by']}"


_WRITERS: Final[Mapping[str, Callable[[Body, str], str]]] = MappingProxyType(
    {
        NOTE: lambda body, team: (
            f"{'Photo' if 'photo' in body else 'Note'}: {body['text']}"
        ),
        ORDER: _order,
        MAYDAY: _mayday,
        MAYDAY_OVER: lambda body, team: (
            f"Mayday ended by {body['by']} with {body['second']}"
        ),
        HEARD: lambda body, team: f"Heard by {body['by']}: {body['because']}",
        SIGN_OFF: _sign_off,
        DRILL: _drill,
        UNDONE: lambda body, team: f"Taken back, {body['reason']}",
        CORRECTION: lambda body, team: (
            f"Entry {body['right_seq']} stands in the place of entry {body['wrong_seq']}"
        ),
        ADDENDUM: lambda body, team: f"Addendum after closing: {body['text']}",
    }
)
