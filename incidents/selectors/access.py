from datetime import datetime
from uuid import UUID

from django.core.exceptions import PermissionDenied
from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery, Value
from django.http import Http404

from incidents.models import (
    Drill,
    ImportedWorksheet,
    Incident,
    IncidentRole,
    Invitation,
    Person,
)


class DrillRunningError(PermissionDenied):
    """A drill is running, and this page would show the verdicts to its crew."""

    def __init__(self, pk: UUID) -> None:
        self.pk = pk
        super().__init__(
            "This drill is running. Its crew works on the page of the drill; all other "
            "pages of it open when it is over."
        )


def is_hidden_from(person: Person, incident: Incident) -> bool:
    """Whether this is a running drill that the person does not lead.

    Who reviews the agency's incidents and is not in the crew sees it, too.
    """
    if not incident.is_drill:
        return False
    drill = Drill.objects.filter(incident=incident, ended_at=None).first()
    if drill is None or drill.led_by_id == person.pk:
        return False
    reviews = person.reviews and person.agency_id == incident.agency_id
    return not reviews or drill.crew.filter(person=person).exists()


def is_scripted(incident: Incident) -> bool:
    """Whether a script says what happens in it, so that nobody else writes to it."""
    return incident.is_drill and Drill.objects.filter(incident=incident).exists()


def incidents_for(person: Person) -> QuerySet[Incident]:
    """The incidents that the person has a part in, newest first.

    Those of the person's own agency, and each of another that they were invited to.
    Each carries `role`, the person's part in it, and whether it `is_imported`.
    """
    roles = parts_of(person)
    here = roles.filter(incident=OuterRef("pk"))
    return (
        Incident.objects.filter(roles__in=roles)
        .annotate(
            role=Subquery(here.values("role")[:1]),
            is_imported=Exists(
                ImportedWorksheet.objects.filter(incident=OuterRef("pk"))
            ),
        )
        .select_related("agency", "opened_by")
        .order_by("-opened_at", "pk")
    )


def reviewed_by(person: Person) -> QuerySet[Incident]:
    """Every incident of the agency for who reviews them, drills too; else none.

    Newest first, with the same annotations as `incidents_for`; the role is that of a
    training officer, which lets nobody write.
    """
    if not person.reviews:
        return Incident.objects.none()
    return (
        Incident.objects.filter(agency=person.agency_id)
        .annotate(
            role=Value(IncidentRole.Role.TRAINING_OFFICER.value),
            is_imported=Exists(
                ImportedWorksheet.objects.filter(incident=OuterRef("pk"))
            ),
        )
        .select_related("agency", "opened_by")
        .order_by("-opened_at", "pk")
    )


def parts_of(person: Person) -> QuerySet[IncidentRole]:
    """The person's roles that let them in."""
    return IncidentRole.objects.that_count().filter(person=person)


def lets_in(person: Person) -> Q:
    """What of an incident lets a person see it: a part in it, or reviewing its agency."""
    part = Q(roles__in=parts_of(person))
    if not person.reviews:
        return part
    return part | Q(agency=person.agency_id)


def get_incident_for(person: Person, pk: UUID) -> Incident:
    """The incident with the person's `role`, or 404 where they have no part in it.

    Who reviews the agency's incidents sees those without a part, too, as its training
    officer would. Raises `DrillRunningError` for the crew of a drill that is running.
    """
    for rows in (incidents_for(person), reviewed_by(person)):
        incident = rows.select_related("sop").filter(pk=pk).first()
        if incident is not None:
            if is_hidden_from(person, incident):
                raise DrillRunningError(incident.pk)
            return incident
    raise Http404("No such incident.")


def may_see_incident(person: Person, pk: UUID) -> bool:
    """Whether the person has a part in it, and it is no drill that still hides it."""
    for rows in (incidents_for(person), reviewed_by(person)):
        incident = rows.filter(pk=pk).first()
        if incident is not None:
            return not is_hidden_from(person, incident)
    return False


def role_of(person: Person, incident: Incident) -> str:
    """The person's part: one of `IncidentRole.Role`, or "" for none."""
    return IncidentRole.of(person, incident)


def parts_in(incident: Incident) -> QuerySet[IncidentRole]:
    """The roles in the incident that let someone in."""
    return IncidentRole.objects.that_count().filter(incident=incident)


def people_of(incident: Incident) -> list[IncidentRole]:
    """Everyone with a part, with person and agency; commanders first. One query."""
    rows = parts_in(incident)
    order = IncidentRole.Role.values
    return sorted(
        rows.select_related("person__agency", "given_by"),
        key=lambda row: (order.index(row.role), row.person.shown_name, row.pk),
    )


def people_to_choose(incident: Incident, by: Person) -> list[Person]:
    """Whom this commander may give a part: the agency's people, and who was invited.

    A commander of another agency sees only who has a part already, no list of people.
    """
    shown = Q(roles__in=parts_in(incident))
    if by.agency_id == incident.agency_id:
        shown |= Q(agency=incident.agency_id)
    people = Person.objects.filter(shown, is_active=True).exclude(pk=by.pk)
    return list(people.select_related("agency").distinct().order_by("username"))


def invitations_of(incident: Incident, at: datetime) -> QuerySet[Invitation]:
    """Those whose codes still work."""
    return incident.invitations.filter(
        accepted_by=None, withdrawn_at=None, good_until__gt=at
    ).select_related("invited_by")


def commanded_alone(person: Person) -> list[str]:
    """Names of the open incidents that this person commands and nobody else does."""
    commands = IncidentRole.objects.filter(role=IncidentRole.Role.COMMANDER)
    others = commands.that_count().filter(incident=OuterRef("incident"))
    rows = commands.filter(person=person, incident__closed_at=None)
    alone = rows.exclude(Exists(others.exclude(person=person)))
    return list(alone.order_by("pk").values_list("incident__name", flat=True))
