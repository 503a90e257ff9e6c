"""What is stored. The log is the truth; everything else follows from it."""

from incidents.models.agency import Agency
from incidents.models.finding import FindingEvent, StoredFinding
from incidents.models.incident import Incident, IncidentRole
from incidents.models.instrument import Instrument
from incidents.models.log import APP_KINDS, LogEntry
from incidents.models.person import Person
from incidents.models.profile import SopProfile
from incidents.models.report import Report, SigningKey
from incidents.models.team import EntryTeam, Member

__all__ = [
    "APP_KINDS",
    "Agency",
    "EntryTeam",
    "FindingEvent",
    "Incident",
    "IncidentRole",
    "Instrument",
    "LogEntry",
    "Member",
    "Person",
    "Report",
    "SigningKey",
    "SopProfile",
    "StoredFinding",
]
