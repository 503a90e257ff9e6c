"""What is said of one point of a sealed report, and the points that turn on a time."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from reports.keys import fingerprint
from reports.revoking import Revoked, named_in
from reports.time_stamps import Stamp, lists_in

if TYPE_CHECKING:
    from reports.verifying import Known


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """One thing that was looked at. `holds` is None where it could not be."""

    name: str
    holds: bool | None
    words: str

    def __str__(self) -> str:
        outcome = {True: "holds", False: "REFUSED", None: "not checked"}[self.holds]
        return f"{self.name}: {outcome}. {self.words}"


def time_stamp(stamp: Stamp | None) -> Iterable[Check]:
    """Whether another's clock stands behind the time; nothing where none was asked."""
    if stamp is None:
        return
    at = f"{stamp.at:%Y-%m-%d %H:%M:%S %Z}"
    words = f"Time-stamped at {at} by {stamp.by}."
    if not stamp.intact:
        yield Check(
            name="time-stamp",
            holds=False,
            words="The time-stamp does not belong to this signature, or was changed.",
        )
    elif stamp.trusted:
        yield Check(name="time-stamp", holds=True, words=words)
    else:
        words += " Its certificate is not from a root that is trusted here for times."
        yield Check(name="time-stamp", holds=None, words=words)


def revocation(
    reader: Any,
    signature: Any,
    known: "Known",
    at: datetime | None,
    stamp: Stamp | None,
) -> Check:
    """Whether the certificate was taken back, and whether before or after signing."""
    own = signature.signer_cert.dump()
    entry = _taken_back(own, known, lists_in(reader))
    name = "revocation"
    if entry is None:
        words = "No list that was looked at takes the certificate back."
        return Check(name=name, holds=True, words=words)
    since = f"{entry.at:%Y-%m-%d %H:%M:%S %Z}" + (
        f" ({entry.words})" if entry.words else ""
    )
    by_stamp = stamp is not None and stamp.intact and stamp.trusted
    signed = stamp.at if by_stamp and stamp else at
    if signed is None or signed >= entry.at:
        words = f"The certificate was revoked on {since}, before this was signed."
        return Check(name=name, holds=False, words=words)
    words = f"The certificate was revoked on {since}, after signing: this still holds."
    if not by_stamp:
        words += (
            " The time of signing is the signer's own word, which whoever had the key could"
            " set: compare it with the log and with a copy kept elsewhere."
        )
    return Check(name=name, holds=True, words=words)


def _taken_back(own: bytes, known: "Known", carried: Iterable[bytes]) -> Revoked | None:
    """The earliest word against the certificate, from a list or from what is known."""
    told = [each for each in known.revoked if each.fingerprint == fingerprint(own)]
    listed = named_in([*known.lists, *carried], own, known.roots)
    every = [*told, *([listed] if listed else [])]
    return min(every, key=lambda each: each.at, default=None)
