"""Refusals, in the words of the job. The views turn them into pages."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from screening.worksheet import DocumentError


class RefusalError(Exception):
    """Something was asked for that the record does not allow. Nothing was stored."""


class IncidentClosedError(RefusalError):
    """The incident was closed; its log takes nothing more."""


class IncidentOpenError(RefusalError):
    """Only a closed incident can be opened again."""


class NotAllowedError(RefusalError):
    """The person's role does not carry this."""


class EntryRefusedError(RefusalError):
    """What was entered cannot be read; `errors` names each place."""

    def __init__(self, errors: "tuple[DocumentError, ...]") -> None:
        self.errors = errors
        super().__init__("\n".join(f"{e.pointer}: {e.expected}" for e in errors))


class DuplicateConflictError(RefusalError):
    """The identifier was used before for something else."""


class StorageBusyError(RefusalError):
    """The database could not take the entry in time. Sending it again is harmless."""
