"""People sign off what the log says, before the agency's key signs the report."""

from collections.abc import Mapping
from datetime import datetime
from typing import Final
from uuid import UUID

from incidents.documents import dumps, loads
from incidents.models import IncidentRole, LogEntry, Person
from incidents.models.log import SIGN_OFF
from incidents.services import chain, permissions
from incidents.services.errors import AlreadyDoneError, NotAllowedError
from incidents.services.locking import lock, one_transaction, save_head
from incidents.services.typed import refused, typed
from incidents.sign_offs import standing_answer

LONGEST_DISSENT: Final = 2000


def sign_off(
    *,
    incident_id: UUID,
    person: Person,
    client_uuid: UUID,
    at: datetime,
    dissents: bool = False,
    dissent: str = "",
) -> LogEntry:
    """Record that the person stands for the log so far, in the part that they have.

    Also in a closed incident: the report is made after closing. `dissent` is what the
    person does not stand for, and is needed where they say that they dissent. The same
    `client_uuid` again gives the first record again.

    One answer counts for each person and stretch of the log: the same once more raises
    `AlreadyDoneError`, another one takes the place of the first, and both are shown.
    """
    words = typed(
        dissent,
        "/dissent",
        longest=LONGEST_DISSENT,
        needed="what you do not stand for" if dissents else "",
    )
    if words and not dissents:
        raise refused("/dissent", "no words where you stand for all of it")
    with one_transaction():
        incident = lock(incident_id)
        role = permissions.require_role(person, incident)
        if not permissions.may_sign_off(role):
            raise NotAllowedError("Your part in this incident is to read only.")
        known = incident.entries.filter(client_uuid=client_uuid).first()
        if known is not None:
            return known
        body = {
            "role": IncidentRole.Role(role).label,
            "dissent": words,
            "by": person.shown_name,
        }
        said = {**body, **_in_place_of(standing_answer(incident, person), body)}
        row = chain.add_record(
            incident=incident,
            kind=SIGN_OFF,
            body=dumps({key: value for key, value in said.items() if value}),
            client_uuid=client_uuid,
            observed_at=at,
            recorded_at=at,
            author=person,
        )
        save_head(incident)
        return row


def _in_place_of(before: LogEntry | None, body: Mapping[str, str]) -> dict[str, int]:
    """The record that the answer takes the place of.

    Raises `AlreadyDoneError` where it says the same.
    """
    if before is None:
        return {}
    said = loads(before.body)
    if all(said.get(key, "") == value for key, value in body.items()):
        raise AlreadyDoneError(
            f"You have answered so for all of these entries, in entry {before.seq}.",
            by=before.author_name,
            at=before.recorded_at,
        )
    return {"replaces": before.seq}
