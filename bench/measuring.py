"""Rounds in turn, medians, ratios."""

import statistics
import time
from argparse import ArgumentParser
from collections.abc import Callable, Mapping

ROUNDS = 5


def is_quick(description: str) -> bool:
    """Whether the command line asks for the short run."""
    parser = ArgumentParser(description=description)
    parser.add_argument("--quick", action="store_true", help="a run of a few seconds")
    return bool(parser.parse_args().quick)


def in_turn(
    cases: Mapping[str, Callable[[], object]], rounds: int = ROUNDS
) -> dict[str, float]:
    """Median process CPU seconds of each case; round by round, so noise hits all alike."""
    taken: dict[str, list[float]] = {name: [] for name in cases}
    for _ in range(rounds):
        for name, case in cases.items():
            started = time.process_time()
            case()
            taken[name].append(time.process_time() - started)
    return {name: statistics.median(times) for name, times in taken.items()}


def say(what: str, seconds: float, count: int, floor: float | None = None) -> None:
    """One line: microseconds for each of `count`, and the ratio to the floor's seconds."""
    ratio = f"   {seconds / floor:8.2f} x floor" if floor else ""
    print(f"{what:<52} {seconds / count * 1e6:10.2f} µs each{ratio}", flush=True)
