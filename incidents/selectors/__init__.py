"""Every read that a page needs, with all that its template touches."""

from incidents.selectors.access import get_incident_for, incidents_for, role_of
from incidents.selectors.log import (
    LogRow,
    full_log,
    log_row,
    log_rows,
)
from incidents.selectors.sheet import SheetView, TeamRow, sheet, sheet_tag
from incidents.worksheet import worksheet_document

__all__ = [
    "LogRow",
    "SheetView",
    "TeamRow",
    "full_log",
    "get_incident_for",
    "incidents_for",
    "log_row",
    "log_rows",
    "role_of",
    "sheet",
    "sheet_tag",
    "worksheet_document",
]
