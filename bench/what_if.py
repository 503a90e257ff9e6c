"""An archive under other limits: what it costs beside reading its rows and folding them."""

import resource
import sys
import time
from argparse import ArgumentParser
from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal

from bench.database import START, empty_database, open_incident, put_in
from bench.measuring import in_turn, say
from bench.worksheets import SETUP, log
from incidents.documents import dumps
from review.what_if import Change
from screening.incident import Worksheet
from screening.state import State, initial_state, step
from screening.worksheet import load_json, parse_worksheet

CHANGE = Change(limits={"lel_withdraw_percent": Decimal("1.5")})


def main() -> None:
    parser = ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="a run of a few seconds")
    parser.add_argument("--incidents", type=int, default=20, metavar="N")
    parser.add_argument("--entries", type=int, default=100, metavar="M", help="of each")
    asked = parser.parse_args()
    incidents, entries = (4, 30) if asked.quick else (asked.incidents, asked.entries)
    bodies = [dumps(body) for body in log(entries)]
    with empty_database():
        for _ in range(incidents):
            said = (
                (body, START + timedelta(seconds=5 * number), START)
                for number, body in enumerate(bodies, 2)
            )
            put_in(open_incident(), said)
        measure(incidents, entries, bodies)


def measure(incidents: int, entries: int, bodies: list[str]) -> None:
    from incidents.models import Incident
    from incidents.rescreening import ways
    from incidents.rescreening.values import chunks_of, values_of

    own, other = editions(bodies)
    chunks = chunks_of(Incident.objects.all())
    count = incidents * entries

    def all_of(processes: int) -> int:
        found = ways.judged(chunks, CHANGE, processes=processes)
        return sum(len(rows) for rows in found)

    taken = in_turn(
        {
            "load": lambda: [list(values_of(keys)) for keys in chunks],
            "edge": lambda: [editions(bodies) for _ in range(incidents)],
            "folds": lambda: [fold(one) for one in (own, other) * incidents],
            "what if": lambda: all_of(1),
        },
        rounds=3,
    )
    floor = taken["load"] + taken["folds"]
    print(f"{incidents} incidents of {entries} entries; CPU of one process.")
    say("  the floor: rows read, both editions folded", floor, count, floor)
    say("  rows read alone", taken["load"], count, floor)
    say("  from JSON into the engine's entries alone", taken["edge"], count, floor)
    say("  what-if, one process", taken["what if"], count, floor)
    one_by_clock = by_clock(lambda: all_of(1))
    cores = ways.all_cores()
    all_by_clock = by_clock(lambda: all_of(cores))
    print(
        f"  by the clock {one_by_clock:.1f} s in one process, {all_by_clock:.1f} s in "
        f"{cores}, their start counted; peak {peak():.0f} MiB here, "
        f"{peak(resource.RUSAGE_CHILDREN):.0f} MiB in one of them"
    )


def editions(bodies: list[str]) -> tuple[Worksheet, Worksheet]:
    """The log parsed once, under its own limits and under the others."""
    document = load_json(dumps({**SETUP, "log": [load_json(body) for body in bodies]}))
    own = parse_worksheet(document)
    changed = parse_worksheet({**CHANGE.applied_to(document), "log": []})
    return own, Worksheet(context=changed.context, log=own.log)


def fold(worksheet: Worksheet) -> State:
    state = initial_state(worksheet.context)
    for entry in worksheet.log:
        state, _ = step(state, entry, worksheet.context)
    return state


def by_clock(work: Callable[[], object]) -> float:
    started = time.perf_counter()
    work()
    return time.perf_counter() - started


def peak(whose: int = resource.RUSAGE_SELF) -> float:
    """MiB."""
    kibibytes = resource.getrusage(whose).ru_maxrss
    return kibibytes / (1024 if sys.platform != "darwin" else 1024 * 1024)


if __name__ == "__main__":
    main()
