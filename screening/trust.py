"""Which entries of a log say nothing by being quiet, for reasons outside the reading."""

from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import Final

from screening import instruments
from screening.apply import apply
from screening.incident import Context
from screening.instruments import PAPERS, doubt_about
from screening.memory import Core, first_core
from screening.readings import Entry, GasMeter
from screening.state import FIRST, State, distrusted

__all__ = [
    "TakenBack",
    "doubt_about",
    "is_unverified",
    "standing_log",
    "taken_back",
    "untrusted",
]

# Kinds that a meter of the agency's register shows; papers and gauges are none.
METERS: Final = frozenset({"gas_meter", "thermal_imager", "dosimeter"})


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenBack:
    """A bump test that failed after use: what the instrument did not show is open again."""

    instrument: str
    kind: str  # of the instrument; "" where it is not listed
    failed_at: datetime
    since: datetime | None  # the last passed test before it; None where none is known
    readings: int  # its readings in between that count

    def words(self, name: str, zone: tzinfo | None) -> str:
        """The sentence of the banner and of the report; times in the zone."""
        count = f"{self.readings} reading{'s' * (self.readings != 1)}"
        test = "check" if self.kind in PAPERS else "bump test"
        since = self.since and f" since {self.since.astimezone(zone):%H:%M}"
        return (
            f"{name} failed its {test} at {self.failed_at.astimezone(zone):%H:%M}. "
            f"What it did not show in {count}{since or ' before'} proves nothing: "
            "look again with another."
        )


def standing_log(state: State) -> tuple[Entry, ...]:
    """The entries that count, in order of time: what was struck is left out."""
    entries = []
    link = state.past
    while link is not None:
        if link.entry.id not in state.struck:
            entries.append(link.entry)
        link = link.older
    return tuple(reversed(entries))


def _doubted(core: Core, entry: Entry, context: Context, later: bool) -> str:
    if instruments.doubt(core, entry, context, later):
        return "all"
    if not isinstance(entry, GasMeter):
        return ""
    spoiled = instruments.spoiled(core, entry)
    return spoiled or ("lel" if instruments.is_latched(core, entry) else "")


def untrusted(state: State, context: Context) -> dict[str, str]:
    """Which sensors could not tell when a reading was taken, by the reading's id.

    "all" by its instrument's bump test or calibration, or a note; "lel" where the LEL
    sensor alone had gone over range or was noted as spoiled. One pass of the log.
    """
    core = first_core(context)
    found = {}
    for entry in standing_log(state):
        later = distrusted(state, entry)
        if entry.is_reading and (which := _doubted(core, entry, context, later)):
            found[entry.id] = which
        core = apply(core, entry, context, distrusted=later)
    return found


def is_unverified(entry: Entry, context: Context) -> bool:
    """Whether a meter's reading names none of the instruments that are listed.

    Of such a meter nothing is known: neither its bump test nor its calibration.
    """
    return entry.kind in METERS and entry.instrument not in context.instruments


def taken_back(state: State, context: Context) -> tuple[TakenBack, ...]:
    """Every failed bump test with readings before it that it puts in doubt, in order.

    Costs one pass of the log for each failed test; () where none failed.
    """
    found = []
    for name, after, until in sorted(state.distrust, key=lambda each: each[2]):
        count = sum(
            entry.is_reading
            and entry.instrument == name
            and after < entry.order < until
            for entry in standing_log(state)
        )
        listed = context.instruments.get(name)
        if count:
            found.append(
                TakenBack(
                    instrument=name,
                    kind=listed.kind if listed else "",
                    failed_at=until[0],
                    since=None if after == FIRST else after[0],
                    readings=count,
                )
            )
    return tuple(found)
