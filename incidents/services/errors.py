"""Refusals, in the words of the job. The views turn them into pages."""

from screening.worksheet import DocumentError


class Refusal(Exception):
    """Something was asked for that the record does not allow. Nothing was stored."""


class IncidentClosedError(Refusal):
    """The incident was closed; its log takes nothing more."""


class IncidentOpenError(Refusal):
    """Only a closed incident can be opened again."""


class NotAllowedError(Refusal):
    """The person's role does not carry this."""


class EntryRefusedError(Refusal):
    """What was entered cannot be read; `errors` names each place."""

    def __init__(self, errors: tuple[DocumentError, ...]) -> None:
        self.errors = errors
        super().__init__(
            "\n".join(f"{e.pointer}: {e.expected}" for e in errors)
        )


class DuplicateConflictError(Refusal):
    """The identifier was used before for something else."""


class StorageBusyError(Refusal):
    """The database could not take the entry in time. Sending it again is harmless."""
