"""The whole check of a log of 100,000 entries, against reading and hashing its bytes."""

import hashlib
import time

from bench.chain import chained
from bench.database import empty_database
from bench.measuring import is_quick, say


def main() -> None:
    entries = 2_000 if is_quick(__doc__ or "") else 100_000
    with empty_database():
        from incidents.services.chain import verify

        incident = chained(entries)
        started = time.perf_counter()
        cpu = time.process_time()
        problem = verify(incident)
        cpu = time.process_time() - cpu
        by_clock = time.perf_counter() - started
        if problem is not None:
            raise RuntimeError(str(problem))
        rows = incident.entries.order_by("seq").values_list("canonical", flat=True)
        floor = time.process_time()
        for each in rows.iterator():
            hashlib.sha256(each).digest()
        floor = time.process_time() - floor
    print(f"{incident.head_seq} records; the floor reads their bytes and hashes them.")
    say("  the floor", floor, entries)
    say("  the log verified, every column", cpu, entries, floor)
    print(f"  {by_clock:.1f} s by the clock of this machine, with its other work")


if __name__ == "__main__":
    main()
