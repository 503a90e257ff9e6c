"""Who may do what in an incident. The views ask the same functions."""

from incidents.models import Agency, Incident, IncidentRole, Person
from incidents.models.log import HEARD, MAYDAY, MAYDAY_OVER, NOTE, ORDER
from incidents.services.errors import NotAllowedError
from screening.readings import KINDS

COMMANDER = IncidentRole.Role.COMMANDER
SAFETY_OFFICER = IncidentRole.Role.SAFETY_OFFICER
TECHNICIAN = IncidentRole.Role.TECHNICIAN
MEDICAL = IncidentRole.Role.MEDICAL
TRAINING_OFFICER = IncidentRole.Role.TRAINING_OFFICER
VIEWER = IncidentRole.Role.VIEWER

READING_KINDS = frozenset(kind for kind, cls in KINDS.items() if cls.is_reading)
# A technician reads and tests instruments, puts right own readings, writes notes and
# may call a Mayday; the rest of the kinds are decisions of the commander. So is work that
# a safety officer ended: 29 CFR 1910.120(q)(3)(viii) has them tell the commander at once,
# who logs it.
TECHNICIAN_KINDS = READING_KINDS | {"bump_test", "strike", NOTE, MAYDAY}
COMMANDER_KINDS = frozenset(KINDS) | {NOTE, ORDER, MAYDAY, MAYDAY_OVER, HEARD}
KINDS_OF_ROLE = {
    COMMANDER.value: COMMANDER_KINDS,
    SAFETY_OFFICER.value: TECHNICIAN_KINDS,
    TECHNICIAN.value: TECHNICIAN_KINDS,
}


def may_log(role: str, kind: str) -> bool:
    """Whether the role carries this kind of entry at all."""
    return kind in KINDS_OF_ROLE.get(role, frozenset())


def may_command(role: str) -> bool:
    """Decide, amend the set-up, give roles, close and open again."""
    return role == COMMANDER


# What a technician at the command post keeps for the commander.
TECHNICIAN_PARTS = frozenset(
    {"weather", "check_in", "whereabouts", "decon_line", "decon_check", "exposure_note"}
)
# What the safety officer writes down of people, beside reading.
SAFETY_PARTS = frozenset(
    {
        "whereabouts",
        "decon_line",
        "decon_check",
        "exposure_note",
        "notice",
        "volunteer",
    }
)


def may_plan(role: str, part: str = "") -> bool:
    """Write this part of the plan; without a part, any."""
    if may_command(role):
        return True
    if role == SAFETY_OFFICER:
        return part in SAFETY_PARTS
    return role == TECHNICIAN and (not part or part in TECHNICIAN_PARTS)


def may_report(role: str) -> bool:
    """Make and read the sealed report."""
    return role in IncidentRole.Role.values and role not in (TECHNICIAN, MEDICAL)


def may_sign_off(role: str) -> bool:
    """Stand for the record, or dissent: everyone who took part in it."""
    return role in IncidentRole.Role.values and role != IncidentRole.Role.VIEWER


def may_see_exposure(role: str) -> bool:
    """See the exposure record of a person: who answers for people, not who works beside
    them. 29 CFR 1910.1020(e) gives it to the person and to whom they name.
    """
    return role in (COMMANDER, SAFETY_OFFICER, MEDICAL, TRAINING_OFFICER)


def may_see_medical(role: str) -> bool:
    """See what was measured of a person. All others, the commander too, see whether
    someone is fit to enter and nothing else.
    """
    return role in (MEDICAL, SAFETY_OFFICER)


def may_record_medical(role: str) -> bool:
    """Record what was measured of a person, and whether they are fit to enter."""
    return role == MEDICAL


def may_edit_sop(person: Person) -> bool:
    """Write and withdraw versions of the agency's SOP; everybody of it may read them."""
    return person.is_active and person.may_edit_sop and person.agency_id is not None


def require_sop_editor(person: Person) -> Agency:
    """The agency whose SOP the person may write."""
    if person.agency is None or not may_edit_sop(person):
        raise NotAllowedError("You may not write the SOP of an agency.")
    return person.agency


def may_review(person: Person) -> bool:
    """Look back on every incident of the agency, and run its drills."""
    return person.reviews


def require_reviewer(person: Person) -> Agency:
    """The agency whose incidents the person reviews."""
    if person.agency is None or not may_review(person):
        raise NotAllowedError("You may not review the incidents of an agency.")
    return person.agency


# Who looks back on an incident in writing: who answered for it, and who reviews it.
CRITICS = frozenset({COMMANDER, SAFETY_OFFICER, TRAINING_OFFICER})


def may_critique(person: Person, incident: Incident) -> bool:
    """Write what is said in looking back on an incident, closed or not."""
    reviews = may_review(person) and person.agency_id == incident.agency_id
    return reviews or IncidentRole.of(person, incident) in CRITICS


def require_critic(person: Person, incident: Incident) -> None:
    if not may_critique(person, incident):
        raise NotAllowedError(
            "The commander, the safety officer and who reviews the incident write here."
        )


def may_keep_keys(person: Person) -> bool:
    """Make, import and take back the agency's signing key: who runs the agency."""
    return person.is_active and person.is_agency_owner and person.agency_id is not None


def require_key_keeper(person: Person) -> Agency:
    """The agency whose signing key the person keeps."""
    if person.agency is None or not may_keep_keys(person):
        raise NotAllowedError("Only who runs the agency keeps its signing key.")
    return person.agency


def may_test(person: Person) -> bool:
    """See the agency's register of instruments and record tests in it."""
    return person.is_active and person.agency_id is not None


def may_keep_register(person: Person) -> bool:
    """Add, change and retire instruments, and put others' tests right."""
    return may_test(person) and person.may_open


def require_role(person: Person, incident: Incident) -> str:
    role = IncidentRole.of(person, incident)
    if not role:
        raise NotAllowedError("You have no part in this incident.")
    return role


def require_command(person: Person, incident: Incident) -> None:
    if not may_command(require_role(person, incident)):
        raise NotAllowedError("Only the incident commander may do this.")


def require_part(person: Person, incident: Incident, part: str) -> None:
    if not may_plan(require_role(person, incident), part):
        raise NotAllowedError("This part of the plan is the incident commander's.")


def require_writer(person: Person, incident: Incident) -> str:
    role = require_role(person, incident)
    if role not in KINDS_OF_ROLE:
        raise NotAllowedError("Your part in this incident is to read only.")
    return role
