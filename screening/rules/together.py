"""Rules on what stands together at one place (rules 31 and 32)."""

from collections.abc import Collection, Iterator

from screening.rules.found import ALL_WITHDRAW, Found, Severity
from screening.verdicts import Action, Hazard

_FLUORIDE_AND_ACID: Severity = (
    Action.STOP, Action.WITHDRAW, Action.WITHDRAW, Action.WITHDRAW, Action.WITHDRAW,
)  # fmt: skip


def fluoride_with_acid(standing: Collection[Found]) -> Iterator[Found]:
    """Rule 31. Hydrogen fluoride; a finding of the fluoride hazard that stands there.

    On the acid side count acid vapour and a corrosive liquid that is an acid.
    """
    acid = [
        found
        for found in standing
        if found.hazard is Hazard.ACID_VAPOUR
        or (found.hazard is Hazard.CORROSIVE_LIQUID and found.acid_side)
    ]
    if not acid:
        return
    for hazard in (Hazard.FLUORIDE_VAPOUR, Hazard.FLUORIDE_LIQUID):
        if not any(found.hazard is hazard for found in standing):
            continue
        yield Found(
            hazard=hazard,
            severity=_FLUORIDE_AND_ACID,
            subject="with acid",
            because="Fluoride and acid found at one place: treat as hydrogen fluoride",
            advice=(
                "Leave now, all but vapour-tight gear, which holds and backs out.",
                "Medical control at once for anyone touched, also without pain; calcium "
                "gluconate per local protocol.",
            ),
        )


def oxidiser_with_flammable(standing: Collection[Found]) -> Iterator[Found]:
    """Rule 32. An oxidiser in the air with LEL at the caution limit or more."""
    oxidiser = any(found.hazard is Hazard.OXIDISER_VAPOUR for found in standing)
    flammable = any(
        found.hazard is Hazard.FLAMMABLE_ATMOSPHERE and not found.doubt
        for found in standing
    )
    if not (oxidiser and flammable):
        return
    yield Found(
        hazard=Hazard.FLAMMABLE_ATMOSPHERE,
        severity=ALL_WITHDRAW,
        everywhere=True,
        subject="with oxidiser",
        because="An oxidiser in the air together with flammable gas at one place",
        advice=("Leave the area now, everyone, whatever is worn.",),
    )
