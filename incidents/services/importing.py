"""A worksheet of another agency becomes an incident that can be read and not written to.

All of it or nothing. The file's own bytes are kept: they are what an export gives. In the
log its ids become UUIDs, which the record needs; each id gives the same one always.
"""

import hashlib
from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any, Final
from uuid import UUID, uuid4

from django.db.models import Q

from incidents import engine
from incidents.documents import dumps
from incidents.models import (
    Agency,
    ImportedWorksheet,
    Incident,
    IncidentRole,
    LogEntry,
    Person,
)
from incidents.models.log import CLOSING, OPENING
from incidents.services import chain, findings, permissions
from incidents.services.entries import note_answers
from incidents.services.errors import EntryRefusedError, NotAllowedError
from incidents.services.locking import one_transaction, save_head
from incidents.services.setup import add_team_rows
from incidents.statements import said
from screening.incident import Worksheet
from screening.worksheet import (
    DocumentError,
    WorksheetErrors,
    load_json,
    parse_entry,
    parse_worksheet,
)

# Fields of an entry that name it or another.
_POINTING: Final = ("id", "entry")
DEVICE: Final = "Imported worksheet"
LONGEST_ID: Final = 60  # of a team or a member, as EntryTeam and Member keep it


def import_worksheet(
    *, file: bytes, person: Person, agency: Agency, at: datetime
) -> Incident:
    """Keep a worksheet document as a closed, read-only incident of the agency.

    Raises `EntryRefusedError` with every error of the document.
    """
    if person.agency != agency:
        raise NotAllowedError("You may import worksheets for your own agency only.")
    try:
        document = load_json(file)
        worksheet = parse_worksheet(document)
    except WorksheetErrors as error:
        raise EntryRefusedError(error.errors) from error
    if too_long := tuple(_long_ids(document)):
        raise EntryRefusedError(too_long)
    with one_transaction():
        digest = hashlib.sha256(file).hexdigest()
        incident = _stored(document, worksheet, person, agency, at, digest)
        ImportedWorksheet.objects.create(
            incident=incident,
            file=file,
            sha256=digest,
            imported_at=at,
            imported_by=person,
        )
        _let_in(incident, person, agency, at)
    return incident


def _long_ids(document: Mapping[str, Any]) -> Iterator[DocumentError]:
    """Ids of teams and members that the tables here have no place for."""
    for place, team in enumerate(document["teams"]):
        pointer = f"/teams/{place}"
        named = [(f"{pointer}/id", team["id"])]
        for number, member in enumerate(team.get("members", ())):
            named.append((f"{pointer}/members/{number}/id", member["id"]))
        for where, text in named:
            if len(text) > LONGEST_ID:
                words = f"an id of at most {LONGEST_ID} characters, to import it here"
                value = f"{len(text)} characters"
                yield DocumentError(pointer=where, value=value, expected=words)


def importer_of(agency: Agency) -> Person:
    """Who the command's imports are put down to; nobody can sign in as them."""
    name = f"import-{agency.pk}"
    person, made = Person.objects.get_or_create(
        username=name,
        defaults={"agency": agency, "display_name": "Import", "is_active": False},
    )
    if made:
        person.set_unusable_password()
        person.save(update_fields=["password"])
    return person


def _stored(
    document: dict[str, Any],
    worksheet: Worksheet,
    person: Person,
    agency: Agency,
    at: datetime,
    digest: str,
) -> Incident:
    about = document["incident"]
    times = [entry.at for entry in worksheet.log]
    own = ("log", "drill")
    setup = {key: value for key, value in document.items() if key not in own}
    incident = Incident.objects.create(
        agency=agency,
        name=" ".join(about["name"].split())[:200],
        mission=str(about.get("mission", "")),
        opened_at=min([*times, at]),
        opened_by=person,
        setup=dumps(setup),
        is_drill="drill" in document,
    )
    names = _names(setup)
    for team in setup["teams"]:
        add_team_rows(incident, team, names)
    opening = {
        "setup": setup,
        "location": "",
        "names": names,
        "imported": True,
        "file_sha256": digest,
    }
    if incident.is_drill:
        opening["drill"] = True
    _record(incident, OPENING, dumps(opening), uuid4(), incident.opened_at, at, person)
    _log(incident, document["log"], person, at)
    closing = dumps({"reason": "Imported, to be read only", "by": person.shown_name})
    last = _record(incident, CLOSING, closing, uuid4(), at, at, person)
    incident.closed_at, incident.closed_by = last.recorded_at, person
    save_head(incident, "closed_at", "closed_by")
    return incident


def _names(setup: Mapping[str, Any]) -> dict[str, str]:
    """The document has ids alone: they are the names, too."""
    names: dict[str, str] = {}
    for team in setup["teams"]:
        names[team["id"]] = team["id"]
        for member in team.get("members", ()):
            names[f"{team['id']}/{member['id']}"] = member["id"]
    return names


def _log(
    incident: Incident, log: list[dict[str, Any]], person: Person, at: datetime
) -> None:
    """Each entry in the file's order, then what the engine finds in all of them."""
    rows: dict[str, LogEntry] = {}
    context = engine.live(incident).context
    ids = uuids_of([raw["id"] for raw in log])
    for raw in log:
        body = {
            key: ids[value] if key in _POINTING else value for key, value in raw.items()
        }
        entry = parse_entry(load_json(dumps(body)), context)
        row = _record(
            incident, entry.kind, dumps(body), UUID(body["id"]), entry.at, at, person
        )
        rows[row.key] = row
    now, found = engine.replay(list(incident.entries.order_by("seq")))
    for row in sorted(rows.values(), key=engine.order_of):
        entry = parse_entry(load_json(row.body), context)
        findings.store(
            entry=row,
            findings=[said(row.key, each) for each in found[row.key]],
            by=person,
            raised_by=row,
        )
        note_answers(incident, row, entry, person, found[row.key])


def uuids_of(ids: list[str]) -> dict[str, str]:
    """A UUID for each id, in the same order: of entries at one moment the engine takes
    the lower id first. Where all are UUIDs in their usual spelling they stay.
    """
    if all(_is_uuid(text) for text in ids):
        return {text: text for text in ids}
    found = {}
    for rank, text in enumerate(sorted(ids)):
        digest = hashlib.sha256(text.encode()).digest()
        found[text] = str(UUID(bytes=rank.to_bytes(4) + digest[:12], version=5))
    return found


def _is_uuid(text: str) -> bool:
    try:
        return str(UUID(text)) == text
    except ValueError:
        return False


def _record(
    incident: Incident,
    kind: str,
    body: str,
    key: UUID,
    observed_at: datetime,
    at: datetime,
    person: Person,
) -> LogEntry:
    return chain.add_record(
        incident=incident,
        kind=kind,
        body=body,
        client_uuid=key,
        observed_at=observed_at,
        recorded_at=at,
        author=person,
        device=DEVICE,
    )


def _let_in(incident: Incident, person: Person, agency: Agency, at: datetime) -> None:
    """Who imported it may read it, and who may open incidents; nobody commands it."""
    people = agency.people.filter(is_active=True)
    IncidentRole.objects.bulk_create(
        IncidentRole(
            incident=incident,
            person=each,
            role=permissions.VIEWER,
            given_by=person,
            given_at=at,
        )
        for each in people.filter(Q(may_open=True) | Q(pk=person.pk))
    )
