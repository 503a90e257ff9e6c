"""The ways to judge many incidents. Each gives the same rows, chunk by chunk, in order."""

import os
from collections import deque
from collections.abc import Generator, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import closing
from functools import partial
from multiprocessing import get_context
from typing import Any, Final, TypeAlias
from uuid import UUID

from django.db import connection

from incidents.rescreening.values import values_of
from incidents.rescreening.worker import begin, judge_chunk
from review.what_if import Change
from review.what_if_document import Row, judge_all

Chunks: TypeAlias = Sequence[tuple[UUID, ...]]

CONNECT_SECONDS: Final = 10
WAITING_PER_WORKER: Final = 2  # chunks sent ahead, so that no machine waits
_OF_A_DATABASE: Final = ("ENGINE", "NAME", "USER", "PASSWORD", "HOST", "PORT")


class WorkersError(Exception):
    """Who was to do the work cannot; the words say why."""


def all_cores() -> int:
    """The cores that this process may run on."""
    return len(os.sched_getaffinity(0))


def judged(
    chunks: Chunks, change: Change, *, processes: int = 1, scheduler: str = ""
) -> Generator[list[Row], None, None]:
    """The rows of each chunk, in the order of the chunks.

    Close the iterator to stop early. Raises `WorkersError`.
    """
    if scheduler:
        return _on_cluster(chunks, change, scheduler)
    if processes > 1 and len(chunks) > 1:
        return _in_processes(chunks, change, min(processes, len(chunks)))
    return (judge_chunk(keys, change) for keys in chunks)


def _in_processes(
    chunks: Chunks, change: Change, processes: int
) -> Generator[list[Row], None, None]:
    """Each process opens its own connection and reads its own chunks."""
    pool = ProcessPoolExecutor(
        processes,
        mp_context=get_context("spawn"),
        initializer=begin,
        initargs=(_database(),),
    )
    try:
        yield from pool.map(partial(judge_chunk, change=change), chunks)
    except BrokenProcessPool as error:
        raise WorkersError(
            "A process ended before its work was done: was there memory for all of "
            "them? Fewer of them need less."
        ) from error
    finally:
        pool.shutdown(cancel_futures=True)


def _database() -> dict[str, Any]:
    """Where the data of this process lie: the very database that it is connected to."""
    return {key: connection.settings_dict[key] for key in _OF_A_DATABASE}


def _on_cluster(
    chunks: Chunks, change: Change, address: str
) -> Generator[list[Row], None, None]:
    """Workers get the worksheets' values: they need no database, `review` alone."""
    try:
        from distributed import Client
    except ImportError as error:
        raise WorkersError(
            "distributed is not installed: it comes with the extra `cluster`, "
            "pip install -c constraints.txt -e '.[cluster]'."
        ) from error
    try:
        client = Client(address, timeout=CONNECT_SECONDS, set_as_default=False)
    except (OSError, ValueError) as error:
        raise WorkersError(f"No scheduler answers at {address}: {error}") from error
    with closing(client):
        try:
            yield from _sent(client, chunks, change)
        except Exception as error:  # whatever happened on another machine
            raise WorkersError(
                f"The machines did not finish: {type(error).__name__}: {error}"
            ) from error


def _sent(
    client: Any, chunks: Chunks, change: Change
) -> Generator[list[Row], None, None]:
    """A few chunks ahead of the one that is waited for, whatever the archive's size."""
    ahead = WAITING_PER_WORKER * max(len(client.scheduler_info()["workers"]), 1)
    waiting: deque[Any] = deque()
    for keys in chunks:
        values = list(values_of(keys))
        waiting.append(client.submit(judge_all, values, change, pure=False))
        if len(waiting) > ahead:
            yield waiting.popleft().result()
    while waiting:
        yield waiting.popleft().result()
