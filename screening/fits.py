"""The evidence folded for reading: each substance once, with a reading that says so.

A page or a report that printed every reading against every substance could not be read.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import tzinfo

from screening.evidence import WEIGHT_WORDS, Evidence, Said, evidence
from screening.incident import Context
from screening.observed import observed
from screening.state import State
from screening.statements import Weight
from screening.trust import standing_log, untrusted


@dataclass(frozen=True, slots=True)
class Clause:
    """Substances of which the same can be said."""

    names: tuple[str, ...]
    text: str


@dataclass(frozen=True, slots=True)
class Line:
    """One reading and what it says; `reading` is "" where no single one does."""

    reading: str
    clauses: tuple[Clause, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """All substances of one weight."""

    weight: Weight
    count: int
    lines: tuple[Line, ...]

    @property
    def label(self) -> str:
        return WEIGHT_WORDS[self.weight]


def weighed_log(
    state: State, context: Context, zone: tzinfo | None = None
) -> tuple[Evidence, ...]:
    """The whole table against the log as it stands; times in `zone`."""
    doubted = untrusted(state, context)
    return evidence(observed(standing_log(state), context, doubted, zone))


def fold(weighed: Iterable[Evidence]) -> tuple[Group, ...]:
    """The groups in the order of `WEIGHT_WORDS`; one may be empty.

    Of several readings that say the same of a substance, the one is named that says it of
    most substances, the first of equals.
    """
    items = tuple(weighed)
    return tuple(
        _group(weight, [item for item in items if item.weight == weight])
        for weight in WEIGHT_WORDS
    )


def _group(weight: Weight, items: Sequence[Evidence]) -> Group:
    if weight == "not_seen":
        pairs = [("", _unseen(item), item.substance.name) for item in items]
    else:
        # A reading by its words: two of the same minute and place say the same.
        spoken = Counter(
            reading
            for item in items
            for reading in {said.reading for said in item.deciding}
        )
        pairs = [(*_named(item, spoken), item.substance.name) for item in items]
    lines: dict[str, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    for reading, text, name in pairs:
        lines[reading][text].append(name)
    return Group(
        weight=weight,
        count=len(items),
        lines=tuple(Line(reading, _clauses(said)) for reading, said in lines.items()),
    )


def _clauses(said: Mapping[str, Sequence[str]]) -> tuple[Clause, ...]:
    return tuple(Clause(tuple(names), text) for text, names in said.items())


def _named(item: Evidence, spoken: Mapping[str, int]) -> tuple[str, str]:
    """The reading to name, and what it says."""
    if not item.deciding:
        open_at = next(at.place for at in item.places if at.weight == "not_seen")
        place = open_at[:1].upper() + open_at[1:] or "A place not named"
        return f"{place}: nothing read there could have shown", "contradicted elsewhere"
    said = max(item.deciding, key=lambda one: spoken[one.reading])
    return said.reading, said.short


def _unseen(item: Evidence) -> str:
    parts = [f"{short} ({readings})" for short, readings in _once(item.said).items()]
    return "; ".join(parts) or "nothing was read"


def reasons(item: Evidence) -> tuple[str, ...]:
    """What the readings say of one substance, each thing once, with its first reading.

    What decides its weight comes first.
    """
    deciding = {said.short for said in item.deciding}
    said = _once(item.said)
    ordered = sorted(said, key=lambda short: short not in deciding)
    return tuple(f"{said[short]}: {short}" for short in ordered)


def _once(said: Iterable[Said]) -> dict[str, str]:
    """Each statement with the first reading that makes it and how many more do."""
    readings: dict[str, list[str]] = defaultdict(list)
    for one in said:
        readings[one.short].append(one.reading)
    return {
        short: first + (f", and {len(more)} more" if more else "")
        for short, (first, *more) in readings.items()
    }
