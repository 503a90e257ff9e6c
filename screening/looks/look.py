"""What one reading is of one hazard, and what it is judged by beside itself."""

from collections.abc import Iterable
from dataclasses import dataclass

from screening.incident import Context
from screening.verdicts import Hazard


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """One reading of one hazard, be it quiet or not."""

    hazard: Hazard
    tells: bool  # it can tell, as far as it reaches
    because: str
    # Which gas, container or kind of signal it is of; None is all there is.
    subjects: frozenset[str] | None = None
    # In order, but of something else than the hazard as such: speaks of its subjects only.
    partly: bool = False
    covers: frozenset[str] = frozenset()  # suspects that it would have shown, by key
    height: str = ""  # of a meter, "" where not noted

    @property
    def speaks(self) -> bool:
        """Whether its quiet says something of anything that may have been found."""
        return self.tells or self.partly


@dataclass(frozen=True, slots=True, kw_only=True)
class LookFacts:
    """What bears on a reading from outside it."""

    context: Context
    latched: bool = False  # this LEL sensor went over range and the team is not out yet
    standing: frozenset[tuple[Hazard, str]] = frozenset()  # what stands at the place
    spoiled: str = (
        ""  # a note said so of this meter before: of its "lel" sensor, or "all"
    )
    bumped: bool = False  # it is known to have passed a bump test of the day
    bumped_here: bool = False  # that one was done on scene, in this air


def with_further(because: str, further: Iterable[str]) -> str:
    """A reason with what stands behind it."""
    return "; ".join((because, *further))
