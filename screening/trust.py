"""Which entries of a log say nothing by being quiet, for reasons outside the reading."""

from screening.apply import apply, instrument_doubt, is_latched
from screening.incident import Context
from screening.memory import first_core
from screening.readings import Entry, GasMeter
from screening.state import State, distrusted


def standing_log(state: State) -> tuple[Entry, ...]:
    """The entries that count, in order of time: what was struck is left out."""
    entries = []
    link = state.past
    while link is not None:
        if link.entry.id not in state.struck:
            entries.append(link.entry)
        link = link.older
    return tuple(reversed(entries))


def untrusted(state: State, context: Context) -> frozenset[str]:
    """The ids of readings whose instrument could not tell when they were taken: bump test,
    calibration, or an LEL sensor that had gone over range. Costs one pass of the log."""
    core = first_core(context)
    found = set()
    for entry in standing_log(state):
        later = distrusted(state, entry)
        if entry.is_reading and (
            instrument_doubt(core, entry, context, later)
            or (isinstance(entry, GasMeter) and is_latched(core, entry))
        ):
            found.add(entry.id)
        core = apply(core, entry, context, distrusted=later)
    return frozenset(found)
