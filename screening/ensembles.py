"""What a team wears, and what that stops.

Source of the letters: 29 CFR 1910.120 App. B Part A; structural turnout gear with SCBA
is kept apart from them because it is neither splash nor vapour protective.
"""

from enum import StrEnum


class Ensemble(StrEnum):
    __hash__ = str.__hash__  # an enum's own is worked out from its name, each time anew

    LEVEL_A = "level_a"
    LEVEL_B = "level_b"
    TURNOUT_SCBA = "turnout_scba"
    LEVEL_C = "level_c"
    LEVEL_D = "level_d"

    @property
    def label(self) -> str:
        return _LABELS[self]

    @property
    def vapour_tight(self) -> bool:
        return self is Ensemble.LEVEL_A

    @property
    def has_scba(self) -> bool:
        return self in (Ensemble.LEVEL_A, Ensemble.LEVEL_B, Ensemble.TURNOUT_SCBA)

    @property
    def rank(self) -> int:
        """By what keeps out vapour, then splash; structural gear is neither, so it lies
        below. Common practice, no source."""
        return _RANK[self]


_RANK = {
    Ensemble.LEVEL_A: 4,
    Ensemble.LEVEL_B: 3,
    Ensemble.TURNOUT_SCBA: 2,
    Ensemble.LEVEL_C: 1,
    Ensemble.LEVEL_D: 0,
}
_LABELS = {
    Ensemble.LEVEL_A: "Level A, vapour-tight, SCBA",
    Ensemble.LEVEL_B: "Level B, splash, SCBA",
    Ensemble.TURNOUT_SCBA: "Turnout gear, SCBA",
    Ensemble.LEVEL_C: "Level C, splash, air-purifying",
    Ensemble.LEVEL_D: "Level D, work uniform",
}
