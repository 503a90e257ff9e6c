"""The sealed report of an incident: collected from the log, built, signed, kept."""

import hashlib
from collections.abc import Iterable
from datetime import datetime
from typing import TYPE_CHECKING, Final
from uuid import UUID
from zoneinfo import ZoneInfo

from django.conf import settings

from incidents import engine
from incidents.documents import dumps, loads
from incidents.house_rules import loosened
from incidents.models import (
    Incident,
    LogEntry,
    Person,
    Report,
    SigningKey,
)
from incidents.models.log import (
    AMENDMENT,
    CLOSING,
    DEVICE,
    OPENING,
    PHOTO_ARRIVED,
    PLAN,
    REOPENING,
    WRITTEN_KINDS,
)
from incidents.moments import ended_at
from incidents.own_words import say
from incidents.part_words import say_part
from incidents.plan_history import PlanHistory, history_of
from incidents.plans import around, words_of_row
from incidents.services import permissions, profiles
from incidents.services.errors import NotAllowedError
from incidents.services.locking import (
    by_its_script,
    lock,
    one_transaction,
    save_head,
)
from incidents.services.report_photos import photo_lines
from incidents.services.signing_keys import (
    list_of_revoked,
    signer_of,
    signing_key_of,
)
from incidents.sign_offs import missing_of, sign_offs_of
from incidents.time_server import time_server
from incidents.worksheet import worksheet_document
from reports.data import ChainHead
from reports.record import EntryRecord, IncidentRecord, OwnRecord

if TYPE_CHECKING:
    from reports.signing import Sealed, TimeStampServer

# Building takes seconds, and readings must not wait for it: it is done without the
# lock, and again if the log has moved on meanwhile. The last attempt holds the lock.
ATTEMPTS: Final = 3

_WORDS: Final = {
    OPENING: "Incident opened.",
    AMENDMENT: "Set-up amended.",
    CLOSING: "Incident closed.",
    REOPENING: "Incident opened again.",
}


def make_report(*, incident_id: UUID, person: Person, at: datetime) -> Report:
    """Build, sign and keep the report of the log as it stands.

    Raises `NotAllowedError`, and `reports.keys.SigningError` where the stored key
    cannot be opened.
    """
    incident = Incident.objects.select_related("agency", "opened_by", "closed_by").get(
        pk=incident_id
    )
    if not permissions.may_report(permissions.require_role(person, incident)):
        raise NotAllowedError("Your part in this incident does not carry its report.")
    key = signing_key_of(agency=incident.agency, at=at)
    for _ in range(ATTEMPTS - 1):
        sealed = _sealed(incident, person, at, key, time_server())
        with one_transaction():
            now = _locked(incident_id)
            if now.revision == incident.revision:
                return _keep(now, person, at, sealed, key.fingerprint)
        incident.refresh_from_db()
    with one_transaction():
        now = _locked(incident_id)
        # While readings wait for the lock nothing is asked of another server.
        sealed = _sealed(now, person, at, key, None)
        return _keep(now, person, at, sealed, key.fingerprint)


def _locked(incident_id: UUID) -> Incident:
    """A report changes nothing of a record, so a drill takes one as well."""
    with by_its_script(incident_id):
        return lock(incident_id)


def _keep(
    incident: Incident, person: Person, at: datetime, sealed: "Sealed", fingerprint: str
) -> Report:
    report = Report.objects.create(
        incident=incident,
        created_at=at,
        created_by=person,
        pdf=sealed.pdf,
        sha256=hashlib.sha256(sealed.pdf).hexdigest(),
        head_seq=incident.head_seq,
        head_hash=incident.head_hash,
        certificate_fingerprint=fingerprint,
        level=sealed.level,
        clock=sealed.clock[:300],
    )
    save_head(incident)
    return report


def _sealed(
    incident: Incident,
    person: Person,
    at: datetime,
    key: SigningKey,
    server: "TimeStampServer | None",
) -> "Sealed":
    from reports import signing

    pdf, record = report_body(incident, person, at)
    return signing.sign_pdf(
        pdf,
        signer_of(key),
        passphrase=settings.SIGNING_PASSPHRASE,
        at=at.astimezone(record.zone),  # the box on the page prints it
        head=record.head,
        signed_for=person.shown_name,
        time_stamps=server,
        revocations=list_of_revoked(key, at) if server else b"",
    )


