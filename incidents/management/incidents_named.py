"""What the commands share: the incident that a person named, or all of them."""

from uuid import UUID

from django.core.management.base import CommandError

from incidents.models import Incident


def incidents_named(text: str | None) -> list[Incident]:
    """One incident by its id, or every incident, oldest first."""
    if text is None:
        return list(Incident.objects.order_by("opened_at", "pk"))
    try:
        wanted = UUID(text)
    except ValueError as error:
        raise CommandError(f"{text!r} is no incident's id.") from error
    found = Incident.objects.filter(pk=wanted).first()
    if found is None:
        raise CommandError(f"There is no incident {wanted}.")
    return [found]
