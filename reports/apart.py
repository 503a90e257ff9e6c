"""Checking a file that anybody may have made, in a process of its own with bounds.

A PDF can be made so that whoever reads it never ends or takes all memory. Here that ends
the other process and nothing else, and the answer is a plain refusal.

    python -m reports.apart < QUESTION.json
"""

import base64
import json
import subprocess
import sys
from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from reports.checks import Check
from reports.data import ChainHead
from reports.revoking import Revoked
from reports.time_stamps import Stamp
from reports.verifying import Known, Verification, verify_pdf

LARGEST_FILE: Final = 25_000_000
SECONDS: Final = 60
PROCESSOR_SECONDS: Final = 30
MEMORY: Final = 2_000_000_000


class NotCheckedError(Exception):
    """The file could not be checked within the bounds; the message says which."""


def verify_apart(pdf: bytes, known: Known) -> Verification:
    """As `verify_pdf`, but whatever the file is, in bounded time and memory.

    Raises `NotCheckedError` in words for people.
    """
    if not pdf.lstrip(b"\0\t\n\r\f ")[:5] == b"%PDF-":
        raise NotCheckedError("This is not a PDF file.")
    if len(pdf) > LARGEST_FILE:
        raise NotCheckedError(
            f"The file is larger than {LARGEST_FILE // 1_000_000} MB: no report is."
        )
    return _verification(json.loads(_answer(_question(pdf, known))))


def _answer(question: bytes) -> bytes:
    try:
        done = subprocess.run(
            [sys.executable, "-m", "reports.apart"],
            input=question,
            capture_output=True,
            timeout=SECONDS,
            check=False,
            cwd=Path(__file__).resolve().parent.parent,
        )
    except subprocess.TimeoutExpired as error:
        raise NotCheckedError(
            "Reading the file took too long: a report is read in seconds."
        ) from error
    if done.returncode != 0:
        raise NotCheckedError(
            "The file could not be read within the time and memory that a report takes."
        )
    return done.stdout


def _question(pdf: bytes, known: Known) -> bytes:
    asked = {
        "pdf": _text(pdf),
        "roots": [_text(one) for one in known.roots],
        "time_roots": [_text(one) for one in known.time_roots],
        "lists": [_text(one) for one in known.lists],
        "revoked": [asdict(one) for one in known.revoked],
    }
    return json.dumps(asked, default=_plain).encode()


def _known(asked: dict[str, Any]) -> Known:
    return Known(
        roots=tuple(map(_bytes, asked["roots"])),
        time_roots=tuple(map(_bytes, asked["time_roots"])),
        lists=tuple(map(_bytes, asked["lists"])),
        revoked=tuple(
            Revoked(**{**one, "at": datetime.fromisoformat(one["at"])})
            for one in asked["revoked"]
        ),
    )


def _verification(said: dict[str, Any]) -> Verification:
    head, stamp, at = said["printed_head"], said["stamp"], said["signed_at"]
    return Verification(
        **{
            **said,
            "checks": tuple(Check(**one) for one in said["checks"]),
            "printed_head": ChainHead(**head) if head else None,
            "signed_at": datetime.fromisoformat(at) if at else None,
            "stamp": Stamp(
                **{
                    **stamp,
                    "at": datetime.fromisoformat(stamp["at"]),
                    "issuer": _bytes(stamp["issuer"]),
                }
            )
            if stamp
            else None,
        }
    )


def _text(data: bytes) -> str:
    return base64.b64encode(data).decode("ascii")


def _bytes(text: str) -> bytes:
    return base64.b64decode(text)


def _plain(value: Any) -> str:
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, bytes):
        return _text(value)
    raise TypeError(type(value).__name__)


def _bounded() -> None:
    """No more memory and time than these; where the system knows no such bounds, the
    one who waits still ends it.
    """
    try:
        import resource
    except ImportError:
        return
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    resource.setrlimit(resource.RLIMIT_CPU, (PROCESSOR_SECONDS, PROCESSOR_SECONDS))


def main() -> int:
    """Answer one question from standard input."""
    _bounded()
    asked = json.load(sys.stdin)
    found = verify_pdf(_bytes(asked["pdf"]), known=_known(asked))
    json.dump(asdict(found), sys.stdout, default=_plain)
    return 0


if __name__ == "__main__":
    sys.exit(main())
