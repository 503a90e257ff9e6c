"""Every write: one function per thing a person does, each one transaction."""

from incidents.services.entries import Appended, append_entry
from incidents.services.errors import (
    DuplicateConflictError,
    EntryRefusedError,
    IncidentClosedError,
    IncidentOpenError,
    NotAllowedError,
    RefusalError,
    StorageBusyError,
)
from incidents.services.incidents import (
    add_team,
    amend_setup,
    close_incident,
    give_role,
    open_incident,
    reopen_incident,
)
from incidents.services.reports import make_report

__all__ = [
    "Appended",
    "DuplicateConflictError",
    "EntryRefusedError",
    "IncidentClosedError",
    "IncidentOpenError",
    "NotAllowedError",
    "RefusalError",
    "StorageBusyError",
    "add_team",
    "amend_setup",
    "append_entry",
    "close_incident",
    "give_role",
    "make_report",
    "open_incident",
    "reopen_incident",
]
