from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.test import Client
from django_otp.plugins.otp_totp.models import TOTPDevice

from incidents.models import SignInRecord
from incidents.services import second_step
from tests.factories import PASSWORD, PersonFactory

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]


@pytest.fixture
def dana():
    person = PersonFactory.create(username="dana")
    TOTPDevice.objects.create(user=person, name="x", confirmed=True)
    return person


def new_password(username="dana", **options):
    out = StringIO()
    call_command("new_password", username, stdout=out, **options)
    return out.getvalue().strip().rpartition(" ")[2]


def test_the_printed_password_signs_in_and_is_to_be_changed(dana):
    password = new_password()

    assert Client().login(username="dana", password=password)
    assert not Client().login(username="dana", password=PASSWORD)
    dana.refresh_from_db()
    assert dana.must_change_password
    assert second_step.is_on(dana)
    assert SignInRecord.objects.get().outcome == SignInRecord.Outcome.PASSWORD_GIVEN


def test_the_second_step_goes_only_where_that_is_asked_for(dana):
    new_password(without_second_step=True)

    assert not second_step.is_on(dana)


@pytest.mark.parametrize("username", ["nobody", "DANA", "gone"])
def test_nobody_else_gets_one(dana, username):
    PersonFactory.create(username="gone", is_active=False)

    with pytest.raises(CommandError):
        new_password(username)

    dana.refresh_from_db()
    assert dana.check_password(PASSWORD)
    assert SignInRecord.objects.count() == 0
