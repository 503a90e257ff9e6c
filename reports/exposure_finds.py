"""What was found at the places where one person was, each find under one of their spells."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from command.whereabouts import Stay
from screening.memory import place_key
from screening.verdicts import Hazard

# What concerns people and not agents is no exposure.
NO_AGENT: Final = frozenset(
    {Hazard.LOW_AIR.value, Hazard.ACCOUNTABILITY.value, Hazard.MONITORING.value}
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Find:
    """A finding as it was shown that day."""

    at: datetime
    hazard: str
    place: str
    because: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """One agent found at a place, and when in relation to the person."""

    at: datetime
    hazard: str
    because: str
    when: str  # "while there", "before", "later"


@dataclass(frozen=True, slots=True, kw_only=True)
class OfSpell:
    """What is listed under one spell, and what of its place stands under another."""

    found: tuple[Found, ...] = ()
    elsewhere: tuple[str, ...] = ()  # agents by name


def of_spells(
    finds: Iterable[Find],
    stays: Sequence[Stay],
    at: datetime,
    hide: Callable[[str], str],
) -> list[OfSpell]:
    """For each stay in order; `at` ends one that goes on. Every find of a place where the
    person ever was is listed once, whenever it was made and for however many teams.
    """
    listed: list[list[Found]] = [[] for _ in stays]
    elsewhere: list[dict[str, None]] = [{} for _ in stays]
    for find in _once(finds):
        here = [number for number, stay in enumerate(stays) if _is_of(find, stay)]
        if not here:
            continue
        chosen, when = _under(find, [(n, stays[n]) for n in here], at)
        found = Found(
            at=find.at,
            hazard=label(find.hazard),
            because=hide(find.because),
            when=when,
        )
        listed[chosen].append(found)
        for number in here:
            if number != chosen:
                elsewhere[number][found.hazard] = None
    return [
        OfSpell(found=tuple(found), elsewhere=tuple(names))
        for found, names in zip(listed, elsewhere, strict=True)
    ]


def _once(finds: Iterable[Find]) -> Iterator[Find]:
    """Each find once, though each team that it holds for has a row of its own."""
    seen = set()
    for find in finds:
        key = (find.at, find.hazard, place_key(find.place), find.because)
        if find.hazard not in NO_AGENT and key not in seen:
            seen.add(key)
            yield find


def _is_of(find: Find, stay: Stay) -> bool:
    return bool(stay.place) and place_key(find.place) == place_key(stay.place)


def _under(
    find: Find, stays: Sequence[tuple[int, Stay]], at: datetime
) -> tuple[int, str]:
    """The spell during which it was found; else the next that began; else the last."""
    for number, stay in stays:
        if stay.since <= find.at <= (stay.until or at):
            return number, "while there"
    for number, stay in stays:
        if find.at < stay.since:
            return number, "before"
    return stays[-1][0], "later"


def label(hazard: str) -> str:
    try:
        return Hazard(hazard).label
    except ValueError:  # written by another version
        return hazard.replace("_", " ").capitalize()
