"""The key that seals an agency's reports: made on first use, kept encrypted."""

from datetime import datetime
from typing import TYPE_CHECKING

from django.conf import settings

from incidents.models import Agency, SigningKey
from incidents.services.locking import one_transaction

if TYPE_CHECKING:
    from reports import keys


def signing_key_of(*, agency: Agency, at: datetime) -> SigningKey:
    """The agency's live key. One that has run out is retired for a new one.

    The root stays the same, so that whoever trusts it goes on trusting.
    """
    from reports import keys

    with one_transaction():
        Agency.objects.select_for_update().get(pk=agency.pk)
        known = agency.signing_keys.filter(retired_at=None).first()
        if known is None:
            root = keys.make_root(
                agency=agency.name, passphrase=settings.SIGNING_PASSPHRASE, at=at
            )
        else:
            try:
                keys.check_valid_at(bytes(known.certificate), at, "the signing key")
            except keys.CertificateNotValidError:
                root = keys.Root(
                    certificate=bytes(known.root_certificate),
                    encrypted_key=bytes(known.encrypted_root_key),
                )
                known.retired_at = at
                known.save(update_fields=["retired_at"])
            else:
                return known
        return _issue(agency, root, at)


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
