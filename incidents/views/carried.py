"""What a form starts with: the choices of the incident and what was said last time."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from uuid import UUID

from django.utils import timezone

from incidents.documents import loads
from incidents.forms.entry import EntryChoices
from incidents.forms.instruments import SENSORS
from incidents.models import Incident, LogEntry, Person
from incidents.services.permissions import READING_KINDS
from incidents.views.access import zone_of
from incidents.views.words import names_of

LOOKED_BACK = 60  # rows of the log, for places and for what was said last
# Fields that the next entry of the same kind most likely shares.
CARRIED = ("sample", "carried_on", "target", "container", "height")
# The same on a phone, by the fields of the forms.
CARRIED_ON_PHONE = (
    *CARRIED, "place", "instrument", "member", "unit", "dose_rate_unit", "dose_unit",
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """One entry, as far as the next one may take from it."""

    kind: str
    author: int
    key: str
    body: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    choices: EntryChoices
    said: tuple[Said, ...]  # newest first, without what was put right

    def and_then(self, entry: LogEntry) -> "Carried":
        """The same after one more entry, without asking the database again."""
        said = (_said(entry.kind, entry.author_id, entry.client_uuid, entry.body),)
        return replace(self, said=said + self.said)


def carried_of(incident: Incident) -> Carried:
    """Two queries at most, once the names are known."""
    rows = incident.entries.order_by("-seq").values_list(
        "kind", "author_id", "client_uuid", "body"
    )
    said = tuple(_said(*row) for row in rows[:LOOKED_BACK])
    struck = {str(one.body["entry"]) for one in said if one.kind == "strike"}
    standing = tuple(one for one in said if one.key not in struck)
    choices = _choices(incident, standing, timezone.now())
    return Carried(choices=choices, said=standing)


def _said(kind: str, author: int, client_uuid: UUID, body: str) -> Said:
    return Said(kind=kind, author=author, key=str(client_uuid), body=loads(body))


def _choices(incident: Incident, said: tuple[Said, ...], now: datetime) -> EntryChoices:
    names = names_of(incident)
    return EntryChoices(
        now=now,
        zone=zone_of(incident),
        teams=tuple(names.teams.items()),
        members={key: tuple(of.items()) for key, of in names.members.items()},
        instruments=_instruments(incident),
        places=_distinct(said, "place"),
        containers=_distinct(said, "container"),
    )


def _instruments(incident: Incident) -> dict[str, tuple[tuple[str, str], ...]]:
    taken = loads(incident.setup).get("instruments", ())
    if not taken:
        return {}
    labels = dict(incident.agency.instruments.values_list("key", "label"))
    by_kind: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for instrument in taken:
        key = instrument["id"]
        by_kind[instrument["kind"]].append((key, labels.get(key, key)))
    return {kind: tuple(pairs) for kind, pairs in by_kind.items()}


def _distinct(said: tuple[Said, ...], field: str) -> tuple[str, ...]:
    values = (str(one.body[field]) for one in said if one.body.get(field))
    return tuple(dict.fromkeys(values))


def start_of(
    carried: Carried, person: Person, kind: str, team: str = ""
) -> dict[str, Any]:
    """What the form says before anyone touches it; never a figure, and never "wet"."""
    own = _latest(carried.said, author=person.pk) or {}
    chosen = team or str(own.get("team", ""))
    start: dict[str, Any] = {"sample": "vapour", "team": chosen}
    of_team = _latest(carried.said, team=chosen) if chosen else None
    start["place"] = (of_team or {}).get("place", "")
    same = _latest(carried.said, kind=kind, team=chosen) or {}
    start |= {key: same[key] for key in CARRIED if key in same}
    start |= _units(_latest(carried.said, kind=kind) or {}, kind)
    if same.get("instrument"):
        start["instrument"] = same["instrument"]
    return start


def _units(body: Mapping[str, Any], kind: str) -> dict[str, str]:
    units = {
        f"{name}_unit": str(body[name]["unit"])
        for name in ("dose_rate", "dose")
        if name in body
    }
    for name in ("surface", "pressure"):
        if name in body:
            units["unit"] = str(body[name]["unit"])
    if kind == "air_check":
        units.setdefault("unit", "psi")
    return units


def _latest(
    said: tuple[Said, ...], *, author: int = 0, kind: str = "", team: str = ""
) -> Mapping[str, Any] | None:
    for one in said:
        if one.kind not in READING_KINDS:
            continue
        if author and one.author != author:
            continue
        if kind and one.kind != kind:
            continue
        if team and one.body.get("team") != team:
            continue
        return one.body
    return None


def last_figures(carried: Carried, team: str) -> dict[str, str]:
    """What this team's meter showed last, by the fields of the form; {} for nothing."""
    body = _latest(carried.said, kind="gas_meter", team=team) if team else None
    return {
        name: str(body[name])
        for name, *_ in SENSORS
        if body is not None and name in body
    }