def report_body(
    incident: Incident, person: Person, at: datetime
) -> tuple[bytes, IncidentRecord]:
    """The report before it is signed: the same bytes for the same log, person and time."""
    from reports import after_action, archival, chain
    from reports.from_worksheet import report_data
    from screening.worksheet import load_json

    rows = list(_rows(incident))
    worksheet = dumps(worksheet_document(incident)).encode()
    record = _record(incident, rows, person, at)
    data = report_data(load_json(worksheet), made_at=at, record=record)
    canonical = chain.chain_document(bytes(row.canonical) for row in rows)
    files = archival.sources(worksheet, canonical)
    return after_action.build(data, attachments=files), record


def _rows(incident: Incident) -> Iterable[LogEntry]:
    rows = incident.entries.filter(seq__lte=incident.head_seq).order_by("seq")
    return rows.prefetch_related("findings")


def _record(
    incident: Incident, rows: list[LogEntry], person: Person, at: datetime
) -> IncidentRecord:
    names = _instrument_names(incident) | engine.names_of(rows)
    zone = ZoneInfo(incident.agency.time_zone)
    planned = history_of(rows, around(incident), ended_at(incident) or at)
    photos = photo_lines(incident, rows, names)
    here = {photo.seq: photo.state for photo in photos}
    offs = sign_offs_of(incident)
    return IncidentRecord(
        agency=incident.agency.name,
        location=incident.location,
        zone=zone,
        opened_at=incident.opened_at,
        opened_by=rows[0].author_name,
        closed_at=incident.closed_at,
        demo=incident.is_demo,
        drill=incident.is_drill,
        names=names,
        entries=_entry_records(rows, planned),
        plan_actions=planned.actions,
        plan_standing=planned.standing,
        own=[
            _own_record(row, names, zone, here.get(row.seq))
            for row in rows
            if not row.is_for_engine
        ],
        photos=photos,
        head=ChainHead(seq=incident.head_seq, sha256=incident.head_hash),
        sign_offs=offs,
        missing_sign_offs=missing_of(incident, offs),
        made_by=person.shown_name,
        approval=profiles.approval_words(incident.sop),
        reasons=engine.reasons_of(rows),
        looser=loosened(incident.sop),
    )


def _instrument_names(incident: Incident) -> dict[str, str]:
    return dict(incident.agency.instruments.values_list("key", "label"))


def _entry_records(
    rows: list[LogEntry], planned: PlanHistory
) -> dict[str, EntryRecord]:
    records: dict[str, EntryRecord] = {}
    newest: engine.Order | None = None
    for row in rows:
        if not row.is_for_engine:
            continue
        order = engine.order_of(row)
        late = newest is not None and order < newest
        newest = order if newest is None else max(newest, order)
        kept = list(row.findings.all())
        records[row.key] = EntryRecord(
            seq=row.seq,
            recorded_at=row.recorded_at,
            author=row.author_name,
            late=late,
            findings=(
                *(each.as_said(row) for each in kept if not each.superseded),
                *planned.found.get(row.key, ()),
            ),
            superseded=tuple(each.as_said(row) for each in kept if each.superseded),
        )
    return records


def _own_record(
    row: LogEntry, names: dict[str, str], zone: ZoneInfo, photo: str | None
) -> OwnRecord:
    """`photo` says what became of the one that it names; None for what names none."""
    if row.kind == PLAN:
        return _plan_record(row, names, zone)
    body = loads(row.body)
    if row.kind in WRITTEN_KINDS:
        words = say(row.kind, body, names)
        if photo == "":
            words += ". See Photos"
        elif photo is not None:
            words += f". {photo} (SHA-256 {body['photo']['sha256']})"
        return _written(row, words)
    words = _WORDS.get(row.kind, "")
    if row.kind == PHOTO_ARRIVED:
        words = f"Photo received (SHA-256 {body['sha256']})."
    if row.kind == DEVICE:
        words = f"Phone {body['device']}: {body['step']}."
    out = [f"{each['name']}, {each['where']}" for each in body.get("not_in", ())]
    if out:
        words += f" Neither in the cold zone nor gone: {'; '.join(out)}."
    given = body.get("role")
    if "sop_before" in body:
        words = f"{profiles.change_words(body)}."
    if given is not None:
        words = f"{say_part(given)}."
    return OwnRecord(
        seq=row.seq,
        at=row.observed_at,
        recorded_at=row.recorded_at,
        words=words,
        author=row.author_name,
        note=body.get("reason", ""),
    )


def _plan_record(row: LogEntry, names: dict[str, str], zone: ZoneInfo) -> OwnRecord:
    return _written(row, f"Plan. {words_of_row(row, names, zone)}.")


def _written(row: LogEntry, words: str) -> OwnRecord:
    return OwnRecord(
        seq=row.seq,
        at=row.observed_at,
        recorded_at=row.recorded_at,
        words=words,
        author=row.author_name,
        note="",
    )
