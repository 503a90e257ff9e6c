"""What is stored beside a log, held against the log: whoever changes a row changes a page.

The rows of an incident, its teams and its people are not in the chain of hashes; what they
say is, in the opening and the amendments. The same holds for the file of an import.
"""

import hashlib
from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any, TypeAlias

from incidents.models import EntryTeam, ImportedWorksheet, Incident

Difference: TypeAlias = tuple[str, object, object]  # what, by the log, as stored


def differences(
    incident: Incident,
    opening: Mapping[str, Any],
    opened_at: datetime,
    setup: Mapping[str, Any],
    names: Mapping[str, str],
) -> Iterator[Difference]:
    """Each thing that a row says otherwise than the log. Three queries."""
    name = " ".join(str(setup["incident"]["name"]).split())[:200]
    yield from _unlike("the name", name, incident.name)
    yield from _unlike(
        "the place", opening.get("location", incident.location), incident.location
    )
    yield from _unlike("whether a drill", bool(opening.get("drill")), incident.is_drill)
    yield from _unlike("the opening", opened_at, incident.opened_at)
    yield from _of_teams(incident, setup, names)
    yield from _of_file(incident, opening)


def _unlike(what: str, said: object, stored: object) -> Iterator[Difference]:
    if said != stored:
        yield what, said, stored


def _of_teams(
    incident: Incident, setup: Mapping[str, Any], names: Mapping[str, str]
) -> Iterator[Difference]:
    said = {team["id"]: team for team in setup["teams"]}
    rows = EntryTeam.objects.filter(incident=incident).prefetch_related("members")
    stored = {row.key: row for row in rows}
    yield from _unlike("the teams", sorted(said), sorted(stored))
    for key in said.keys() & stored.keys():
        row, team = stored[key], said[key]
        yield from _unlike(f"team {key}", names.get(key, row.name), row.name)
        worn = (team["role"], team["ensemble"])
        yield from _unlike(f"team {key}", worn, (row.role, row.ensemble))
        people = {
            one["id"]: names.get(f"{key}/{one['id']}")
            for one in team.get("members", ())
        }
        there = {one.key: one.name for one in row.members.all()}
        wanted = {one: name or there.get(one) for one, name in people.items()}
        yield from _unlike(f"the people of team {key}", wanted, there)


def _of_file(incident: Incident, opening: Mapping[str, Any]) -> Iterator[Difference]:
    kept = ImportedWorksheet.objects.filter(incident=incident).first()
    yield from _unlike(
        "whether imported", bool(opening.get("imported")), kept is not None
    )
    if kept is None:
        return
    digest = hashlib.sha256(bytes(kept.file)).hexdigest()
    # Imports of before have no hash of the file in the log.
    yield from _unlike(
        "the imported file", opening.get("file_sha256", kept.sha256), digest
    )
