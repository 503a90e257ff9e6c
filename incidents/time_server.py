"""The time-stamp server of the settings, as `reports` takes one."""

from pathlib import Path
from typing import TYPE_CHECKING

from django.conf import settings

if TYPE_CHECKING:
    from reports.time_stamps import TimeStampServer


def time_server() -> "TimeStampServer | None":
    """None where no address is set: reports then carry the signer's own time."""
    from reports.time_stamps import TimeStampServer

    if not settings.TIMESTAMP_URL:
        return None
    return TimeStampServer(address=settings.TIMESTAMP_URL, roots=time_roots())


def time_roots() -> tuple[bytes, ...]:
    """Certificates whose word on a time is taken; read each time, so that a new file
    counts at once.
    """
    from cryptography import x509
    from cryptography.hazmat.primitives.serialization import Encoding

    if not settings.TIMESTAMP_ROOTS:
        return ()
    data = Path(settings.TIMESTAMP_ROOTS).read_bytes()
    return tuple(
        one.public_bytes(Encoding.DER) for one in x509.load_pem_x509_certificates(data)
    )
