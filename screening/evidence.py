"""What the readings so far say against the table of substances.

They can contradict a substance, leave it open, or not have been able to see it. They
never name one: other substances and mixtures give the same colours. What is quiet at one
place says nothing of another. `EVIDENCE_CAUTION` stands wherever this is shown;
`screening.fits` folds it for reading.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, NamedTuple

from screening.statements import (
    Observed,
    Statement,
    Weight,
    kind_of,
    statement,
)
from screening.substances import SUBSTANCES, Substance

EVIDENCE_CAUTION: Final = (
    "Readings can speak against a substance, never prove one. A mixture, or a substance "
    "that is not in this table, may give the same readings. Contradicted means: by itself, "
    "at a strength that the method can show, it would have read otherwise. A reading speaks "
    "for its place and its time. "
    "Supports decisions; local SOPs and the incident commander govern."
)
WEIGHT_WORDS: Final[dict[Weight, str]] = {
    "contradicted": "Contradicted",
    "not_excluded": "Not excluded",
    "not_seen": "Could not have been seen",
}


class Said(NamedTuple):
    """A statement with the reading that makes it, and by what method and where."""

    reading: str
    method: str
    place: str
    statement: Statement

    @property
    def weight(self) -> Weight:
        return self.statement.weight

    @property
    def because(self) -> str:
        return f"{self.reading}: {self.statement.text}"

    @property
    def short(self) -> str:
        return self.statement.short


@dataclass(frozen=True, slots=True, kw_only=True)
class AtPlace:
    """One substance against the readings at one place; `deciding` are why."""

    place: str
    weight: Weight
    deciding: tuple[Said, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """One substance against all readings; `said` in the order of the readings."""

    substance: Substance
    weight: Weight
    said: tuple[Said, ...]
    places: tuple[AtPlace, ...] = ()

    @property
    def deciding(self) -> tuple[Said, ...]:
        """The statements behind the weight."""
        return tuple(
            said
            for at in self.places
            if at.weight == self.weight
            for said in at.deciding
        )


def evidence(
    readings: Iterable[Observed], substances: Sequence[Substance] = SUBSTANCES
) -> tuple[Evidence, ...]:
    """Every substance with what the readings say of it, in the order of the table.

    At one place a quiet reading that should have shown it contradicts it, unless another
    reading by the same method is explained by it. A reading that shows what it would not
    show contradicts it only where no reading is explained by it: there may be two
    substances. Else it is not excluded where a reading could have seen it, and otherwise
    could not have been seen. It is contradicted as a whole only where every place that was
    read contradicts it, and not seen only where none could have shown it.
    """
    seen = [
        (
            reading, kind_of(reading), reading.words, reading.method,
            reading.place, reading.place.casefold(),
        )
        for reading in readings
    ]  # fmt: skip
    return tuple(_weigh(substance, seen) for substance in substances)


def _weigh(
    substance: Substance,
    readings: Sequence[tuple[Observed, tuple[object, ...], str, str, str, str]],
) -> Evidence:
    statements: dict[tuple[object, ...], Statement] = {}
    said, by_place = [], defaultdict(list)
    for seen, kind, words, method, place, key in readings:
        known = statements.get(kind)
        if known is None:
            known = statements[kind] = statement(substance, seen)
        one = Said(words, method, place, known)
        said.append(one)
        by_place[key].append(one)
    places = tuple(_at_place(tuple(there)) for there in by_place.values())
    return Evidence(
        substance=substance, weight=_over_all(places), said=tuple(said), places=places
    )


def _over_all(places: Sequence[AtPlace]) -> Weight:
    weights = {at.weight for at in places}
    if not weights or weights == {"not_seen"}:
        return "not_seen"
    return "contradicted" if weights == {"contradicted"} else "not_excluded"


def _at_place(said: tuple[Said, ...]) -> AtPlace:
    explained = [one for one in said if one.statement.explains]
    methods = {one.method for one in explained}
    against = [
        one
        for one in said
        if one.weight == "contradicted"
        and not (one.statement.stranger and explained)
        and one.method not in methods
    ]
    if against:
        weight: Weight = "contradicted"
        deciding = against
    elif explained or any(one.weight != "not_seen" for one in said):
        weight = "not_excluded"
        deciding = explained or [one for one in said if one.weight != "not_seen"]
    else:
        weight, deciding = "not_seen", list(said)
    return AtPlace(place=said[0].place, weight=weight, deciding=tuple(deciding))
