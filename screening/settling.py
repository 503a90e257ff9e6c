"""What a reading ends, replaces, adds and covers at its place."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import timedelta
from typing import Final

from screening.incident import Context
from screening.looks import Look
from screening.memory import (
    Notice,
    Part,
    PlaceState,
    Stand,
    StandKey,
    Told,
    Unable,
)
from screening.reach import BY_SUBJECT, Covered, met_by, needs_after
from screening.readings import Entry
from screening.rules import Rule
from screening.rules.found import Found
from screening.suspected import key_of
from screening.verdicts import Action, Hazard

AGE_KEYS: Final[Mapping[str, str]] = {
    "ph_paper": "paper_age",
    "ki_starch_paper": "paper_age",
    "fluoride_paper": "paper_age",
    "gas_meter": "meter_age",
    "thermal_imager": "thermal_age",
    "dosimeter": "dosimeter_age",
}
Finds = list[tuple[Rule, Found]]


def settle(
    place: PlaceState,
    entry: Entry,
    finds: Finds,
    looks: Iterable[Look],
    doubt: str,
    context: Context,
) -> tuple[PlaceState, tuple[Notice, ...]]:
    """The place after a reading, and what is to be said of the reading itself.

    `doubt` is why its instrument is not trusted; what it found counts all the same.
    """
    stands, told = dict(place.stands), dict(place.told)
    unable, covered = dict(place.unable), dict(place.covered)
    notices: list[Notice] = []
    for look in looks:
        action = _strictest(finds, look.hazard)
        if not doubt:
            covered[look.hazard] = {
                **covered.get(look.hazard, {}),
                **_parts(look, finds, entry),
            }
        if action is not None:
            _replace_cautions(stands, look, entry, context)
            for before in (told.get(look.hazard), unable.get(look.hazard)):
                notices += _contradicted(before, look, entry, context)
        else:
            if doubt or not look.tells:
                unable[look.hazard] = _unable(look, doubt, entry)
            if doubt or not look.speaks:
                continue
            _end_cautions(stands, look, entry, covered, context)
            notices += _contradictions(stands, look, entry, context)
        if action is not None or look.tells:
            told[look.hazard] = _told(look, action or Action.CONTINUE, entry)
    for rule, found in finds:
        stand = Stand.of(rule, found, entry)
        stands[stand.key] = stand
    place = replace(place, stands=stands, told=told, unable=unable, covered=covered)
    return place, tuple(dict.fromkeys(notices))


def _unable(look: Look, doubt: str, entry: Entry) -> Unable:
    return Unable(
        order=entry.order,
        because=doubt if doubt and look.tells else look.because,
        kind=entry.kind,
        instrument=entry.instrument,
        partly=look.partly and not doubt,
    )


def _told(look: Look, action: Action, entry: Entry) -> Told:
    return Told(
        order=entry.order,
        entry=entry.id,
        kind=entry.kind,
        action=action,
        because=look.because,
        instrument=entry.instrument,
        height=look.height,
    )


def _strictest(
    finds: Iterable[tuple[Rule, Found]], hazard: Hazard, what: str = ""
) -> Action | None:
    """The strictest action found on a hazard, or on one subject of it; None where nothing
    but doubt was."""
    return max(
        (
            found.worst
            for _, found in finds
            if found.hazard is hazard
            and not found.doubt
            and (not what or key_of(found.subject) == what)
        ),
        default=None,
    )


def _parts(look: Look, finds: Finds, entry: Entry) -> dict[Part, Told]:
    """What the reading covers, each with the strictest that was found of it."""
    whats = set(look.covers)
    if look.tells:
        whats.add("")
    if look.speaks and look.hazard in BY_SUBJECT:
        whats |= {key_of(name) for name in look.subjects or ()}
    return {
        (what, look.height): _told(
            look, _strictest(finds, look.hazard, what) or Action.CONTINUE, entry
        )
        for what in whats
    }


def _replace_cautions(
    stands: dict[StandKey, Stand], look: Look, entry: Entry, context: Context
) -> None:
    """A find takes the place of what was found before of the same, at the same height."""
    for key, stand in _ending(stands, look, entry, context):
        if stand.height in ("", look.height):
            del stands[key]


def _end_cautions(
    stands: dict[StandKey, Stand],
    look: Look,
    entry: Entry,
    covered: Covered,
    context: Context,
) -> None:
    """End the cautions that quiet readings since have reached: where it was found, and
    wherever else it may lie."""
    for key, stand in _ending(stands, look, entry, context):
        needs = needs_after(
            look.hazard, context.suspects, stand.found.subject, stand.height
        )
        if all(met_by(need, covered, stand.order) for need in needs):
            del stands[key]


def _ending(
    stands: Mapping[StandKey, Stand], look: Look, entry: Entry, context: Context
) -> list[tuple[StandKey, Stand]]:
    """What ends by itself, unless another instrument in date says otherwise."""
    return [
        (key, stand)
        for key, stand in stands.items()
        if stand.found.hazard is look.hazard
        and stand.found.ends_by_itself
        and _covers(look, stand.found)
        and not _contradicts(stand, entry, context)
    ]


def _covers(look: Look, found: Found) -> bool:
    return look.subjects is None or not found.subject or found.subject in look.subjects


def _contradicts(stand: Stand, entry: Entry, context: Context) -> bool:
    """Two named instruments, while the finding one is still in date."""
    if not stand.instrument or not entry.instrument:
        return False
    if stand.instrument == entry.instrument or stand.found.doubt:
        return False
    age = context.profile[AGE_KEYS.get(entry.kind, "meter_age")]
    return entry.at - stand.order[0] <= timedelta(seconds=float(age))


def _contradictions(
    stands: Mapping[StandKey, Stand], look: Look, entry: Entry, context: Context
) -> list[Notice]:
    return [
        Notice(
            name="contradicting_instruments",
            hazard=look.hazard,
            place=entry.place,
            because=f"{context.instrument_name(entry.instrument)} shows nothing where "
            f"{context.instrument_name(stand.instrument)} found: {stand.found.because}. The stricter stands",
            advice=("Compare both instruments in fresh air.",),
        )
        for stand in stands.values()
        if stand.found.hazard is look.hazard
        and _covers(look, stand.found)
        and _contradicts(stand, entry, context)
    ]


def _contradicted(
    before: Told | Unable | None, look: Look, entry: Entry, context: Context
) -> list[Notice]:
    """A find where another instrument, still in date, showed nothing."""
    if before is None or not before.instrument or not entry.instrument:
        return []
    if isinstance(before, Told) and before.action > Action.CONTINUE:
        return []
    age = context.profile[AGE_KEYS[before.kind]]
    in_date = entry.at - before.order[0] <= timedelta(seconds=float(age))
    if entry.instrument == before.instrument or not in_date:
        return []
    return [
        Notice(
            name="contradicting_instruments",
            hazard=look.hazard,
            place=entry.place,
            because=f"{context.instrument_name(before.instrument)} showed nothing "
            f"({before.because}) where {context.instrument_name(entry.instrument)} finds "
            "now. The stricter stands",
            advice=("Compare both instruments in fresh air.",),
        )
    ]
