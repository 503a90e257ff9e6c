"""What comes over the radio and is no reading: in, out, PAR, ventilated."""

from collections.abc import Mapping
from typing import Final

from incidents.radio.cursor import Cursor
from incidents.radio.readings import Reader, by_name
from incidents.radio.understood import Known
from screening.ensembles import Ensemble


def _nothing_more(cursor: Cursor, known: Known) -> None:
    return


def _par(cursor: Cursor, known: Known) -> None:
    """`par all`, or `par without kim lee`: who was not heard or seen."""
    if cursor.take("all"):
        return
    since = cursor.position
    if not cursor.take("without"):
        cursor.fail("all, or without and the names of those not heard")
    members = by_name(known.members.get(cursor.body.get("team", ""), {}))
    missing = [cursor.choose(members, "a member of the team")]
    while (more := cursor.take_of(members)) is not None:
        missing.append(more)
    cursor.put("unanswered", list(dict.fromkeys(missing)), since)


def _ventilate(cursor: Cursor, known: Known) -> None:
    since = cursor.position
    how = cursor.rest()
    if not how:
        cursor.fail("how, such as fan at the north door")
    cursor.put("method", how, since)


def _wears(cursor: Cursor, known: Known) -> None:
    since = cursor.position
    names = {one.value.replace("_", " "): one.value for one in Ensemble}
    cursor.put("ensemble", cursor.choose(names), since)


DECISIONS: Final[Mapping[str, tuple[str, Reader]]] = {
    "enter": ("enter", _nothing_more),
    "exit": ("exit", _nothing_more),
    "par": ("par", _par),
    "ventilate": ("ventilate", _ventilate),
    "wears": ("change_ensemble", _wears),
}
WITHOUT_TEAM: Final = frozenset({"ventilate"})
WITHOUT_PLACE: Final = frozenset({"exit", "par", "change_ensemble"})
