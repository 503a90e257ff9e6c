"""What is stored. The log is the truth; everything else follows from it."""

from incidents.models.access_request import AccessAnswer, AccessRequest
from incidents.models.agency import Agency
from incidents.models.anchor import RecordAnchor
from incidents.models.archive import ArchiveRow
from incidents.models.authenticator import Authenticator
from incidents.models.critique import CritiqueNote, CritiqueStep
from incidents.models.device import Device, DeviceEntry
from incidents.models.drill import (
    Drill,
    DrillAnswer,
    DrillMember,
    DrillScript,
    PlannedDrill,
)
from incidents.models.employment import EmploymentEnd
from incidents.models.finding import FindingEvent, StoredFinding
from incidents.models.imported import ImportedWorksheet
from incidents.models.incident import Incident, IncidentRole, Invitation
from incidents.models.instrument import Instrument, InstrumentRecord
from incidents.models.log import APP_KINDS, LogEntry
from incidents.models.medical import MedicalAccess, MedicalCheck
from incidents.models.person import Person
from incidents.models.photo import Photo
from incidents.models.profile import SopProfile, SopWithdrawal
from incidents.models.report import KeyRevocation, Report, SigningKey
from incidents.models.sign_in import SignInRecord
from incidents.models.team import EntryTeam, Member
from incidents.models.what_if import WhatIfIncident, WhatIfRun

__all__ = [
    "APP_KINDS",
    "AccessAnswer",
    "AccessRequest",
    "Agency",
    "Authenticator",
    "ArchiveRow",
    "CritiqueNote",
    "CritiqueStep",
    "Device",
    "DeviceEntry",
    "Drill",
    "DrillAnswer",
    "DrillMember",
    "DrillScript",
    "EmploymentEnd",
    "EntryTeam",
    "FindingEvent",
    "ImportedWorksheet",
    "Incident",
    "IncidentRole",
    "Instrument",
    "InstrumentRecord",
    "Invitation",
    "KeyRevocation",
    "LogEntry",
    "MedicalAccess",
    "MedicalCheck",
    "Member",
    "Person",
    "Photo",
    "PlannedDrill",
    "RecordAnchor",
    "Report",
    "SignInRecord",
    "SigningKey",
    "SopProfile",
    "SopWithdrawal",
    "StoredFinding",
    "WhatIfIncident",
    "WhatIfRun",
]
