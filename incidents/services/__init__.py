"""Every write: one function per thing a person does, each one transaction."""

from incidents.services.corrections import add_addendum, link_correction
from incidents.services.critique import NoteChangedError, change_note, pin_note
from incidents.services.entries import Appended, append_entry
from incidents.services.errors import (
    AlreadyDoneError,
    DuplicateConflictError,
    EntryRefusedError,
    IncidentClosedError,
    IncidentOpenError,
    NoSuchInvitationError,
    NotAllowedError,
    NotReadyError,
    PartConflictError,
    PeopleOutError,
    RefusalError,
    RunEndedError,
    SopChangedError,
    StorageBusyError,
)
from incidents.services.hearing import hear
from incidents.services.incidents import (
    add_team,
    amend_setup,
    change_sop,
    close_incident,
    open_incident,
    reopen_incident,
)
from incidents.services.instruments import (
    Tested,
    add_instrument,
    change_instrument,
    record_test,
    retire_instrument,
    return_instrument,
    strike_test,
    take_instruments,
)
from incidents.services.medical import (
    decide_fitness,
    look_at_checks,
    record_check,
)
from incidents.services.parts import (
    accept_invitation,
    end_role,
    give_role,
    invite,
    withdraw_invitation,
)
from incidents.services.plan import check_in_all, enter_team, record_part
from incidents.services.records import (
    call_mayday,
    end_mayday,
    order_out,
    undo,
    write_note,
)
from incidents.services.reports import make_report
from incidents.services.sign_offs import sign_off

__all__ = [
    "AlreadyDoneError",
    "Appended",
    "DuplicateConflictError",
    "EntryRefusedError",
    "IncidentClosedError",
    "IncidentOpenError",
    "NoSuchInvitationError",
    "NoteChangedError",
    "NotAllowedError",
    "NotReadyError",
    "PartConflictError",
    "PeopleOutError",
    "RefusalError",
    "RunEndedError",
    "SopChangedError",
    "StorageBusyError",
    "Tested",
    "accept_invitation",
    "add_addendum",
    "add_instrument",
    "add_team",
    "amend_setup",
    "append_entry",
    "call_mayday",
    "change_instrument",
    "change_note",
    "change_sop",
    "check_in_all",
    "close_incident",
    "decide_fitness",
    "end_mayday",
    "end_role",
    "enter_team",
    "give_role",
    "hear",
    "invite",
    "link_correction",
    "look_at_checks",
    "make_report",
    "open_incident",
    "order_out",
    "pin_note",
    "record_check",
    "record_part",
    "record_test",
    "reopen_incident",
    "retire_instrument",
    "return_instrument",
    "sign_off",
    "strike_test",
    "take_instruments",
    "undo",
    "withdraw_invitation",
    "write_note",
]
