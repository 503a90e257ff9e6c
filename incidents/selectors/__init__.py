"""Every read that a page needs, with all that its template touches."""

from incidents.selectors.access import (
    DrillRunningError,
    commanded_alone,
    get_incident_for,
    incidents_for,
    invitations_of,
    is_scripted,
    may_see_incident,
    people_of,
    people_to_choose,
    reviewed_by,
    role_of,
)
from incidents.selectors.access_requests import (
    RequestRow,
    access_request,
    access_requests,
)
from incidents.selectors.archive import (
    ArchiveLine,
    ArchivePage,
    Wanted,
    archive_page,
    archived,
    kept_figures,
    not_archived,
)
from incidents.selectors.exports import cap_draft, csv_lines
from incidents.selectors.exposure import (
    Exposed,
    exposed_people,
    exposure_record,
)
from incidents.selectors.instruments import (
    KitView,
    RegisterRow,
    instrument_history,
    kit_lacks,
    kit_of,
    register,
    register_row,
    taken_back_words,
)
from incidents.selectors.keeping import (
    PersonalRecord,
    employments,
    kept_until,
    own_code,
    personal_record,
)
from incidents.selectors.line import LineRow, LineView, line
from incidents.selectors.log import (
    LogRow,
    full_log,
    log_row,
    log_rows,
    log_rows_then,
)
from incidents.selectors.medical import (
    PersonFitness,
    fitness,
    medical_looks,
    unfit_members,
)
from incidents.selectors.plan import PlanView, plan_view
from incidents.selectors.record import SigningDue, signing_due
from incidents.selectors.sheet import SheetView, TeamRow, sheet, sheet_tag, sheet_then
from incidents.selectors.what_if import (
    RunResult,
    run_document,
    time_left,
    what_if_extent,
    what_if_result,
    what_if_run_for,
    what_if_runs,
)
from incidents.then import Then
from incidents.worksheet import worksheet_document, worksheet_file

__all__ = [
    "ArchiveLine",
    "ArchivePage",
    "DrillRunningError",
    "Exposed",
    "KitView",
    "LineRow",
    "LineView",
    "LogRow",
    "PersonFitness",
    "PersonalRecord",
    "PlanView",
    "RegisterRow",
    "RequestRow",
    "RunResult",
    "SheetView",
    "SigningDue",
    "TeamRow",
    "Then",
    "Wanted",
    "access_request",
    "access_requests",
    "archive_page",
    "archived",
    "cap_draft",
    "commanded_alone",
    "csv_lines",
    "employments",
    "exposed_people",
    "exposure_record",
    "fitness",
    "full_log",
    "get_incident_for",
    "incidents_for",
    "instrument_history",
    "invitations_of",
    "is_scripted",
    "kept_figures",
    "kept_until",
    "kit_lacks",
    "kit_of",
    "line",
    "log_row",
    "log_rows",
    "log_rows_then",
    "may_see_incident",
    "medical_looks",
    "not_archived",
    "own_code",
    "people_of",
    "people_to_choose",
    "personal_record",
    "plan_view",
    "register",
    "register_row",
    "reviewed_by",
    "role_of",
    "run_document",
    "sheet",
    "sheet_tag",
    "sheet_then",
    "signing_due",
    "taken_back_words",
    "time_left",
    "unfit_members",
    "what_if_extent",
    "what_if_result",
    "what_if_run_for",
    "what_if_runs",
    "worksheet_document",
    "worksheet_file",
]
