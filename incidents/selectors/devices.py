"""The phones of an incident, and what they sent that waits for a decision."""

from datetime import datetime
from uuid import UUID

from django.db.models import Q

from incidents.models import Device, DeviceEntry, Incident
from incidents.tokens import digest


def device_by_token(token: str) -> Device | None:
    """The device whose cookie this is, revoked or not. One indexed query."""
    return (
        Device.objects.select_related("incident__agency", "offered_by")
        .filter(token_hash=digest(token))
        .first()
    )


def devices_of(incident: Incident) -> list[Device]:
    """Every phone that was offered, the newest first."""
    rows = incident.devices.select_related("offered_by", "revoked_by")
    return list(rows.order_by("-offered_at", "pk"))


def device_in(incident: Incident, device_id: UUID) -> Device | None:
    """One phone of the incident."""
    return incident.devices.filter(pk=device_id).first()


def held_entries(incident: Incident) -> list[DeviceEntry]:
    """What waits for the commander, the oldest first."""
    return list(
        DeviceEntry.objects.filter(
            device__incident=incident, decision=DeviceEntry.Decision.WAITING
        )
        .select_related("device")
        .order_by("received_at", "pk")
    )


def held_words(incident: Incident, at: datetime | None = None) -> tuple[str, ...]:
    """What the sheet says of entries that wait for the commander; () for none.

    With `at`, of those that waited at a moment that is over.
    """
    rows = DeviceEntry.objects.filter(device__incident=incident)
    if at is None:
        rows = rows.filter(decision=DeviceEntry.Decision.WAITING)
    else:
        rows = rows.exclude(held_because="").filter(
            Q(decided_at=None) | Q(decided_at__gt=at), received_at__lte=at
        )
    count = rows.count()
    if not count:
        return ()
    entries = "One entry" if count == 1 else f"{count} entries"
    return (f"{entries} of a phone kept apart: decide under Phones.",)
