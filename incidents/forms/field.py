"""What a phone of the warm zone sends: a batch of entries, each with its form's fields.

The phone keeps what was typed as the form has it. The same forms as those of the pages
make the entry of it here, so that nothing is read in two ways.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any, Final
from uuid import UUID

from django.http import QueryDict
from django.utils.dateparse import parse_datetime

from incidents.forms.entry import EntryChoices, EntryForm
from incidents.forms.photos import PhotoForm
from incidents.forms.readings import READING_FORMS
from incidents.services.devices import Sent

MOST: Final = 50
LONGEST_OFFSET: Final = timedelta(days=3650)
FORMS: Final[Mapping[str, type[EntryForm]]] = {
    **READING_FORMS,
    PhotoForm.kind: PhotoForm,
}


class BatchError(Exception):
    """The batch as a whole cannot be read; its words say where."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One entry as it came, before its form has read it."""

    client_uuid: UUID
    counter: int
    kind: str
    fields: Mapping[str, Any]
    device_at: datetime
    offset: timedelta  # to add to the device's clock; as it was last measured

    @property
    def observed_at(self) -> datetime:
        return self.device_at + self.offset


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    sent_at: datetime  # by the device's clock
    items: tuple[Item, ...]


def read_batch(content: bytes) -> Batch:
    """Raises `BatchError`. One item that is wrong makes the batch wrong: the phone's own
    program made it, so nobody could mend it there."""
    try:
        data = json.loads(content)
    except (ValueError, RecursionError) as error:
        raise BatchError(f"not JSON: {error}") from error
    if not isinstance(data, dict) or not isinstance(data.get("entries"), list):
        raise BatchError("/entries: expected a list")
    if len(data["entries"]) > MOST:
        raise BatchError(f"/entries: expected at most {MOST}")
    sent_at = _moment(data.get("sent_at"), "/sent_at")
    return Batch(sent_at=sent_at, items=read_items(data["entries"]))


def read_items(entries: list[Any]) -> tuple[Item, ...]:
    """Raises `BatchError` with the pointer of the first that is wrong."""
    return tuple(_item(raw, f"/entries/{number}") for number, raw in enumerate(entries))


def _item(raw: Any, pointer: str) -> Item:
    if not isinstance(raw, dict):
        raise BatchError(f"{pointer}: expected an object")
    kind, fields = raw.get("kind"), raw.get("fields")
    if not isinstance(kind, str) or kind not in FORMS:
        raise BatchError(f"{pointer}/kind: expected a kind of reading or a note")
    if not isinstance(fields, dict) or not all(
        isinstance(value, str) for value in fields.values()
    ):
        raise BatchError(f"{pointer}/fields: expected texts by name")
    return Item(
        client_uuid=_uuid(raw.get("uuid"), f"{pointer}/uuid"),
        counter=_whole(raw.get("n"), f"{pointer}/n", low=1),
        kind=kind,
        fields=fields,
        device_at=_moment(raw.get("device_at"), f"{pointer}/device_at"),
        offset=_offset(raw.get("offset_ms"), f"{pointer}/offset_ms"),
    )


def _uuid(value: Any, pointer: str) -> UUID:
    try:
        found = UUID(value) if isinstance(value, str) else None
    except ValueError:
        found = None
    if found is None or found.int == 0:
        raise BatchError(f"{pointer}: expected a UUID")
    return found


def _whole(value: Any, pointer: str, *, low: int) -> int:
    if (
        isinstance(value, bool)
        or not isinstance(value, int)
        or not (low <= value < 2**53)
    ):
        raise BatchError(f"{pointer}: expected a whole number")
    return value


def _offset(value: Any, pointer: str) -> timedelta:
    most = int(LONGEST_OFFSET.total_seconds() * 1000)
    number = _whole(value, pointer, low=-most)
    if number > most:
        raise BatchError(f"{pointer}: expected at most ten years")
    return timedelta(milliseconds=number)


def _moment(value: Any, pointer: str) -> datetime:
    try:
        moment = parse_datetime(value) if isinstance(value, str) else None
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is None or not 1971 < moment.year < 2199:
        raise BatchError(f"{pointer}: expected a date and time with its offset")
    return moment


def form_of(item: Item, team: str, choices: EntryChoices) -> EntryForm:
    """The page's own form, filled in as the phone had it, for the device's own team."""
    data = QueryDict(mutable=True)
    data.update(item.fields)
    data["client_uuid"] = str(item.client_uuid)
    data["team"] = team
    data["observed_at"] = ""
    then = replace(choices, now=item.observed_at)  # "at 14:02" is meant by that day
    return FORMS[item.kind](data, choices=then)


def sent_of(item: Item, form: EntryForm, sent_at: datetime, now: datetime) -> Sent:
    """What the form has read, with the device's time and what we know of its clock."""
    other = form.cleaned_data.get("other_time")
    body = {key: value for key, value in form.body().items() if key != "at"}
    return Sent(
        client_uuid=item.client_uuid,
        counter=item.counter,
        observed_at=other or item.observed_at,
        clock_moved=sent_at + item.offset - now,
        body=body,
        raw={
            "device_at": item.device_at.isoformat(),
            "offset_ms": int(item.offset.total_seconds() * 1000),
        },
    )
