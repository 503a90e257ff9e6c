"""Calls to bodies that have to be told of a release: who was called, when, by whom.

A part of the plan that begins none. A call has a time by which it is due only where a rule
gives one; both rules here say "immediately", so that is the moment at which it was known.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType
from typing import Any, Final

from command.questions import choice, line, moment, note
from screening.worksheet.fields import Fields

BODIES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "nrc": "National Response Center",
        "state": "State emergency response commission",
        "local": "Local emergency planning committee",
        "other": "Another body",
    }
)
# 40 CFR 302.6(a): immediately, once whoever is in charge knows of a release of a
# reportable quantity. 40 CFR 355.42(a): immediately, to state and local bodies. Both from
# memory; whether a release is one is not judged here.
RULES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "302.6": "40 CFR 302.6: immediately",
        "355.42": "40 CFR 355.42: immediately",
        "none": "None that is named here",
    }
)
_IMMEDIATELY: Final = frozenset({"302.6", "355.42"})


@dataclass(frozen=True, slots=True, kw_only=True)
class NotificationCall:
    """One body that is to be called, or was."""

    body: str = choice("Body", BODIES, required=True)
    which: str = line("Which, where it is another", help="Its name.")
    rule: str = choice("Rule that asks for the call", RULES, required=True)
    known_at: datetime | None = moment(
        "Release known since", help="From then on it is due, where it is at once."
    )
    called_at: datetime | None = moment("Called at")
    number: str = line("Number called")
    by: str = line("Called by")
    report_number: str = line("Report number given")
    words: str = note("What was said")

    @property
    def name(self) -> str:
        return self.which or BODIES[self.body]

    @property
    def due_at(self) -> datetime | None:
        """When it is due by a rule; None where none gives a time."""
        return self.known_at if self.rule in _IMMEDIATELY else None


def called(says: Any, fields: Fields) -> None:
    """A call that was made says by whom and to which number; a rule needs its moment."""
    if says.body == "other" and not says.which:
        fields.wrong("which", "the name of the body")
    if says.rule in _IMMEDIATELY and says.known_at is None:
        fields.wrong(
            "known_at", "since when the release is known: it is due from then on"
        )
    if says.called_at is None:
        if says.report_number:
            fields.wrong("called_at", "when was called")
        return
    if not says.by:
        fields.wrong("by", "who called")
    if not says.number:
        fields.wrong("number", "the number that was called")
