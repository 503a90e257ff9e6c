"""The second step's secret in the database says nothing without SECRET_KEY."""

import importlib
from binascii import hexlify

import pytest
from django.apps import apps
from django.db import connection
from django_otp.oath import totp
from django_otp.plugins.otp_totp.models import TOTPDevice

from incidents.models import Authenticator
from incidents.sealing import SealError, is_sealed, seal, unseal
from incidents.services import second_step
from incidents.services.signing_in import Try
from tests.factories import START, PersonFactory

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

# RFC 6238, appendix B: its secret for SHA-1, in ASCII.
SECRET = b"12345678901234567890"


@pytest.fixture
def dana():
    return PersonFactory.create(username="dana")


def attempt():
    return Try(name="dana", address="192.0.2.7", at=START)


def test_what_is_sealed_opens_for_its_owner_only_and_fits_the_column():
    sealed = seal(SECRET, "dana")

    assert unseal(sealed, "dana") == SECRET
    assert seal(SECRET, "dana") != sealed
    assert len(sealed) <= TOTPDevice._meta.get_field("key").max_length
    with pytest.raises(SealError):
        unseal(sealed, "mora")


@pytest.mark.parametrize(
    "broken", ["", "sealed:", "sealed:AAAA", "sealed:%%%", "sealed:" + "A" * 64]
)
def test_what_was_changed_does_not_open(broken):
    with pytest.raises(SealError):
        unseal(broken, "dana")


def test_an_older_key_still_opens_and_another_one_does_not(settings):
    sealed = seal(SECRET, "dana")
    old, settings.SECRET_KEY = settings.SECRET_KEY, "k" * 60
    with pytest.raises(SealError):
        unseal(sealed, "dana")

    settings.SECRET_KEY_FALLBACKS = [old]

    assert unseal(sealed, "dana") == SECRET


def test_the_row_does_not_hold_the_secret_that_the_person_gets(dana):
    device = second_step.begin(dana)
    with connection.cursor() as cursor:
        cursor.execute("SELECT key FROM otp_totp_totpdevice")
        ((kept,),) = cursor.fetchall()

    assert is_sealed(kept)
    assert len(device.bin_key) == 20
    assert hexlify(device.bin_key).decode() not in kept
    assert second_step.secret_of(device).replace(" ", "") not in kept
    code = f"{totp(device.bin_key):06d}"
    assert second_step.confirm(dana, code, attempt())


def test_under_another_key_no_code_lets_in_and_a_recovery_code_is_no_way_round(
    dana, settings, caplog
):
    device = second_step.begin(dana)
    second_step.confirm(dana, f"{totp(device.bin_key):06d}", attempt())
    code = f"{totp(device.bin_key, t0=-30):06d}"
    settings.SECRET_KEY = "k" * 60

    assert second_step.pass_second_step(dana, code, attempt()) is None
    assert "cannot be read" in caplog.text


def test_a_secret_of_before_works_and_is_sealed_by_the_migration(dana):
    plain = hexlify(SECRET).decode()
    old = TOTPDevice.objects.create(user=dana, name="x", confirmed=True, key=plain)
    assert Authenticator.objects.get(pk=old.pk).bin_key == SECRET
    step = importlib.import_module("incidents.migrations.0020_seal_second_step")

    editor = connection.schema_editor()
    for _ in range(2):
        step.seal_all(apps, editor)

    sealed = Authenticator.objects.get(pk=old.pk)
    assert is_sealed(sealed.key)
    assert sealed.bin_key == SECRET

    step.open_all(apps, editor)
    assert TOTPDevice.objects.get(pk=old.pk).key == plain
