"""Photos: named by a note's record first, their bytes kept when they come.

The record holds the hash, so the bytes are never altered here: what does not fit the
record is refused and stays where it is. Whoever takes a photo at the post itself has it
scaled before its hash goes into the record.
"""

import hashlib
import re
from datetime import datetime
from typing import Final
from uuid import UUID, uuid5

from incidents import pictures
from incidents.documents import dumps, loads
from incidents.models import Device, DeviceEntry, Incident, Person, Photo
from incidents.models.log import NOTE, PHOTO_ARRIVED
from incidents.photo_claims import Claim, most_original
from incidents.services import chain, permissions
from incidents.services.entries import PHONE
from incidents.services.errors import NotAllowedError, RefusalError
from incidents.services.locking import lock, one_transaction, save_head
from incidents.services.typed import refused

FIELD: Final = "/photo"
_HASH: Final = re.compile("[0-9a-f]{64}")


class PhotoNotNamedError(RefusalError):
    """No entry of the phone names this photo; its entry has to come first."""


def check_claim(claim: Claim, incident: Incident) -> Claim:
    """What a record may say of a photo. Raises `EntryRefusedError`."""
    if not _HASH.fullmatch(claim.sha256):
        raise refused(FIELD, "a SHA-256 in lower-case hexadecimal")
    if claim.media_type not in pictures.SUFFIXES:
        raise refused(FIELD, "a photo as JPEG, PNG or WebP")
    most = pictures.MOST_BYTES
    if claim.original:
        most = most_original(incident.sop)
        if not most:
            raise refused(
                FIELD, "a photo without its metadata: the SOP does not keep it"
            )
    if not 0 < claim.size <= most:
        raise refused(FIELD, f"a photo of at most {most / 1_000_000:g} MB")
    return claim


def prepared(incident_id: UUID, content: bytes) -> tuple[bytes, Claim]:
    """The bytes to keep of a photo that was handed in at the post, and what names them.

    Scaled and bare, unless the incident's SOP keeps what the camera made.
    """
    sop = Incident.objects.select_related("sop").get(pk=incident_id).sop
    try:
        picture = pictures.look_at(content)
        original = len(content) <= most_original(sop)
        kept = content if original else pictures.scaled(content)
    except pictures.PictureError as error:
        raise refused(FIELD, str(error)) from error
    media_type = picture.media_type if original else "image/jpeg"
    return kept, Claim(
        sha256=hashlib.sha256(kept).hexdigest(),
        media_type=media_type,
        size=len(kept),
        original=original,
    )


def keep(
    *,
    incident: Incident,
    claim: Claim,
    named_by: UUID,
    content: bytes,
    by: Person,
    at: datetime,
    device: str = "",
) -> Photo:
    """Keep the bytes that a record names; the same again gives the first.

    That they came goes into the log, with `named_by`, the id of the record: bytes that
    are taken away later then show. The caller holds the incident's row. Raises `EntryRefusedError` where they are not
    those of the record, are no picture, or hold what must not be kept.
    """
    known = incident.photos.filter(sha256=claim.sha256).first()
    found = hashlib.sha256(content).hexdigest()
    if found != claim.sha256:
        raise refused(FIELD, f"the photo of the record, with SHA-256 {claim.sha256}")
    if known is not None and known.media_type == claim.media_type:
        return known
    _check_bytes(claim, content)
    photo = Photo.objects.create(
        incident=incident,
        sha256=claim.sha256,
        media_type=claim.media_type,
        content=content,
        received_at=at,
        added_by=by,
        device=device,
    )
    _log_arrival(photo, named_by)
    save_head(incident)
    return photo


def _log_arrival(photo: Photo, named_by: UUID) -> None:
    """Once for each photo: it may be handed in again when it was lost."""
    key = uuid5(photo.incident_id, f"arrived {photo.sha256}")
    if photo.incident.entries.filter(client_uuid=key).exists():
        return
    chain.add_record(
        incident=photo.incident,
        kind=PHOTO_ARRIVED,
        body=dumps({"entry": str(named_by), "sha256": photo.sha256}),
        client_uuid=key,
        observed_at=photo.received_at,
        recorded_at=photo.received_at,
        author=photo.added_by,
        device=photo.device,
    )


def _check_bytes(claim: Claim, content: bytes) -> None:
    try:
        picture = pictures.look_at(content)
    except pictures.PictureError as error:
        raise refused(FIELD, str(error)) from error
    if (picture.media_type, len(content)) != (claim.media_type, claim.size):
        raise refused(
            FIELD, f"{claim.media_type} of {claim.size} bytes, as the record says"
        )
    if picture.metadata and not claim.original:
        holds = ", ".join(picture.metadata)
        raise refused(
            FIELD, f"a photo without metadata; this one holds {holds}. Take it again"
        )


def take_photo_from_device(
    *, device: Device, entry: UUID, content: bytes, received_at: datetime
) -> Photo:
    """Keep the photo of an entry that a phone of the incident has sent.

    Also where the phone was revoked since, or the incident closed: what its record
    names is evidence. Raises `PhotoNotNamedError` and what `keep` raises.
    """
    with one_transaction():
        incident = lock(device.incident_id)
        claim = _sent_claim(incident, entry, content)
        return keep(
            incident=incident,
            claim=claim,
            named_by=entry,
            content=content,
            by=device.offered_by,
            at=received_at,
            device=f"{PHONE}{device.name}",
        )


def _sent_claim(incident: Incident, entry: UUID, content: bytes) -> Claim:
    """What the phones' entries of this identifier say; the one that fits comes first."""
    rows = DeviceEntry.objects.filter(device__incident=incident, client_uuid=entry)
    claims = [Claim.of(loads(row.sent)["body"]) for row in rows]
    named = [claim for claim in claims if claim is not None]
    if not named:
        raise PhotoNotNamedError("No entry that this phone has sent names this photo.")
    found = hashlib.sha256(content).hexdigest()
    return next((claim for claim in named if claim.sha256 == found), named[0])


def add_missing_photo(
    *, incident_id: UUID, person: Person, seq: int, content: bytes, at: datetime
) -> Photo:
    """Hand in, as a file, the photo that a record names and that never came."""
    with one_transaction():
        incident = lock(incident_id)
        permissions.require_writer(person, incident)
        row = incident.entries.filter(seq=seq, kind=NOTE).first()
        claim = Claim.of(loads(row.body)) if row is not None else None
        if row is None or claim is None:
            raise NotAllowedError("This entry names no photo.")
        return keep(
            incident=incident,
            claim=claim,
            named_by=row.client_uuid,
            content=content,
            by=person,
            at=at,
        )
