"""What follows from a drill's script: the script itself, and the identifiers of its injects."""

import hashlib
from functools import lru_cache
from typing import Final
from uuid import UUID, uuid5

from incidents.models import Drill, DrillScript
from review.scripts import Script, read_script
from screening.worksheet import load_json

_KEPT_SCRIPTS: Final = 32


def script_of(row: DrillScript) -> Script:
    """The script, read once in a process: it never changes."""
    return _read(row.sha256, row.document)


@lru_cache(maxsize=_KEPT_SCRIPTS)
def _read(sha256: str, document: str) -> Script:
    return read_script(load_json(document.encode()))


def keys_of(drill: Drill, script: Script) -> dict[str, UUID]:
    """The identifier of each inject in this drill, by its id in the script.

    Their order is that of the script: of two at one moment the engine takes the lower.
    """
    found = {}
    for rank, entry in enumerate(script.worksheet.log):
        digest = hashlib.sha256(uuid5(drill.pk, entry.id).bytes).digest()
        found[entry.id] = UUID(bytes=rank.to_bytes(4) + digest[:12], version=5)
    return found
