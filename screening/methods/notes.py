"""What people note of an instrument, read for what may keep it from telling.

A note is free text: of two readings the safer one is taken. A fault that is plainly denied
("not poisoned", "no silicone") is none, where the clause says nothing else and the note
neither asks nor doubts. What is left counts. Common practice, no source.
"""

import re
from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import Final

from screening.methods import reason

_SPOILT: Final = r"\b(poisoned|poisoning|inhibited|spoiled|spoilt|fouled)\b"
_PART: Final = r"\b(sensor|bead|catalyst|meter|cell)s?\b"
_OF_A_PART: Final = re.compile(
    rf"{_PART}.{{0,40}}{_SPOILT}|{_SPOILT}.{{0,40}}{_PART}", re.IGNORECASE
)
# Without a part it is the meter that is meant, unless the clause is of somebody or of
# something else; people are poisoned and monomers inhibited.
_BARE: Final = re.compile(r"\b(poisoned|spoiled|spoilt|fouled)\b", re.IGNORECASE)
_OF_OTHERS: Final = re.compile(
    r"\b(casualt(y|ies)|victims?|patients?|persons?|people|man|men|wom[ae]n|child(ren)?"
    r"|workers?|residents?|crews?|dogs?|cats?|animals?|cattle|fish|birds?|rats?|bait|food"
    r"|meat|grain|milk|water|soil|ground|wells?)\b",
    re.IGNORECASE,
)
# Silicone and the like reach the bead of the LEL sensor alone.
_SILICONE: Final = re.compile(r"silicone|siloxane", re.IGNORECASE)
_BEAD: Final = re.compile(
    r"\b(lel|beads?|catalysts?|catalytic|combustible)\b", re.IGNORECASE
)
_NOT_THE_BEAD_ALONE: Final = re.compile(
    r"\b(oxygen|o2|co|h2s|carbon monoxide|hydrogen sul(f|ph)ide|toxic|electrochemical|pid"
    r"|voc|lamp|sensors|cells|both|all|every|each|others?|which|some|any|one of)\b",
    re.IGNORECASE,
)
_IN_ORDER: Final = re.compile(
    r"\b(fine|ok(ay)?|good|normal|works?|working|passed|in order)\b", re.IGNORECASE
)

# A clause that denies one of these faults plainly, and says nothing else.
_NAMED: Final = (
    r"(poisoned|poisoning|inhibited|spoiled|spoilt|fouled|silicones?|siloxanes?|expired"
    r"|browned|stalled|blocked|clogged|kinked|failed|wet|steam|fog|smoke|spray)"
)
_THING: Final = (
    r"((the|its|their|this|that|it|they|all|lel|gas|oxygen|o2|co|h2s|voc|sensors?|beads?"
    r"|catalysts?|meters?|cells?|pump|inlet|filter|hose|probe|lot|strips?|papers?|shell"
    r"|surface|drum|tank|there|is|are|was|were|has|have|had|and)\s+)*"
)
_AFTER: Final = (
    r"(\s+(near|nearby|here|there|around|about|used|in use|it|them|this|the|meter"
    r"|sensor))*"
)
_PLAIN_DENIAL: Final = re.compile(
    rf"\W*{_THING}(not|without|no|(is|are|was|were|has|have|had)n['’]t)\s+"
    rf"((been|yet|any|signs? of|traces? of)\s+)*{_NAMED}(\s+(or|nor|and)\s+{_NAMED})*"
    rf"{_AFTER}\W*",
    re.IGNORECASE,
)
# A note with one of these leaves open what it denies, and so denies nothing.
_STILL_OPEN: Final = re.compile(
    r"\?|\b(any ?more|any ?longer|sure|certain|clear|know\w*|whether|if|only|just|until|till"
    r"|before|now|first|may|maybe|might|could|can|cannot|can['’]t|should|perhaps|possibl[ey]"
    r"|probabl[ey]|presumably|likely|unlikely|hardly|barely|doubt\w*|think|thought|believ\w*"
    r"|suppos\w*|assum\w*|expect\w*|hop(e|es|ed|ing|efully)|guess\w*|seem\w*|appear\w*"
    r"|apparently|looks?|say|says|said|told|as far as|so far|neither)\b",
    re.IGNORECASE,
)
_STOPS: Final = re.compile(r"[.;:,!\n]+")
_TURNS: Final = re.compile(r"[.;:,!\n]+|\b(?:but|while|though)\b", re.IGNORECASE)
_AND: Final = re.compile(r"\band\b", re.IGNORECASE)

