"""Refusals, in the words of the job. The views turn them into pages."""

from datetime import datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from command.plan import Record
    from command.scene import Lack
    from command.whereabouts import Person
    from screening.worksheet import DocumentError


class RefusalError(Exception):
    """Something was asked for that the record does not allow. Nothing was stored."""


class IncidentClosedError(RefusalError):
    """The incident was closed; its log takes nothing more."""


class IncidentOpenError(RefusalError):
    """Only a closed incident can be opened again."""


class PeopleOutError(RefusalError):
    """The incident does not end: these people are neither in the cold zone nor gone."""

    def __init__(self, people: "tuple[Person, ...]") -> None:
        self.people = people
        names = ", ".join(f"{person.name} ({person.where})" for person in people)
        super().__init__(
            f"Not in the cold zone and not gone: {names}. Say where they are, or why it "
            "is closed all the same."
        )


class NotAllowedError(RefusalError):
    """The person's role does not carry this."""


class SopChangedError(RefusalError):
    """Someone else changed the limits of the incident since they were looked at."""


class NoSuchInvitationError(NotAllowedError):
    """No invitation that still holds has this code; which of the reasons is not told."""

    def __init__(self) -> None:
        super().__init__(
            "No invitation has this code now: it may have been used, withdrawn or have "
            "run out. Look at the letters, or ask for a new one."
        )


class KeptError(RefusalError):
    """It has to be kept: nothing of a record is deleted."""


class ImportedError(NotAllowedError):
    """The incident came in a file from elsewhere; it is only read."""


class DrillError(NotAllowedError):
    """A drill is written by its script and by its crew's answers, by nobody else."""


class EntryRefusedError(RefusalError):
    """What was entered cannot be read; `errors` names each place."""

    def __init__(self, errors: "tuple[DocumentError, ...]") -> None:
        self.errors = errors
        super().__init__("\n".join(f"{e.pointer}: {e.expected}" for e in errors))


class PartConflictError(RefusalError):
    """Somebody else wrote this part of the plan meanwhile; `newer` is what stands."""

    def __init__(self, title: str, newer: "Record") -> None:
        self.newer = newer
        super().__init__(
            f"{title} was written by {newer.author} meanwhile. Nothing was stored: "
            "look at what stands, then save yours or keep theirs."
        )


class NotReadyError(RefusalError):
    """The team is not ready to go in; `lacks` says what stops it."""

    def __init__(self, lacks: "tuple[Lack, ...]") -> None:
        self.lacks = lacks
        super().__init__(
            "Not ready yet: " + ", ".join(lack.need.title.lower() for lack in lacks)
        )


class DuplicateConflictError(RefusalError):
    """The identifier was used before for something else."""


class AlreadyDoneError(RefusalError):
    """Somebody did this before: who, and when."""

    def __init__(self, words: str, *, by: str, at: datetime) -> None:
        self.by = by
        self.at = at
        super().__init__(words)


class RunEndedError(RefusalError):
    """The run is not one that can be cancelled, or taken up, now."""


class StorageBusyError(RefusalError):
    """The database could not take the entry in time. Sending it again is harmless."""
