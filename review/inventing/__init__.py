"""Incidents that never happened: the same number of the same seed is always the same.

Each is a worksheet document in plain dicts with what such a document has no place for:
when each entry reached the record, who wrote it, and what a person said at the end.
Everything is invented; any likeness of a name to a person's or a company's is chance.
"""

from collections.abc import Iterator

from review.inventing.story import invented
from review.inventing.told import FIRST_DAY, LAST_DAY, Invented, Said

__all__ = ["FIRST_DAY", "LAST_DAY", "Invented", "Said", "invent"]


def invent(*, incidents: int, entries: int, seed: int) -> Iterator[Invented]:
    """So many incidents of about so many entries each, in no order of time.

    An incident depends on the seed, its own number and `entries`; asking for more
    incidents gives the same ones first. Raises `ValueError` for fewer than 0 incidents
    or fewer than 20 entries, in which no entry of a team has room.
    """
    if incidents < 0:
        raise ValueError("the number of incidents is 0 or more")
    if entries < 20:
        raise ValueError("an incident has 20 entries or more")
    return (invented(seed, number, entries) for number in range(1, incidents + 1))
