"""The sealed report of an incident: collected from the log, built, signed, kept."""

import hashlib
from collections.abc import Iterable
from datetime import datetime
from typing import Final
from uuid import UUID
from zoneinfo import ZoneInfo

from django.conf import settings

from incidents import engine
from incidents.documents import dumps, loads
from incidents.models import (
    Incident,
    LogEntry,
    Person,
    Report,
    SigningKey,
    StoredFinding,
)
from incidents.models.log import AMENDMENT, CLOSING, OPENING, REOPENING
from incidents.services import permissions
from incidents.services.errors import NotAllowedError
from incidents.services.locking import lock, one_transaction, save_head
from incidents.services.signing_keys import signing_key_of
from incidents.worksheet import worksheet_document
from reports.data import ChainHead, SignOff
from reports.record import EntryRecord, IncidentRecord, OwnRecord
from screening.verdicts import Action, Finding, Hazard

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
        pdf = _sealed(incident, person, at, key)
        with one_transaction():
            now = lock(incident_id)
            if now.revision == incident.revision:
                return _keep(now, person, at, pdf, key.fingerprint)
        incident.refresh_from_db()
    with one_transaction():
        now = lock(incident_id)
        pdf = _sealed(now, person, at, key)
        return _keep(now, person, at, pdf, key.fingerprint)


def _keep(
    incident: Incident, person: Person, at: datetime, pdf: bytes, fingerprint: str
) -> Report:
    report = Report.objects.create(
        incident=incident,
        created_at=at,
        created_by=person,
        pdf=pdf,
        sha256=hashlib.sha256(pdf).hexdigest(),
        head_seq=incident.head_seq,
        head_hash=incident.head_hash,
        certificate_fingerprint=fingerprint,
    )
    save_head(incident)
    return report


def _sealed(incident: Incident, person: Person, at: datetime, key: SigningKey) -> bytes:
    from reports import after_action, chain, signing
    from reports.from_worksheet import report_data
    from screening.worksheet import load_json

    rows = list(_rows(incident))
    worksheet = dumps(worksheet_document(incident)).encode()
    record = _record(incident, rows, person, at)
    data = report_data(load_json(worksheet), made_at=at, record=record)
    canonical = chain.chain_document(bytes(row.canonical) for row in rows)
    return signing.sign_pdf(
        after_action.build(data),
        signing.Signer(
            certificate=bytes(key.certificate),
            encrypted_key=bytes(key.encrypted_key),
            root_certificate=bytes(key.root_certificate),
        ),
        passphrase=settings.SIGNING_PASSPHRASE,
        at=at.astimezone(record.zone),  # the box on the page prints it
        attachments=signing.sources(worksheet, canonical),
        head=record.head,
        signed_for=person.shown_name,
    )


def _rows(incident: Incident) -> Iterable[LogEntry]:
    rows = incident.entries.filter(seq__lte=incident.head_seq).order_by("seq")
    return rows.prefetch_related("findings")


def _record(
    incident: Incident, rows: list[LogEntry], person: Person, at: datetime
) -> IncidentRecord:
    closing = incident.closed_by
    offs = [SignOff(meaning="Made this report", name=person.shown_name, at=at)]
    if closing is not None and incident.closed_at is not None:
        meaning = "Incident commander, closed the incident"
        name = closing.shown_name
        offs.insert(0, SignOff(meaning=meaning, name=name, at=incident.closed_at))
    return IncidentRecord(
        agency=incident.agency.name,
        location=incident.location,
        zone=ZoneInfo(incident.agency.time_zone),
        opened_at=incident.opened_at,
        opened_by=rows[0].author_name,
        closed_at=incident.closed_at,
        demo=incident.is_demo,
        names=_names(rows),
        entries=_entry_records(rows),
        own=[_own_record(row) for row in rows if not row.is_for_engine],
        head=ChainHead(seq=incident.head_seq, sha256=incident.head_hash),
        sign_offs=tuple(offs),
        made_by=person.shown_name,
    )


def _names(rows: list[LogEntry]) -> dict[str, str]:
    names: dict[str, str] = {}
    for row in rows:
        if row.kind in (OPENING, AMENDMENT):
            names |= loads(row.body).get("names", {})
    return names


def _entry_records(rows: list[LogEntry]) -> dict[str, EntryRecord]:
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
            findings=_shown(row, (each for each in kept if not each.superseded)),
            superseded=_shown(row, (each for each in kept if each.superseded)),
        )
    return records


def _shown(row: LogEntry, kept: Iterable[StoredFinding]) -> tuple[Finding, ...]:
    """The findings in the words of that day."""
    return tuple(
        Finding(
            rule=each.rule,
            number=each.number,
            hazard=Hazard(each.hazard),
            team=each.team_key,
            place=each.place,
            action=Action(each.action),
            because=each.because,
            advice=tuple(each.advice),
            source=each.source,
            entry=row.key,
            at=row.observed_at,
        )
        for each in kept
    )


def _own_record(row: LogEntry) -> OwnRecord:
    body = loads(row.body)
    words = _WORDS[row.kind]
    given = body.get("role")
    if given is not None:
        words = f"{given['name']} takes part as {given['role'].replace('_', ' ')}."
    return OwnRecord(
        seq=row.seq,
        at=row.observed_at,
        recorded_at=row.recorded_at,
        words=words,
        author=row.author_name,
        note=body.get("reason", ""),
    )
