"""One row of the table of methods, and the sentences that belong to it."""

import re
from dataclasses import dataclass, field
from functools import cached_property
from string import Formatter
from typing import Final

from screening.substances import MEMORY_MARK, Status
from screening.verdicts import Hazard

COMMON_PRACTICE: Final = "common practice, no source"
# The kinds of reading that a row can be of; "any" is every one, "note" is free words.
KINDS: Final = (
    "ph_paper", "ki_starch_paper", "fluoride_paper", "gas_meter", "thermal_imager",
    "dosimeter", "sign", "note", "any",
)  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Sentence:
    """A reason as sheet and report show it; `{name}` stands for a figure or a name."""

    key: str
    text: str
    tells: bool = False  # the reason of a reading that can tell
    aside: bool = False  # stands behind another reason, never alone
    next_step: str = ""  # what to do about it; "" where the usual check will do
    other_means: bool = False  # the same instrument, read again, will not help

    @cached_property
    def pattern(self) -> re.Pattern[str]:
        """Matches the sentence with anything put in, up to the next sentence or the end."""
        parts = []
        for literal, name, _, _ in Formatter().parse(self.text):
            parts.append(re.escape(literal))
            if name is not None:
                parts.append(f"(?P<{name}>(?:(?!; ).)+?)")
        return re.compile("".join(parts) + r"(?=; |$)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Method:
    """What one kind of reading can say of one thing, and when it cannot."""

    id: str  # "C1" as in the project's map of the job, "W1" where the row is our own
    hazards: tuple[Hazard, ...]  # the coverage rows it bears on; () where there is none
    kind: str  # one of KINDS
    subject: str  # what is looked for, in words
    method: str  # how, in words
    tells_when: str = ""
    cannot_when: str = ""
    never_when: str = ""
    next_step: str
    source: str = COMMON_PRACTICE
    status: Status = "common practice"
    says: tuple[Sentence, ...] = field(default=())

    @property
    def cited(self) -> str:
        """The source, with its mark where it is from memory."""
        return (
            f"{self.source} {MEMORY_MARK}" if self.status == "memory" else self.source
        )
