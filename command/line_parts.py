"""What is written down of people: where they are, decon, what they met, what they were told.

Each is a part like those of the plan, but none begins a plan: a log that only says who is
where has no site safety plan to be held against.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final

from command.questions import answer, choice, line, names, note
from screening.worksheet.fields import Fields

WHERE_IS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "cold": "Cold zone",
        "warm": "Warm zone",
        "hot": "Hot zone",
        "decon": "Decon",
        "medical": "Medical",
        "left": "Left the scene",
    }
)
METHODS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "gross": "Gross",
        "technical": "Technical",
        "dry": "Dry",
        "emergency": "Emergency",
        "mass": "Mass",
    }
)
MEANS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "paper": "Paper",
        "meter": "Meter",
        "probe": "Radiation probe",
        "other": "Another means",
    }
)
OUTCOMES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "nothing_found": "Nothing found",
        "found": "Still contaminated",
        "waived": "No check, and why",
    }
)
NOTED: Final[Mapping[str, str]] = MappingProxyType(
    {
        "symptoms": "Symptoms reported",
        "breach": "Breach of the clothing",
        "contact": "Contact with the material",
        "none": "Nothing reported",
    }
)
ROUTES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "unknown": "Not known",
        "inhaled": "Breathed in",
        "skin": "Skin",
        "eyes": "Eyes",
        "swallowed": "Swallowed",
        "wound": "Through a wound",
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """From this moment on these people are there."""

    who: tuple[str, ...] = names("Who", required=True)
    where: str = choice("Where", WHERE_IS, required=True)
    post: str = line("Post", help="Such as perimeter, north gate.")


@dataclass(frozen=True, slots=True, kw_only=True)
class ThroughDecon:
    """These people have gone through the line; what a check showed is another record."""

    who: tuple[str, ...] = names("Who", required=True)
    method: str = choice("Method", METHODS, required=True)
    agent: str = line("With what", help="Such as water and soap.")
    stages: str = line("Stages", help="Such as tool drop, wash, rinse, suit off.")
    held: str = line("Equipment held back")


@dataclass(frozen=True, slots=True, kw_only=True)
class DeconCheck:
    """What a check of one person showed after decon, or why there was none."""

    who: str = line("Who", required=True)
    outcome: str = choice("Outcome", OUTCOMES, required=True)
    means: str = choice("Checked with", MEANS)
    instrument: str = line("Which", help="Such as wet pH paper, or the meter's name.")
    showed: str = line("What it showed", help="With the figure and where on the body.")
    why: str = line("Why there is no check")


@dataclass(frozen=True, slots=True, kw_only=True)
class ExposureNote:
    """What somebody met or reports, as it was said; what medical finds is kept apart."""

    who: tuple[str, ...] = names("Who", required=True)
    what: str = choice("What", NOTED, required=True)
    agent: str = answer("Agent")
    route: str = choice("Route", ROUTES)
    words: str = note("In words")


@dataclass(frozen=True, slots=True, kw_only=True)
class Notice:
    """These people were told what they met and what to watch for."""

    who: tuple[str, ...] = names("Who", required=True)
    told: str = note("What they were told", required=True)
    by: str = line("Told by", required=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Volunteer:
    """Above 25 rem only volunteers go on who know the risks: this is what they say."""

    who: tuple[str, ...] = names("Who", required=True)
    words: str = note(
        "Statement", help="That they volunteer, and know the risks.", required=True
    )
    by: str = line("Told the risks by", required=True)


def decon_checked(says: Any, fields: Fields) -> None:
    """A check says with what and what it showed; one left out says why."""
    if says.outcome == "waived":
        if not says.why:
            fields.wrong("why", "why there is no check")
        return
    if not says.means:
        fields.wrong("means", "with what was checked")
    if not says.showed:
        fields.wrong("showed", "what it showed")
