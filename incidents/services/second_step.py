"""The second step of signing in, for who wants it: a code from an authenticator (TOTP).

django-otp takes each code once and slows down guessing per device; the secret lies sealed.
Recovery codes are its static tokens; what it stores are our keyed hashes of them.
"""

import base64
import logging
from typing import Final

from django.db import transaction
from django_otp.models import Device
from django_otp.plugins.otp_static.models import StaticDevice, StaticToken

from incidents.codes import keyed_hash, random_words
from incidents.models import Authenticator, Person, SignInRecord
from incidents.sealing import SealError
from incidents.services import signing_in
from incidents.services.signing_in import HeldBackError, Try

log = logging.getLogger(__name__)

RECOVERY_CODES: Final = 10
# What the static plugin has room for: 64 bits of the hash.
_KEPT: Final = 16
_FIGURES: Final = 6

Outcome = SignInRecord.Outcome


def is_on(person: Person) -> bool:
    return bool(Authenticator.objects.devices_for_user(person, confirmed=True).exists())


def recovery_codes_left(person: Person) -> int:
    return int(StaticToken.objects.filter(device__user=person).count())


def begin(person: Person) -> Authenticator:
    """The secret to set up, not in force yet; the same until it was confirmed."""
    waiting: Authenticator
    waiting, _ = Authenticator.objects.get_or_create(
        user=person,
        confirmed=False,
        defaults={"name": "Authenticator", "key": Authenticator.new_key(person.pk)},
    )
    return waiting


def secret_of(device: Authenticator) -> str:
    """The secret to type where no camera reads it: Base32 in groups of four."""
    text = base64.b32encode(device.bin_key).decode("ascii").rstrip("=")
    return " ".join(text[at : at + 4] for at in range(0, len(text), 4))


def picture_of(device: Authenticator) -> str:
    """The QR code as a data URI: black on white at night too, with its quiet zone."""
    import segno

    return segno.make(device.config_url, error="m").svg_data_uri(
        scale=5, light="#fff", dark="#000"
    )


@transaction.atomic
def confirm(person: Person, code: str, attempt: Try) -> list[str] | None:
    """Put the second step in force, or change it, if the code is the secret's.

    The recovery codes, which are shown this once; None for a wrong code.
    Raises `HeldBackError`.
    """
    waiting = Authenticator.objects.select_for_update().get(
        user=person, confirmed=False
    )
    if not _accepts(waiting, code, attempt):
        return None
    Authenticator.objects.devices_for_user(person, confirmed=True).delete()
    waiting.confirmed = True
    waiting.save(update_fields=["confirmed"])
    signing_in.keep(attempt, Outcome.SECOND_STEP_ON, person)
    return new_recovery_codes(person)


@transaction.atomic
def new_recovery_codes(person: Person) -> list[str]:
    """Ten codes that work once each; those before work no more."""
    device, _ = StaticDevice.objects.get_or_create(
        user=person, defaults={"name": "Recovery codes"}
    )
    device.token_set.all().delete()
    codes = [random_words(3) for _ in range(RECOVERY_CODES)]
    StaticToken.objects.bulk_create(
        StaticToken(device=device, token=_kept(code)) for code in codes
    )
    return codes


def pass_second_step(person: Person, typed: str, attempt: Try) -> str | None:
    """Whether the code lets the person in: the outcome to keep, or None, which is kept.

    Six figures are the authenticator's; everything else is a recovery code.
    Raises `HeldBackError` after too many tries, ours or the device's own count.
    """
    signing_in.refuse_if_held(attempt)
    code = "".join(typed.split())
    with transaction.atomic():
        if code.isascii() and code.isdigit() and len(code) == _FIGURES:
            device = _locked(Authenticator, person)
            outcome, given = Outcome.SIGNED_IN, code
        else:
            device = _locked(StaticDevice, person)
            outcome, given = Outcome.RECOVERY_CODE, _kept(code)
        if device is not None and _accepts(device, given, attempt):
            return outcome.value
    signing_in.keep(attempt, Outcome.WRONG_CODE, person)
    return None


@transaction.atomic
def remove(person: Person, attempt: Try, *, by: Person | None = None) -> None:
    """Take the second step away: name and password are enough from then on."""
    Authenticator.objects.filter(user=person).delete()
    StaticDevice.objects.filter(user=person).delete()
    signing_in.keep(attempt, Outcome.SECOND_STEP_OFF, person, by=by)


def _locked(kind: type[Device], person: Person) -> Device | None:
    rows = kind.objects.devices_for_user(person, confirmed=True)
    return rows.select_for_update().first()


def _accepts(device: Device, code: str, attempt: Try) -> bool:
    """Ask the device; it counts its own wrong codes, from wherever they come."""
    allowed, why = device.verify_is_allowed()
    if not allowed:
        raise HeldBackError(why["locked_until"], attempt.at)
    try:
        return bool(device.verify_token(code))
    except SealError:
        log.exception("The second step of person %s cannot be read", device.user_id)
        return False


def _kept(code: str) -> str:
    return keyed_hash("recovery", code)[:_KEPT]
