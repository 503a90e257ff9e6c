"""The second step's secret as django-otp keeps it, but sealed."""

from binascii import unhexlify
from os import urandom
from typing import Final

from django_otp.plugins.otp_totp.models import TOTPDevice

from incidents.sealing import is_sealed, seal, unseal

SECRET_BYTES: Final = 20  # RFC 4226, 4, R6: 160 bits


class Authenticator(TOTPDevice):  # type: ignore[misc]  # the library has no types
    """The same rows; `key` holds the sealed secret instead of its digits."""

    class Meta:
        proxy = True
        default_permissions = ()

    @staticmethod
    def new_key(person_id: int) -> str:
        """A fresh secret, sealed for its person."""
        return seal(urandom(SECRET_BYTES), _owner(person_id))

    @property
    def bin_key(self) -> bytes:
        """The secret. Raises `SealError` where SECRET_KEY is another than that day."""
        if is_sealed(self.key):
            return unseal(self.key, _owner(self.user_id))
        return unhexlify(self.key)  # of before, not sealed yet


def _owner(person_id: int) -> str:
    return f"second step of {person_id}"
