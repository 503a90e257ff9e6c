"""A whole archive under other limits, as people ask for it: in one process of the command,
then in the background by a worker on all cores that is killed on its way and begun again.

Both must give the same bytes, or the run fails. The incidents differ from one another: they
are those of `make_archive`, but their rows are put in at once, so that their chains and
findings are not there. The floor is the single process: what is left of its time is what
the second core, the results kept on the way and the restart make of it.
"""

import json
import os
import subprocess
import sys
import time
from argparse import ArgumentParser, Namespace
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bench.database import START, empty_database, put_in

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from datetime import datetime

    from incidents.models import Person, WhatIfRun
    from review.inventing import Invented

ROOT = Path(__file__).resolve().parent.parent
LIMITS = {
    "lel_withdraw_percent": 8,
    "dose_turn_back_other": {"value": 1, "unit": "rem"},
}
KILLED_AT = 0.4  # of the incidents
LOOKED_EVERY = 0.2  # seconds
AT_MOST = timedelta(hours=2)


def main() -> None:
    asked = _asked()
    with empty_database(asked.data):
        person = filled(asked.incidents, asked.entries)
        one, one_seconds = in_one_process()
        many, seconds = in_the_background(person)
        if one != many:
            sys.exit("The two results differ.")
        _say(one, one_seconds, seconds, asked.incidents)


def _asked() -> Namespace:
    parser = ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="a run of some seconds")
    parser.add_argument("--incidents", type=int, default=100, metavar="N")
    parser.add_argument("--entries", type=int, default=100, metavar="M", help="of each")
    parser.add_argument(
        "--data",
        type=Path,
        metavar="FOLDER",
        help="where the database is left, to be served and looked at meanwhile",
    )
    asked = parser.parse_args()
    if asked.quick:
        asked.incidents, asked.entries = 60, 20
    return asked


# --- The archive ---------------------------------------------------------------------


def filled(incidents: int, entries: int) -> "Person":
    """An agency with so many incidents of about so many entries; who reviews it."""
    from incidents.models import Agency, Person
    from incidents.services import inventing
    from review.inventing import invent

    agency = Agency.objects.create(name="Example County", slug="example")
    cast = inventing.cast_for(agency)
    count = 0
    for story in invent(incidents=incidents, entries=entries, seed=8):
        count += put_in(inventing.begin(story, cast), _told(story))
    print(f"{incidents} incidents with {count} entries.", flush=True)
    return Person.objects.create(username="bench", agency=agency, may_review=True)


def _told(story: "Invented") -> "Iterator[tuple[str, Any, datetime]]":
    """The readings and decisions of the story; its notes are no part of what is judged."""
    from incidents.documents import dumps

    for one in story.log:
        if one.body["kind"] != "note":
            yield dumps(_filled(one.body)), one.body["at"], one.recorded_at


def _filled(body: "Mapping[str, Any]") -> dict[str, Any]:
    """With who decided, as the service writes it."""
    from incidents.services.entries import SIGNED_KINDS

    return {**body, "by": "bench"} if body["kind"] in SIGNED_KINDS else dict(body)


# --- The two ways --------------------------------------------------------------------


def in_one_process() -> tuple[bytes, float]:
    """What `manage.py whatif --processes 1` prints, and the seconds by the clock."""
    from django.conf import settings

    limits = Path(settings.WORKSHEET_DATA) / "limits.json"
    limits.write_text(json.dumps(LIMITS), encoding="utf-8")
    started = time.perf_counter()
    command = [*_manage("whatif"), str(limits), "--processes", "1"]
    done = subprocess.run(
        command, cwd=ROOT, check=True, stdout=subprocess.PIPE, timeout=AT_MOST.seconds
    )
    return done.stdout, time.perf_counter() - started


def in_the_background(person: "Person") -> tuple[bytes, float]:
    """A run's document, and the seconds that workers were at it."""
    from incidents.selectors.what_if import run_document
    from incidents.services.what_if_runs import start_run

    run = start_run(person=person, name="Bench", document=LIMITS, at=START)
    first = _work(run, until=max(1, round(run.total * KILLED_AT)))
    print(f"  killed at {run.done} of {run.total}", flush=True)
    _let_go(run)
    second = _work(run, until=run.total)
    return "".join(run_document(run)).encode(), first + second


def _work(run: "WhatIfRun", *, until: int) -> float:
    """Seconds by the clock that a worker takes until so many are done; then it is killed."""
    started = time.perf_counter()
    worker = subprocess.Popen(
        [*_manage("db_worker"), "--interval", "0.1", "--end-with-parent"],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    try:
        while run.done < until and not run.has_ended:
            if worker.poll() is not None:
                sys.exit("The worker ended by itself.")
            if time.perf_counter() - started > AT_MOST.total_seconds():
                sys.exit("The worker takes too long.")
            time.sleep(LOOKED_EVERY)
            run.refresh_from_db()
        if until == run.total:
            _until_done(run)
    finally:
        worker.kill()
        worker.wait()
    return time.perf_counter() - started


def _until_done(run: "WhatIfRun") -> None:
    """The last results are kept a moment before the run says that it is done."""
    for _ in range(100):
        run.refresh_from_db()
        if run.has_ended:
            break
        time.sleep(LOOKED_EVERY)
    if run.state != run.State.DONE:
        sys.exit(f"The run ended as {run.state}: {run.failure}")


def _let_go(run: "WhatIfRun") -> None:
    """As if the killed worker's claim had run out, so that nobody waits for it here."""
    from django.utils import timezone

    from incidents.models import WhatIfRun
    from incidents.rescreening.job import LEASE

    past = timezone.now() - 2 * LEASE
    WhatIfRun.objects.filter(pk=run.pk).update(heartbeat_at=past)


def _manage(command: str) -> list[str]:
    return [sys.executable, str(ROOT / "manage.py"), command]


def _say(result: bytes, one: float, many: float, incidents: int) -> None:
    document: dict[str, Any] = json.loads(result)
    judged = sum(each.get("entries_judged", 0) for each in document["incidents"])
    summary = document["summary"]
    if summary["not_readable"]:
        sys.exit(f"{summary['not_readable']} incidents could not be read.")
    print(
        f"The same {len(result)} bytes both ways: {judged} entries judged twice, "
        f"{summary['differ']} of {incidents} incidents differ, "
        f"{summary['ended_otherwise']} ended otherwise. Seconds by the clock, the start "
        "of processes counted:"
    )
    print(f"  one process of the command {one:24.1f} s       1.00 x floor")
    cores = len(os.sched_getaffinity(0))
    print(
        f"  a worker on {cores} cores, killed and begun anew {many:9.1f} s   "
        f"{many / one:8.2f} x floor"
    )


if __name__ == "__main__":
    main()
