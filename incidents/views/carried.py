"""What a form starts with: the choices of the incident and what was said last time."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils import timezone

from incidents import selectors
from incidents.documents import loads
from incidents.forms.entry import EntryChoices
from incidents.models import Incident, Person
from incidents.selectors import LogRow
from incidents.services.permissions import READING_KINDS
from incidents.views.access import zone_of

LOOKED_BACK = 60  # rows of the log, for places and for what was said last
# Fields that the next entry of the same kind most likely shares.
CARRIED = ("sample", "carried_on", "target", "container", "height")


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    choices: EntryChoices
    rows: list[LogRow]  # newest first


def carried_of(incident: Incident) -> Carried:
    rows = selectors.log_rows(incident, limit=LOOKED_BACK)
    return Carried(choices=_choices(incident, rows, timezone.now()), rows=rows)


def _choices(incident: Incident, rows: list[LogRow], now: datetime) -> EntryChoices:
    teams = list(incident.teams.prefetch_related("members"))
    instruments: dict[str, list[tuple[str, str]]] = defaultdict(list)
    labels = dict(incident.agency.instruments.values_list("key", "label"))
    for instrument in loads(incident.setup).get("instruments", ()):
        key = instrument["id"]
        instruments[instrument["kind"]].append((key, labels.get(key, key)))
    return EntryChoices(
        now=now,
        zone=zone_of(incident),
        teams=tuple((team.key, team.name) for team in teams),
        members={
            team.key: tuple((m.key, m.name) for m in team.members.all())
            for team in teams
        },
        instruments={kind: tuple(pairs) for kind, pairs in instruments.items()},
        places=_distinct(rows, "place"),
        containers=_distinct(rows, "container"),
    )


def _distinct(rows: list[LogRow], field: str) -> tuple[str, ...]:
    return tuple(
        dict.fromkeys(str(row.body[field]) for row in rows if row.body.get(field))
    )


def start_of(
    carried: Carried, person: Person, kind: str, team: str = ""
) -> dict[str, Any]:
    """What the form says before anyone touches it; never a figure, and never "wet"."""
    own = _latest(carried.rows, author=person) or {}
    chosen = team or str(own.get("team", ""))
    start: dict[str, Any] = {"sample": "vapour", "team": chosen}
    of_team = _latest(carried.rows, team=chosen) if chosen else None
    start["place"] = (of_team or {}).get("place", "")
    same = _latest(carried.rows, kind=kind, team=chosen) or {}
    start |= {key: same[key] for key in CARRIED if key in same}
    start |= _units(_latest(carried.rows, kind=kind) or {}, kind)
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
    rows: list[LogRow], *, author: Person | None = None, kind: str = "", team: str = ""
) -> Mapping[str, Any] | None:
    for row in rows:
        if row.entry.kind not in READING_KINDS:
            continue
        if author is not None and row.entry.author_id != author.pk:
            continue
        if kind and row.entry.kind != kind:
            continue
        if team and row.body.get("team") != team:
            continue
        return row.body
    return None
