"""Tries to sign in: counted, held back when there are too many, and kept.

Counted by name and origin together. By name alone anyone could keep a commander out of
the sheet; by origin alone one forgetful person could keep out the crew that shares a
hotspot. Tries while held back are not looked at and do not make it longer.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import ip_address
from typing import Final

from django.utils.crypto import salted_hmac

from incidents.models import Person, SignInRecord
from incidents.services.errors import RefusalError

# Common practice, no source: room for wet fingers, none for a list of passwords.
TRIES: Final = 10
HELD_FOR: Final = timedelta(minutes=5)

Outcome = SignInRecord.Outcome
_WRONG: Final = (
    Outcome.WRONG_PASSWORD,
    Outcome.WRONG_CODE,
    Outcome.UNKNOWN_NAME,
    Outcome.NOT_ACTIVE,
    Outcome.WRONG_INVITATION,
)
_RIGHT: Final = (Outcome.SIGNED_IN, Outcome.RECOVERY_CODE)


class HeldBackError(RefusalError):
    """Too many tries; nothing was looked at. `until` is when the next one counts."""

    def __init__(self, until: datetime, at: datetime) -> None:
        self.until = until
        self.seconds = max(1, int((until - at).total_seconds()) + 1)
        super().__init__(
            f"Too many tries. Try again in {_in_words(self.seconds)}, "
            f"at {until:%H:%M:%S} UTC. Trying before that changes nothing."
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Try:
    """Somebody at some address tries something under a name; `address` may be ""."""

    name: str
    address: str
    at: datetime
    what: str = "sign-in"

    @property
    def key(self) -> str:
        tried = f"{origin_of(self.address)} {self.name.casefold()}"
        return salted_hmac(f"tries {self.what}", tried, algorithm="sha256").hexdigest()


def origin_of(address: str) -> str:
    """What counts as one origin: an IPv4 address, or the /64 that an IPv6 host has."""
    if not address:
        return "nowhere"
    found = ip_address(address)
    if found.version == 6 and found.ipv4_mapped:
        found = found.ipv4_mapped
    if found.version == 4:
        return found.packed.hex()
    return found.packed[:8].hex()


def refuse_if_held(attempt: Try) -> None:
    """Raise `HeldBackError` where there were too many wrong tries of late."""
    records = SignInRecord.objects.filter(key=attempt.key)
    right = records.filter(outcome__in=_RIGHT).order_by("-pk").values("pk")[:1]
    wrong = records.filter(outcome__in=_WRONG, at__gt=attempt.at - HELD_FOR)
    last_right = right.first()
    if last_right is not None:
        wrong = wrong.filter(pk__gt=last_right["pk"])
    counted = wrong.order_by("-pk").values_list("at", flat=True)[TRIES - 1 : TRIES]
    oldest = counted.first()
    if oldest is None:
        return
    last = records.order_by("-pk").values_list("outcome", flat=True).first()
    if last != Outcome.HELD_BACK:  # once: whoever hammers must not fill the disk
        keep(attempt, Outcome.HELD_BACK, _called(attempt.name))
    raise HeldBackError(oldest + HELD_FOR, attempt.at)


def refused(attempt: Try) -> None:
    """Keep that name and password did not go together."""
    person = _called(attempt.name)
    if person is None:
        outcome = Outcome.UNKNOWN_NAME
    elif person.is_active:
        outcome = Outcome.WRONG_PASSWORD
    else:
        outcome = Outcome.NOT_ACTIVE
    keep(attempt, outcome, person)


def password_holds(person: Person, password: str, attempt: Try) -> bool:
    """Whether it is the password of someone who is signed in already; counted.

    Raises `HeldBackError`.
    """
    refuse_if_held(attempt)
    if person.check_password(password):
        return True
    keep(attempt, Outcome.WRONG_PASSWORD, person)
    return False


def keep(
    attempt: Try, outcome: str, person: Person | None, *, by: Person | None = None
) -> SignInRecord:
    """Add one record of what came of it."""
    return SignInRecord.objects.create(
        at=attempt.at,
        person=person,
        agency_id=person.agency_id if person else None,
        name=person.username if person else "",
        address=attempt.address or None,
        outcome=outcome,
        by=by,
        key=attempt.key,
    )


def _called(name: str) -> Person | None:
    return Person.objects.filter(username=name).first()


def _in_words(seconds: int) -> str:
    minutes, rest = divmod(seconds, 60)
    if not minutes:
        return f"{rest} s"
    return f"{minutes} min {rest} s" if rest else f"{minutes} min"
