"""Who may do what in an incident. The views ask the same functions."""

from incidents.models import Incident, IncidentRole, Person
from incidents.services.errors import NotAllowedError
from screening.readings import KINDS

COMMANDER = IncidentRole.Role.COMMANDER
TECHNICIAN = IncidentRole.Role.TECHNICIAN

READING_KINDS = frozenset(kind for kind, cls in KINDS.items() if cls.is_reading)
# A technician reads and tests instruments and puts right own readings; the rest of
# the kinds are decisions of the commander.
TECHNICIAN_KINDS = READING_KINDS | {"bump_test", "strike"}
KINDS_OF_ROLE = {COMMANDER.value: frozenset(KINDS), TECHNICIAN.value: TECHNICIAN_KINDS}


def may_log(role: str, kind: str) -> bool:
    """Whether the role carries this kind of entry at all."""
    return kind in KINDS_OF_ROLE.get(role, frozenset())


def may_command(role: str) -> bool:
    """Decide, amend the set-up, give roles, close and open again."""
    return role == COMMANDER


def may_report(role: str) -> bool:
    """Make and read the sealed report."""
    return role in IncidentRole.Role.values and role != TECHNICIAN


def require_role(person: Person, incident: Incident) -> str:
    role = IncidentRole.of(person, incident)
    if not role:
        raise NotAllowedError("You have no part in this incident.")
    return role


def require_command(person: Person, incident: Incident) -> None:
    if not may_command(require_role(person, incident)):
        raise NotAllowedError("Only the incident commander may do this.")


def require_writer(person: Person, incident: Incident) -> str:
    role = require_role(person, incident)
    if role not in KINDS_OF_ROLE:
        raise NotAllowedError("Your part in this incident is to read only.")
    return role
