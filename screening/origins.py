"""Where the reason of a coverage row is from, for whoever shows it."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from screening.methods import Method, row_of
from screening.substances import MEMORY_MARK
from screening.verdicts import CoverageRow, Finding, Status

# How long ago a reading was taken, and how long it counts.
_AGE: Final = re.compile(r", [^,;]+ ago(?:, counts for [^,;]+)?$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """A row of the table of methods, or a rule."""

    id: str  # "C12", "W3", "rule 7"
    source: str
    status: str

    @property
    def cited(self) -> str:
        """The source with how far it goes, where its words do not say that themselves."""
        if self.status == "memory":
            return f"{self.source} {MEMORY_MARK}"
        return f"{self.source}, read" if self.status == "read" else self.source


@lru_cache(maxsize=1024)
def _method_of(words: str) -> Method | None:
    """The row of methods behind a reason without its age, whatever else was put before it
    or behind it."""
    while words:
        shorter = words.removesuffix(" before that")
        while shorter:
            found = row_of(shorter)
            if found is not None:
                return found
            shorter = shorter[: max(shorter.rfind("; "), shorter.rfind(", "), 0)]
        words = words.partition("; ")[2]
    return None


def origin_of(row: CoverageRow, findings: Iterable[Finding]) -> Origin | None:
    """The origin of a row's reason; of a find, the strictest of `findings` behind it.

    None where the reason is neither in the table of methods nor a finding's.
    """
    if row.status is Status.FOUND:
        for finding in findings:
            if finding.hazard is row.hazard and row.because in finding.because:
                rule = f"rule {finding.number}"
                return Origin(id=rule, source=finding.source, status="")
    method = _method_of(_AGE.sub("", row.because))
    if method is None:
        return None
    return Origin(id=method.id, source=method.source, status=method.status)
