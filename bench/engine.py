"""The engine: each step of the fold against a bare loop, and the command as a whole."""

import json
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

from bench.measuring import in_turn, is_quick, say
from bench.worksheets import worksheet
from incidents.documents import dumps
from screening.incident import Context
from screening.readings import Entry, GasMeter
from screening.state import State, initial_state, step
from screening.worksheet import load_json, parse_worksheet

LIMIT = Decimal(10)
WINDOW = 100


def main() -> None:
    quick = is_quick(__doc__ or "")
    lengths = (100, 300) if quick else (100, 1_000, 10_000)
    parsed = parse_worksheet(load_json(dumps(worksheet(lengths[-1] + WINDOW))))
    context, entries = parsed.context, parsed.log
    print("One step of the fold; the floor is a loop that only compares.")
    for length in lengths:
        whole_log(context, entries[:length])
    print("The same hundred entries put on a log of that length already.")
    on_top_of(context, entries, lengths)
    print("The command; the floor is the command on one entry.")
    command((30, 300) if quick else (1_000, 10_000))


def bare_loop(entries: Sequence[Entry]) -> int:
    """What any engine must do: look at each entry once and compare one figure."""
    over = 0
    for entry in entries:
        if isinstance(entry, GasMeter) and (entry.lel_percent or 0) >= LIMIT:
            over += 1
    return over


def fold(state: State, entries: Sequence[Entry], context: Context) -> State:
    for entry in entries:
        state, _ = step(state, entry, context)
    return state


def whole_log(context: Context, entries: Sequence[Entry]) -> None:
    rounds = 1 if len(entries) > 1_000 else 5
    taken = in_turn(
        {
            "bare": lambda: bare_loop(entries),
            "fold": lambda: fold(initial_state(context), entries, context),
        },
        rounds,
    )
    say(f"  {len(entries):>6} entries", taken["fold"], len(entries), taken["bare"])


def on_top_of(
    context: Context, entries: Sequence[Entry], lengths: Sequence[int]
) -> None:
    """Flat is what is wanted: the ratio is to the shortest log."""
    window = entries[-WINDOW:]
    bases = {
        length: fold(initial_state(context), entries[:length], context)
        for length in lengths
    }
    taken = in_turn(
        {
            str(length): lambda base=base: fold(base, window, context)  # type: ignore[misc]
            for length, base in bases.items()
        },
        rounds=9,
    )
    first = next(iter(taken.values()))
    for length, seconds in taken.items():
        say(f"  on {length:>6} entries", seconds, WINDOW, first)


def command(lengths: tuple[int, int]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        floor = _command_seconds(Path(folder), 1)
        taken = {length: _command_seconds(Path(folder), length) for length in lengths}
    say("       1 entry, the whole start", floor, 1)
    for length, seconds in taken.items():
        say(f"  {length:>6} entries", seconds, length, floor)
    short, long = lengths
    growth = (taken[long] - floor) / max(taken[short] - floor, 1e-6)
    print(
        f"  {long // short} times the entries take {growth:.1f} times the work, "
        "the start left out"
    )


def _command_seconds(folder: Path, entries: int) -> float:
    """Process CPU seconds of `python -m screening` on a log of that length."""
    path = folder / f"{entries}.json"
    path.write_text(dumps(worksheet(entries)), encoding="utf-8")
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    started = time.monotonic()
    done = subprocess.run(
        [sys.executable, "-m", "screening", str(path)],
        capture_output=True,
        check=True,
        timeout=300,
    )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    judged = len(json.loads(done.stdout)["entries"])
    if judged != entries:
        raise RuntimeError(f"{judged} of {entries} entries were judged")
    used = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return used or time.monotonic() - started


if __name__ == "__main__":
    main()
