"""Which findings would have come earlier, later, not at all or only then.

A finding is the same one by team, rule, hazard and place. It may come and go several times:
each time is an episode. Episodes that stood after one and the same entry are the same one;
of the others two that follow each other with nothing shared between them are.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from review.folding import Episode, Folded, Key
from screening.verdicts import Action


class Way(StrEnum):
    """How a finding moved. The values are the words of the JSON document."""

    EARLIER = "earlier"
    LATER = "later"
    NOT_AT_ALL = "not_at_all"
    ONLY_THEN = "only_then"
    STRICTER = "stricter"  # at the same entry, with a stricter action
    MILDER = "milder"


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """One finding both ways; None where it does not come."""

    way: Way
    before: Episode | None
    after: Episode | None

    @property
    def key(self) -> Key:
        return self._one.key

    @property
    def rule(self) -> str:
        """The rule's name in the table; "" where nothing was said, by a fault."""
        return self._one.finding.rule if self._one.finding else ""

    @property
    def place(self) -> str:
        """Where it was found, as it was written first."""
        return self._one.finding.place if self._one.finding else self._one.key[3]

    @property
    def strictest(self) -> Action:
        return max(each.strictest for each in (self.before, self.after) if each)

    @property
    def first(self) -> int:
        """The index of the entry at which it first comes, in either edition."""
        return min(each.first for each in (self.before, self.after) if each)

    @property
    def _one(self) -> Episode:
        one = self.before or self.after
        assert one is not None  # a move is of one at least
        return one


def moves(before: Folded, after: Folded) -> tuple[Move, ...]:
    """Every finding that moved, by the entry at which it first comes."""
    was, would_be = _by_key(before), _by_key(after)
    found = [
        move
        for key in was.keys() | would_be.keys()
        for old, new in _pairs(was.get(key, []), would_be.get(key, []))
        if (move := _move(old, new)) is not None
    ]
    return tuple(
        sorted(found, key=lambda move: (move.first, -move.strictest, move.key))
    )


def _by_key(folded: Folded) -> dict[Key, list[Episode]]:
    found: defaultdict[Key, list[Episode]] = defaultdict(list)
    for episode in folded.episodes:
        found[episode.key].append(episode)
    return found


def _pairs(
    was: list[Episode], would_be: list[Episode]
) -> Iterator[tuple[Episode | None, Episode | None]]:
    """Both editions' episodes of one finding, side by side. Both lists are in order."""
    waiting: tuple[Episode | None, Episode | None] = (None, None)
    old, new = 0, 0
    while old < len(was) or new < len(would_be):
        left = was[old] if old < len(was) else None
        right = would_be[new] if new < len(would_be) else None
        if left is not None and right is not None and left.meets(right):
            yield from _alone(waiting)
            waiting = (None, None)
            yield left, right
            old, new = old + 1, new + 1
            continue
        if right is None or (left is not None and left.first < right.first):
            one: tuple[Episode | None, Episode | None] = (left, None)
            old += 1
        else:
            one = (None, right)
            new += 1
        if (waiting[0] is None) != (one[0] is None) and any(waiting):
            yield waiting[0] or one[0], waiting[1] or one[1]
            waiting = (None, None)
        else:
            yield from _alone(waiting)
            waiting = one
    yield from _alone(waiting)


def _alone(
    waiting: tuple[Episode | None, Episode | None],
) -> Iterator[tuple[Episode | None, Episode | None]]:
    if any(waiting):
        yield waiting


def _move(old: Episode | None, new: Episode | None) -> Move | None:
    """None where it comes at the same entry with the same strictest action."""
    if old is None or new is None:
        way = Way.ONLY_THEN if old is None else Way.NOT_AT_ALL
    elif old.first != new.first:
        way = Way.EARLIER if new.first < old.first else Way.LATER
    elif old.strictest is not new.strictest:
        way = Way.STRICTER if new.strictest > old.strictest else Way.MILDER
    else:
        return None
    return Move(way=way, before=old, after=new)
