"""The end of an employment is recorded; an incident is never deleted."""

from datetime import date, datetime
from typing import Never
from uuid import UUID

from incidents.medical import code_of
from incidents.models import EmploymentEnd, Incident, Person
from incidents.services.errors import KeptError, NotAllowedError
from incidents.services.typed import refused, typed


def record_employment_end(
    *, person: Person, name: str, ended_on: date | None, at: datetime
) -> EmploymentEnd:
    """Record when somebody left the agency; None takes that back.

    Whoever runs the agency does it. The name is the one in the incidents' teams.
    """
    if person.agency is None or not (person.is_active and person.is_agency_owner):
        raise NotAllowedError("Who runs the agency records when somebody left it.")
    words = typed(name, "/name", longest=120, one_line=True, needed="whose employment")
    if ended_on is not None and ended_on > at.date():
        raise refused("/ended_on", "a day that has come")
    return EmploymentEnd.objects.create(
        agency=person.agency,
        person_name=words,
        person_code=code_of(words),
        ended_on=ended_on,
        recorded_at=at,
        recorded_by=person,
    )


def delete_incident(*, incident_id: UUID, person: Person) -> Never:
    """Refuse: `KeptError` says why. There is no way to delete an incident.

    It stands here for whoever looks for one; the database refuses it as well.
    """
    incident = Incident.objects.get(pk=incident_id)
    raise KeptError(
        f"{incident.name} is kept for thirty years past the employment of everyone in "
        "it (29 CFR 1910.1020(d)(1)). Nothing of it is deleted."
    )
