from uuid import UUID

from django.db.models import OuterRef, QuerySet, Subquery
from django.http import Http404

from incidents.models import Incident, IncidentRole, Person


def incidents_for(person: Person) -> QuerySet[Incident]:
    """The incidents that the person has a part in, newest first.

    Each carries `role`, the person's part in it.
    """
    if person.agency_id is None:
        return Incident.objects.none()
    role = IncidentRole.objects.filter(incident=OuterRef("pk"), person=person)
    return (
        Incident.objects.filter(agency_id=person.agency_id, roles__person=person)
        .annotate(role=Subquery(role.values("role")[:1]))
        .select_related("agency", "opened_by")
        .order_by("-opened_at", "pk")
    )


def get_incident_for(person: Person, pk: UUID) -> Incident:
    """The incident with the person's `role`, or 404 where they have no part in it."""
    incident = incidents_for(person).filter(pk=pk).first()
    if incident is None:
        raise Http404("No such incident.")
    return incident


def role_of(person: Person, incident: Incident) -> str:
    """The person's part: one of `IncidentRole.Role`, or "" for none."""
    return IncidentRole.of(person, incident)
