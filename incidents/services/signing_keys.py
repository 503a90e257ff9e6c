"""The key that seals an agency's reports: made or imported, replaced, taken back.

Kept encrypted under SIGNING_PASSPHRASE. A key that is not used any more is retired and
stays, so that every report that it signed can still be checked.
"""

from collections.abc import Iterable
from datetime import datetime
from typing import TYPE_CHECKING

from django.conf import settings

from incidents.models import Agency, KeyRevocation, Person, SigningKey
from incidents.services import permissions
from incidents.services.errors import NotAllowedError
from incidents.services.locking import one_transaction
from incidents.services.typed import refused, typed

if TYPE_CHECKING:
    from reports import keys


def signing_key_of(*, agency: Agency, at: datetime) -> SigningKey:
    """The agency's live key. One that has run out is retired for a new one.

    The root stays the same, so that whoever trusts it goes on trusting. Raises
    `SigningError` where an imported key has run out: only the agency can renew it.
    """
    from reports import keys

    with one_transaction():
        _lock(agency)
        known = agency.signing_keys.filter(retired_at=None).first()
        if known is None:
            return _issue(agency, _root(agency, at), at)
        try:
            keys.check_valid_at(bytes(known.certificate), at, "the signing key")
        except keys.CertificateNotValidError:
            if known.imported:
                raise
            _retire(known, at)
            return _issue(agency, _root(agency, at), at)
        return known


def replace_key(*, agency: Agency, at: datetime) -> SigningKey:
    """A new key made here in place of the live one, under the agency's own root."""
    with one_transaction():
        _lock(agency)
        _retire(agency.signing_keys.filter(retired_at=None).first(), at)
        return _issue(agency, _root(agency, at), at)


def import_key(
    *, agency: Agency, file: bytes, file_passphrase: str, at: datetime
) -> SigningKey:
    """The key of a PKCS #12 file in place of the live one.

    Raises `SigningError` in words where the file holds none that can be used.
    """
    from reports.importing import NotUsableError, imported_signer

    signer = imported_signer(
        file,
        file_passphrase=file_passphrase,
        passphrase=settings.SIGNING_PASSPHRASE,
        at=at,
    )
    with one_transaction():
        _lock(agency)
        if SigningKey.objects.filter(fingerprint=signer.fingerprint).exists():
            raise NotUsableError("This key was imported before.")
        _retire(agency.signing_keys.filter(retired_at=None).first(), at)
        return SigningKey.objects.create(
            agency=agency,
            created_at=at,
            encrypted_key=signer.encrypted_key,
            certificate=signer.certificate,
            root_certificate=signer.root_certificate,
            between=_pem(signer.between),
            fingerprint=signer.fingerprint,
            imported=True,
        )


def revoke_key(
    *,
    key: SigningKey,
    person: Person,
    since: datetime,
    reason: str,
    words: str,
    at: datetime,
) -> KeyRevocation:
    """Say from when on a key is not to be trusted. Once, and for good.

    What was signed before goes on holding. The key is retired; the next report makes a
    new one.
    """
    if permissions.require_key_keeper(person) != key.agency:
        raise NotAllowedError("This key is another agency's.")
    if since > at:
        raise refused("/since", "a time that has passed")
    if reason not in KeyRevocation.Reason.values:
        raise refused("/reason", "one of the reasons")
    why = typed(words, "/words", longest=500, needed="what happened")
    with one_transaction():
        _lock(key.agency)
        if KeyRevocation.objects.filter(key=key).exists():
            raise NotAllowedError("This key was revoked before.")
        _retire(key, at)
        return KeyRevocation.objects.create(
            key=key,
            since=since,
            recorded_at=at,
            recorded_by=person.shown_name,
            reason=reason,
            words=why,
        )


def change_passphrase(*, old: str) -> int:
    """Every key of this server under SIGNING_PASSPHRASE in place of `old`; how many.

    All or none. Raises `WrongPassphraseError` where one does not open.
    """
    from reports.keys import encrypted, unlocked

    def anew(kept: bytes) -> bytes:
        key, certificate = unlocked(kept, old)
        return encrypted(key, certificate, settings.SIGNING_PASSPHRASE)

    with one_transaction():
        keys = list(SigningKey.objects.select_for_update())
        for key in keys:
            key.encrypted_key = anew(bytes(key.encrypted_key))
            if key.encrypted_root_key:
                key.encrypted_root_key = anew(bytes(key.encrypted_root_key))
            key.save(update_fields=["encrypted_key", "encrypted_root_key"])
    return len(keys)


def signer_of(key: SigningKey) -> "keys.Signer":
    """The key as `reports.signing` takes it."""
    from reports.keys import Signer

    return Signer(
        certificate=bytes(key.certificate),
        encrypted_key=bytes(key.encrypted_key),
        root_certificate=bytes(key.root_certificate),
        between=_ders(bytes(key.between)),
    )


def list_of_revoked(key: SigningKey, at: datetime) -> bytes:
    """The list of the key's root, made now; b"" where the root's key is elsewhere."""
    from reports.keys import Root
    from reports.revoking import revocation_list

    if not key.encrypted_root_key:
        return b""
    rows = KeyRevocation.objects.filter(key__root_certificate=key.root_certificate)
    return revocation_list(
        root=Root(
            certificate=bytes(key.root_certificate),
            encrypted_key=bytes(key.encrypted_root_key),
        ),
        passphrase=settings.SIGNING_PASSPHRASE,
        revoked=[
            (bytes(row.key.certificate), row.since, row.reason)
            for row in rows.select_related("key")
        ],
        at=at,
    )


def _lock(agency: Agency) -> None:
    Agency.objects.select_for_update().get(pk=agency.pk)


def _retire(key: SigningKey | None, at: datetime) -> None:
    if key is not None and key.retired_at is None:
        key.retired_at = at
        key.save(update_fields=["retired_at"])


def _root(agency: Agency, at: datetime) -> "keys.Root":
    """The agency's own root, the first one made as long as it lasts."""
    from reports import keys

    own = agency.signing_keys.filter(imported=False).first()
    if own is not None:
        root = keys.Root(
            certificate=bytes(own.root_certificate),
            encrypted_key=bytes(own.encrypted_root_key),
        )
        try:
            keys.check_valid_at(root.certificate, at, "the root")
        except keys.CertificateNotValidError:
            pass
        else:
            return root
    return keys.make_root(
        agency=agency.name, passphrase=settings.SIGNING_PASSPHRASE, at=at
    )


def _issue(agency: Agency, root: "keys.Root", at: datetime) -> SigningKey:
    from reports import keys

    signer = keys.issue_signer(
        root=root, agency=agency.name, passphrase=settings.SIGNING_PASSPHRASE, at=at
    )
    return SigningKey.objects.create(
        agency=agency,
        created_at=at,
        encrypted_key=signer.encrypted_key,
        certificate=signer.certificate,
        encrypted_root_key=root.encrypted_key,
        root_certificate=root.certificate,
        fingerprint=signer.fingerprint,
    )


def _pem(certificates: Iterable[bytes]) -> bytes:
    from cryptography import x509
    from cryptography.hazmat.primitives.serialization import Encoding

    return b"".join(
        x509.load_der_x509_certificate(one).public_bytes(Encoding.PEM)
        for one in certificates
    )


def _ders(pem: bytes) -> tuple[bytes, ...]:
    from cryptography import x509
    from cryptography.hazmat.primitives.serialization import Encoding

    if not pem:
        return ()
    return tuple(
        one.public_bytes(Encoding.DER) for one in x509.load_pem_x509_certificates(pem)
    )
