"""Heard: what ends an alarm's sound, and says who answered it and when."""

from typing import Any

from incidents.alarms import Alarm, Item, alarms_of, named, rows_to_hear
from incidents.kept_alarms import item_document, kept_alarms
from incidents.models.log import HEARD
from incidents.services.entries import Appended, append_entry
from incidents.services.errors import AlreadyDoneError
from incidents.services.records import Sent, Writing, writing_to
from incidents.services.typed import refused
from screening.verdicts import Action


def hear(*, alarm: str, seen: Action, **sent: Any) -> Appended:
    """Hear all of one alarm that was as severe as `seen`; what is worse stays open.

    `alarm` is `Alarm.key`, `sent` are the fields of `records.Sent`. Raises
    `AlreadyDoneError` where somebody heard it before, and what `append_entry` raises.
    """
    given = Sent(**sent)
    with writing_to(given, "acknowledge") as writing:
        kept = kept_alarms(writing.incident)
        standing = {each.key: each for each in alarms_of(writing.view(), kept)}
        one = standing.get(alarm)
        if one is None:
            raise refused("/alarm", "an alarm that stands; this one has ended since")
        if not one.unheard and one.heard is not None:
            raise AlreadyDoneError("Heard before", by=one.heard.by, at=one.heard.at)
        items = [item for item in one.unheard if item.action <= seen]
        if not items:
            raise refused("/alarm", f"a look at it again: it is {one.action.label} now")
        rows = rows_to_hear(one, items, kept)
        if not rows:
            return _by_time(writing, one, items)
        return append_entry(
            incident_id=given.incident_id,
            person=given.person,
            body={
                "kind": "acknowledge",
                "at": given.at.isoformat(),
                "entry": rows[-1].entry,
                "note": named(one),
            },
            client_uuid=given.client_uuid,
            recorded_at=given.recorded_at,
            device=given.device,
            hears=[row.pk for row in rows],
        )


def _by_time(writing: Writing, one: Alarm, items: list[Item]) -> Appended:
    """What has no entry of its own is heard by a record that names it."""
    record = Writing(writing.incident, writing.sent, HEARD)
    return record.keep(
        {
            "because": one.because,
            "hazard": one.hazard.value,
            "items": [item_document(item) for item in items],
        }
    )