# What a note may say against a reading: the key of the sentence, and the words.
_NOTED_AGAINST: Final[Mapping[str, tuple[tuple[str, str], ...]]] = {
    "strip": (
        (
            "strip_aged",
            r"\b(lot|strips?|papers?)\b.{0,30}\b(expired|out of date|past (its|their) date)\b"
            r"|\bexpired (lot|strips?|papers?)\b|\bkept damp\b|\bbrown(ed)? before\b"
            r"|\b(strips?|papers?|lot)\b.{0,20}\bbrowned\b",
        ),
    ),
    "meter": (
        (
            "meter_not_ready",
            r"\bjust (switched|turned) on\b|\bstill warming\b|\bnot (yet )?warmed\b"
            r"|\bpump\b.{0,20}\b(stalled|blocked|failed|alarm)\b|\bstalled pump\b"
            r"|\b(inlet|filter|hose|probe)\b.{0,20}\b(blocked|clogged|kinked)\b"
            r"|\bblocked (inlet|filter|hose|probe)\b|\bwater in the (hose|probe|line)\b",
        ),
        (
            "meter_zeroed_dirty",
            r"\bzeroed\b.{0,20}\b(inside|indoors|corridor|doorway|hallway|dirty|smoke)\b"
            r"|\bnot (zeroed )?in fresh air\b|\bno fresh[ -]air zero\b|\bnot fresh air\b",
        ),
    ),
    "imager": (
        (
            "imager_hidden",
            r"\bthrough (the |a )?(glass|window|steam|fog|smoke|spray)\b"
            r"|\b(wet|under water|film of water|steam)\b",
        ),
    ),
}


def _without_denials(note: str) -> str:
    """The note without the clauses that plainly deny; all of it where it leaves that open."""
    if _STILL_OPEN.search(note):
        return note
    clauses = (each for each in _STOPS.split(note) if not _PLAIN_DENIAL.fullmatch(each))
    return ", ".join(clauses)


@lru_cache(maxsize=512)
def spoiled_by_note(note: str) -> str:
    """Which sensors a note calls spoiled: "lel", "all" where it does not say, or ""."""
    said = _without_denials(note)
    spoilt = bool(_OF_A_PART.search(said)) or any(
        _BARE.search(clause) and not _OF_OTHERS.search(clause)
        for clause in _STOPS.split(said)
    )
    if not spoilt:
        return "lel" if _SILICONE.search(said) else ""
    meant = " ".join(_not_in_order(said))
    other = _NOT_THE_BEAD_ALONE.search(meant)
    bead = _BEAD.search(meant) or _SILICONE.search(meant)
    return "lel" if bead and not other else "all"


def _not_in_order(said: str) -> Iterator[str]:
    """The clauses that do not merely say of some sensor that it is well."""
    for clause in _TURNS.split(said):
        if not _is_in_order(clause):
            yield from (each for each in _AND.split(clause) if not _is_in_order(each))


def _is_in_order(clause: str) -> bool:
    """Whether a clause says of some sensor that it is well, and no more."""
    return bool(_IN_ORDER.search(clause)) and not (
        re.search(_SPOILT, clause, re.IGNORECASE) or _SILICONE.search(clause)
    )


@lru_cache(maxsize=512)
def noted_against(kind: str, note: str) -> str:
    """Why a "strip", "meter" or "imager" is no test by its own note; "" where it is."""
    note = _without_denials(note)
    for key, words in _NOTED_AGAINST[kind]:
        if note and re.search(words, note, re.IGNORECASE):
            return reason(key)
    return ""
