"""How far quiet readings reach: what must have been read before a hazard is not found.

A hazard that was looked for is not yet ruled out. Each `Need` is one thing that quiet
readings must have covered: the floor where a suspect sinks, a suspect that no sensor of
the set is for, the liquid where a suspect gives no vapour. What one reading covers is a
set of parts, each a thing and a height; a place keeps the latest reading for each part.
Nothing here knows a time: `screening.coverage` asks for the ages.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, TypeAlias

from screening.memory import Order, Part, Stand, Told
from screening.methods import reason
from screening.statements import NO_CHANGE
from screening.suspected import (
    HEAVY_OILS,
    REDUCERS,
    Suspect,
    key_of,
    listed,
    suspected,
)
from screening.verdicts import Hazard

Covered: TypeAlias = Mapping[Hazard, Mapping[Part, Told]]

FLOOR, WAIST, HEAD, NOT_NOTED = "floor", "waist", "head", ""
ANY_HEIGHT: Final = (NOT_NOTED, FLOOR, WAIST, HEAD)
WHERE: Final = {FLOOR: "at the floor", WAIST: "at the waist", HEAD: "at head height"}
# Without a note a meter is held upright in front of the chest: that passes for a look up,
# where a light gas gathers, and never for a look down (common practice, no source).
_UP: Final = (HEAD, NOT_NOTED)
_DOWN: Final = (FLOOR,)
# With no heavy suspect: a height not noted may have been the floor, a noted one was not.
_NOT_ONLY_UP: Final = (FLOOR, NOT_NOTED)

METER_HAZARDS: Final = (
    Hazard.FLAMMABLE_ATMOSPHERE,
    Hazard.OXYGEN_ENRICHED,
    Hazard.OXYGEN_DEFICIENT,
    Hazard.TOXIC_GAS,
)
# Where a finding names what it is of, and a reading of another thing says nothing of it.
BY_SUBJECT: Final = frozenset(
    {
        Hazard.TOXIC_GAS,
        Hazard.CONTAINER_HEATING,
        Hazard.HOT_RELIEF_DISCHARGE,
        Hazard.GAMMA_RADIATION,
    }
)


@dataclass(frozen=True, slots=True)
class Piece:
    """A thing read at one of some heights, on the row of a hazard."""

    hazard: Hazard
    what: str
    heights: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """One thing to cover, in one of several ways; a way may be of several pieces."""

    ways: tuple[tuple[Piece, ...], ...]
    sentence: str  # key of the reason where it is open
    names: tuple[str, ...] = ()  # of the suspects that it is for
    label: str = ""  # how it is called in "the floor was read 2 min ago"
    # Whether a caution, and the commander's clear, wait for it. What no step on scene can
    # bring must not hold them up: it stays "cannot tell" for the coverage alone.
    ends: bool = False
    clears: bool = False
    ageless: bool = False  # a liquid does not change as the air does

    @property
    def piece(self) -> Piece:
        """The first piece of the first way, for what is said of it."""
        return self.ways[0][0]


@lru_cache(maxsize=512)
def needs_of(hazard: Hazard, suspects: tuple[str, ...]) -> tuple[Need, ...]:
    """What must have been covered before a hazard is not found; the reading itself first."""
    known = suspected(suspects)
    match hazard:
        case Hazard.FLAMMABLE_ATMOSPHERE:
            burning = [one for one in known if one.burns]
            return (*_heights(hazard, burning), *_unseen_by_lel(known))
        case Hazard.OXYGEN_DEFICIENT:
            return _heights(hazard, [one for one in known if one.displaces], up=False)
        case Hazard.OXYGEN_ENRICHED:
            return _heights(hazard, [one for one in known if one.enriches], up=False)
        case Hazard.TOXIC_GAS:
            poisons = tuple(_poison(one) for one in known if one.poisons)
            return (*_heights(hazard, []), *poisons)
        case Hazard.ACID_VAPOUR | Hazard.BASE_VAPOUR:
            return (_itself(hazard), *_silent_on_ph(hazard, known), *_cancelled(known))
        case Hazard.OXIDISER_VAPOUR:
            return (_itself(hazard), *_reduced(known), *_silent_on_starch(known))
    return (_itself(hazard),)


def _piece(
    hazard: Hazard, what: str = "", heights: tuple[str, ...] = ANY_HEIGHT
) -> Piece:
    return Piece(hazard, what, heights)


_WHOLE: Final = {hazard: _piece(hazard) for hazard in Hazard}


def _itself(hazard: Hazard, heights: tuple[str, ...] = ANY_HEIGHT) -> Need:
    """Some reading that can tell of the hazard."""
    return Need(
        ways=((_piece(hazard, heights=heights),),),
        sentence="floor_not_read",
        label="the floor",
        ends=True,
        clears=True,
    )


def _heights(
    hazard: Hazard, relevant: list[Suspect], *, up: bool = True
) -> tuple[Need, ...]:
    """The floor, always where something may lie there; high up for what rises."""
    heavy = tuple(one.name for one in relevant if one.sinks)
    light = tuple(one.name for one in relevant if one.rises)
    low = Need(
        ways=((_piece(hazard, heights=_DOWN if heavy else _NOT_ONLY_UP),),),
        sentence="floor_not_read",
        names=heavy,
        label="the floor",
        ends=True,
        clears=True,
    )
    if not (light and up):
        return (low,)
    high = Need(
        ways=((_piece(hazard, heights=_UP),),),
        sentence="head_not_read",
        names=light,
        label="head height",
        ends=True,
        clears=True,
    )
    return (low, high)


def _where(suspect: Suspect) -> tuple[str, ...]:
    """The heights at which a suspect must have been looked for."""
    if suspect.sinks:
        return _DOWN
    return _UP if suspect.rises else ANY_HEIGHT


def _poison(suspect: Suspect) -> Need:
    """A suspect that some sensor of the set must be for."""
    return Need(
        ways=((_piece(Hazard.TOXIC_GAS, suspect.key, _where(suspect)),),),
        sentence="suspect_not_measured" if suspect.is_known else "suspect_unknown",
        names=(suspect.name,),
        label=suspect.name,
        clears=suspect.is_known,
    )


def _unseen_by_lel(known: tuple[Suspect, ...]) -> Iterator[Need]:
    """What an LEL sensor may be blind to: it, or a cell for the gas, must be known to see."""
    for one in known:
        measured = (_piece(Hazard.TOXIC_GAS, one.key, _where(one)),)
        if one.key in ("hydrogen", "acetylene"):
            sensor = (_piece(Hazard.FLAMMABLE_ATMOSPHERE, one.key),)
            sentence = f"lel_infrared_{one.key}"
            yield Need(
                ways=(sensor, measured), sentence=sentence, label=one.name, clears=True
            )
        elif one.key in HEAVY_OILS:
            yield Need(
                ways=(measured,), sentence="lel_heavy_oil", names=(one.name,),
                label=one.name, clears=True,
            )  # fmt: skip


def _silent_on_ph(hazard: Hazard, known: tuple[Suspect, ...]) -> Iterator[Need]:
    """Acids and bases that give no vapour: the strip must have touched the liquid."""
    side = "acid" if hazard is Hazard.ACID_VAPOUR else "base"
    silent = [
        one.name
        for one in known
        if one.substance is not None
        and not one.substance.gives_vapour
        and (liquid := one.substance.papers.get(("ph", "liquid"))) is not None
        and side in liquid.shows
    ]
    if silent:
        yield _touched("ph_no_vapour", Hazard.CORROSIVE_LIQUID, silent)


def _silent_on_starch(known: tuple[Suspect, ...]) -> Iterator[Need]:
    """Oxidisers that may give too little vapour."""
    silent = []
    for one in known:
        papers = one.substance.papers if one.substance is not None else {}
        liquid = papers.get(("ki_starch", "liquid"))
        air = papers.get(("ki_starch", "vapour"))
        if liquid is None or liquid.shows <= NO_CHANGE:
            continue
        if air is None or "no_change" in air.shows:
            silent.append(one.name)
    if silent:
        yield _touched("ki_little_vapour", Hazard.OXIDISER_LIQUID, silent)


def _touched(sentence: str, liquid: Hazard, names: list[str]) -> Need:
    return Need(
        ways=((_piece(liquid),),),
        sentence=sentence,
        names=tuple(names),
        label="the liquid",
        ageless=True,
    )


def _measured(suspects: list[Suspect]) -> tuple[Piece, ...]:
    return tuple(_piece(Hazard.TOXIC_GAS, one.key) for one in suspects)


def _reduced(known: tuple[Suspect, ...]) -> Iterator[Need]:
    """Reducers keep the strip white: they must be known not to be there."""
    reducers = [one for one in known if one.key in REDUCERS]
    if reducers:
        yield Need(
            ways=(_measured(reducers),),
            sentence="ki_reduced",
            names=tuple(one.name for one in reducers),
            label=listed([one.name for one in reducers]),
            ends=True,
            clears=True,
        )


def _cancelled(known: tuple[Suspect, ...]) -> Iterator[Need]:
    """An acid and a base in one air may cancel out: one must be known not to be there."""
    acids = [one for one in known if _reads(one, "acid")]
    bases = [one for one in known if _reads(one, "base")]
    if acids and bases:
        names = (*(one.name for one in acids), *(one.name for one in bases))
        yield Need(
            ways=(_measured(bases), _measured(acids)),
            sentence="ph_cancelled",
            names=names,
            label=listed(names, "or"),
            ends=True,
            clears=True,
        )


def _reads(suspect: Suspect, outcome: str) -> bool:
    papers = suspect.substance.papers if suspect.substance is not None else {}
    response = papers.get(("ph", "vapour"))
    return response is not None and response.shows == {outcome}


# --- What is covered, and what is open -----------------------------------------------


def met_by(need: Need, covered: Covered, since: Order | None = None) -> Told | None:
    """The oldest reading that a need rests on, where it is met by readings after `since`."""
    best: Told | None = None
    if len(need.ways) == 1 and len(need.ways[0]) == 1:
        return _latest(need.ways[0][0], covered, since)
    for way in need.ways:
        found = [_latest(piece, covered, since) for piece in way]
        whole = [told for told in found if told is not None]
        if len(whole) < len(way):
            continue
        oldest = min(whole, key=lambda told: told.order)
        if best is None or oldest.order > best.order:
            best = oldest
    return best


def _latest(piece: Piece, covered: Covered, since: Order | None) -> Told | None:
    parts = covered.get(piece.hazard)
    best: Told | None = None
    if not parts:
        return best
    for height in piece.heights:
        told = parts.get((piece.what, height))
        if told is not None and (best is None or told.order > best.order):
            best = told
    return best if best is None or since is None or best.order > since else None


def needs_after(
    hazard: Hazard,
    suspects: tuple[str, ...],
    subject: str,
    height: str,
    *,
    to_clear: bool = False,
) -> Iterator[Need]:
    """What must be read after a finding before its caution ends, or its clear holds.

    `subject` and `height` are the finding's: where it was found it must be read again.
    """
    what = key_of(subject) if hazard in BY_SUBJECT and subject else ""
    for need in needs_of(hazard, suspects):
        own = what and need.piece.what == what
        if need.ends or own or (to_clear and need.clears):
            yield need
    if what or height:
        heights = (height,) if height else ANY_HEIGHT
        yield Need(
            ways=((_piece(hazard, what, heights),),),
            sentence="not_read_again" if not what else "not_measured_again",
            names=(subject,) if what else (),
            label=subject or height,
        )


def latest(stand: Stand, covered: Covered) -> Told | None:
    """The latest reading that can tell of what a finding is of, at any height."""
    hazard = stand.found.hazard
    what = key_of(stand.found.subject) if hazard in BY_SUBJECT else ""
    return _latest(_piece(hazard, what), covered, None)


def latest_on(
    hazard: Hazard, covered: Covered, since: Order | None = None
) -> Told | None:
    """The latest reading that can tell of a hazard as such, at any height."""
    return _latest(_WHOLE[hazard], covered, since)


def open_reasons(
    needs: Iterable[Need], covered: Covered, since: Order | None = None
) -> tuple[str, ...]:
    """Why the needs are open, in sentences of the table; like ones are put together."""
    grouped: dict[tuple[str, str], list[str]] = {}
    for need in needs:
        key, height = _why(need, covered, since)
        names = grouped.setdefault((key, height), [])
        names += [name for name in need.names if name not in names]
    return tuple(
        reason(key, names=_names(key, names), height=height)
        for (key, height), names in grouped.items()
    )


def _why(need: Need, covered: Covered, since: Order | None) -> tuple[str, str]:
    """The key of the sentence, and at what height something was read instead."""
    piece = need.piece
    if need.sentence == "not_read_again":
        return need.sentence, WHERE[piece.heights[0]]
    seen = [
        height
        for height in (WAIST, HEAD, FLOOR, NOT_NOTED)
        if _latest(Piece(piece.hazard, piece.what, (height,)), covered, since)
    ]
    if not seen or piece.heights == ANY_HEIGHT:
        return need.sentence, ""
    noted = [WHERE[height] for height in seen if height]
    if not noted:
        return "floor_not_noted", ""
    key = "head_not_read" if piece.heights == _UP else "floor_not_read"
    return key, listed(noted)


def _names(key: str, names: list[str]) -> str:
    if names:
        return listed(names, "and" if key == "ph_cancelled" else "or")
    return "a heavy or cold gas"
