"""Who takes which part in an incident: given, changed, taken back; mutual aid."""

from datetime import datetime, timedelta
from typing import Any, Final
from uuid import UUID

from incidents.codes import keyed_hash, random_words
from incidents.documents import dumps, loads
from incidents.models import Incident, IncidentRole, Invitation, Person
from incidents.models.log import AMENDMENT
from incidents.services import chain, permissions
from incidents.services.errors import (
    NoSuchInvitationError,
    NotAllowedError,
)
from incidents.services.locking import lock, one_transaction, save_head
from incidents.services.typed import refused, typed

# Long enough to be read over the radio and typed with gloves. Common practice, no source.
GOOD_FOR: Final = timedelta(hours=1)
# Command changes hands by a transfer with both names, never by a code.
INVITABLE: Final = tuple(
    role for role in IncidentRole.Role if role != permissions.COMMANDER
)


def give_role(
    *, incident_id: UUID, person: Person, to: Person, role: str, at: datetime
) -> IncidentRole:
    """Give someone a part in the incident, or another than they had; logged.

    Someone of another agency comes in by `accept_invitation` alone; here their part can
    be changed, but not to command.
    """
    if role not in IncidentRole.Role.values:
        raise refused("/role", f"one of {', '.join(IncidentRole.Role.values)}")
    with one_transaction():
        incident = lock(incident_id)
        permissions.require_command(person, incident)
        if to.agency_id != incident.agency_id:
            if not IncidentRole.of(to, incident):
                raise NotAllowedError(
                    "Only people of the same agency take part without an invitation."
                )
            if permissions.may_command(role):
                raise NotAllowedError(
                    "Command does not go to another agency by giving a part."
                )
        if not permissions.may_command(role):
            _keep_a_commander(incident, without=to)
        given, _ = IncidentRole.objects.update_or_create(
            incident=incident,
            person=to,
            defaults={"role": role, "given_by": person, "given_at": at},
        )
        _record(incident, _said(incident, to, role), person, at)
    return given


def end_role(*, incident_id: UUID, person: Person, of: Person, at: datetime) -> None:
    """Take someone's part back; logged. They see nothing of the incident from then on."""
    with one_transaction():
        incident = lock(incident_id)
        permissions.require_command(person, incident)
        role = IncidentRole.objects.filter(incident=incident, person=of).first()
        if role is None:
            raise NotAllowedError(f"{of.shown_name} has no part in this incident.")
        _keep_a_commander(incident, without=of)
        role.delete()
        ended = _said(incident, of, "") | {"ended": IncidentRole.Role(role.role).value}
        _record(incident, ended, person, at)


def invite(
    *, incident_id: UUID, person: Person, role: str, meant_for: str, at: datetime
) -> tuple[Invitation, str]:
    """Offer a part to someone of another agency: the invitation, and its code.

    The code is not kept and cannot be shown again. It is the log's turn when someone
    accepts.
    """
    if role not in INVITABLE:
        raise refused("/role", f"one of {', '.join(INVITABLE)}")
    name = typed(
        meant_for,
        "/meant_for",
        longest=120,
        one_line=True,
        needed="whom the invitation is for",
    )
    code = random_words(3)
    with one_transaction():
        incident = lock(incident_id)
        permissions.require_command(person, incident)
        invitation = Invitation.objects.create(
            incident=incident,
            role=role,
            meant_for=name,
            code_hash=keyed_hash("invitation", code),
            invited_by=person,
            invited_at=at,
            good_until=at + GOOD_FOR,
        )
    return invitation, code


def withdraw_invitation(
    *, incident_id: UUID, person: Person, number: int, at: datetime
) -> None:
    """Make an invitation's code worthless; one that was accepted stays as it is."""
    with one_transaction():
        incident = lock(incident_id)
        permissions.require_command(person, incident)
        open_ones = incident.invitations.filter(accepted_by=None, withdrawn_at=None)
        open_ones.filter(pk=number).update(withdrawn_at=at)


def accept_invitation(*, code: str, person: Person, at: datetime) -> IncidentRole:
    """Take the part that the code offers; logged under the name of who accepts.

    Raises `NotAllowedError`, in the same words for a code that never was, that was
    used, withdrawn, or has run out.
    """
    offered = Invitation.objects.filter(code_hash=keyed_hash("invitation", code))
    found = offered.values_list("incident_id", flat=True).first()
    if found is None:
        raise NoSuchInvitationError
    with one_transaction():
        incident = lock(found)
        # Again, under the lock: of two who bring the code at once one gets the part.
        invitation = offered.select_related("invited_by").get()
        _still_good(invitation, at)
        if person.agency_id is None:
            raise NotAllowedError("Only people of an agency take part.")
        if person.agency_id == incident.agency_id:
            raise NotAllowedError(
                "This invitation is for people of other agencies. The incident "
                "commander gives you a part without a code."
            )
        if IncidentRole.of(person, incident):
            raise NotAllowedError("You have a part in this incident already.")
        role, _ = IncidentRole.objects.update_or_create(
            incident=incident,
            person=person,
            defaults={
                "role": invitation.role,
                "mutual_aid": True,
                "given_by": invitation.invited_by,
                "given_at": at,
            },
        )
        invitation.accepted_by = person
        invitation.save(update_fields=["accepted_by"])
        invited = {"invited_by": invitation.invited_by.shown_name}
        _record(
            incident, _said(incident, person, invitation.role) | invited, person, at
        )
    return role


def _still_good(invitation: Invitation, at: datetime) -> None:
    if (
        invitation.accepted_by_id is not None
        or invitation.withdrawn_at is not None
        or invitation.good_until <= at
    ):
        raise NoSuchInvitationError


def _keep_a_commander(incident: Incident, *, without: Person) -> None:
    commanders = IncidentRole.objects.that_count().filter(
        incident=incident, role=permissions.COMMANDER
    )
    if not commanders.exclude(person=without).exists():
        raise NotAllowedError(
            "Somebody has to command the incident. Give command to someone first."
        )


def _said(incident: Incident, person: Person, role: str) -> dict[str, Any]:
    """What the log says of a part; the agency only where it is another."""
    said = {"id": person.pk, "name": person.shown_name, "role": role}
    if person.agency is not None and person.agency_id != incident.agency_id:
        said["agency"] = person.agency.name
    return said


def _record(
    incident: Incident, role: dict[str, Any], person: Person, at: datetime
) -> None:
    chain.add_record(
        incident=incident,
        kind=AMENDMENT,
        body=dumps({"setup": loads(incident.setup), "role": role}),
        client_uuid=chain.next_id(incident, AMENDMENT),
        observed_at=at,
        recorded_at=at,
        author=person,
    )
    save_head(incident)
