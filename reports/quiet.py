"""Keeping pyHanko's log out of the way: what it finds is said in the checks."""

import logging
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def quietly() -> Iterator[None]:
    """No line of its log while this lasts."""
    names = ("pyhanko", "pyhanko_certvalidator")
    logs = [logging.getLogger(name) for name in names]
    levels = [log.level for log in logs]
    for log in logs:
        log.setLevel(logging.CRITICAL)
    try:
        yield
    finally:
        for log, level in zip(logs, levels, strict=True):
            log.setLevel(level)
