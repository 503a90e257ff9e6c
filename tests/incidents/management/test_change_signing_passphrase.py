"""`manage.py change_signing_passphrase`: every key under the new one, or none."""

import io

import pytest
from django.core.management import CommandError, call_command

from incidents.models import SigningKey
from incidents.services.signing_keys import replace_key
from reports.keys import WrongPassphraseError, unlocked
from tests.factories import AgencyFactory, minutes

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]
OLD = "the-old-words-of-last-year"
NEW = "the-new-words-of-this-year"


@pytest.fixture
def key(settings):
    settings.SIGNING_PASSPHRASE = OLD
    made = replace_key(agency=AgencyFactory.create(), at=minutes(0))
    settings.SIGNING_PASSPHRASE = NEW
    return made


def run():
    out = io.StringIO()
    call_command("change_signing_passphrase", stdout=out)
    return out.getvalue()


def test_every_key_opens_with_the_new_passphrase_and_not_with_the_old(key, monkeypatch):
    monkeypatch.setenv("OLD_SIGNING_PASSPHRASE", OLD)

    said = run()

    after = SigningKey.objects.get()
    assert said == "Keys encrypted anew: 1\n"
    for kept in (bytes(after.encrypted_key), bytes(after.encrypted_root_key)):
        unlocked(kept, NEW)
        with pytest.raises(WrongPassphraseError):
            unlocked(kept, OLD)
    assert bytes(after.certificate) == bytes(key.certificate)


@pytest.mark.parametrize(
    ("old", "words"), [("", "is not set"), ("wrong", "does not open every key")]
)
def test_without_the_old_passphrase_nothing_is_changed(key, monkeypatch, old, words):
    monkeypatch.setenv("OLD_SIGNING_PASSPHRASE", old)

    with pytest.raises(CommandError, match=words):
        run()

    assert bytes(SigningKey.objects.get().encrypted_key) == bytes(key.encrypted_key)
