"""The second step: in force once a code proved it, each code once, and never for good."""

import time

import pytest
import time_machine
from django_otp.oath import totp
from django_otp.plugins.otp_static.models import StaticToken

from incidents.models import Authenticator, SignInRecord
from incidents.services import second_step
from incidents.services.signing_in import HeldBackError, Try
from tests.factories import START, PersonFactory

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

Outcome = SignInRecord.Outcome


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(START, tick=False) as moved:
        yield moved


@pytest.fixture
def dana():
    return PersonFactory.create(username="dana")


def attempt():
    return Try(name="dana", address="192.0.2.7", at=START)


def code_of(device, drift=0):
    return f"{totp(device.bin_key, t0=-30 * drift):06d}"


def set_up(person):
    device = second_step.begin(person)
    return device, second_step.confirm(person, code_of(device), attempt())


def enter(person, typed):
    return second_step.pass_second_step(person, typed, attempt())


def test_it_is_in_force_only_once_a_code_proved_that_the_secret_arrived(dana):
    device = second_step.begin(dana)
    assert not second_step.is_on(dana)
    assert second_step.begin(dana).key == device.key

    assert second_step.confirm(dana, "000000", attempt()) is None
    assert not second_step.is_on(dana)


def test_a_right_code_puts_it_in_force_with_ten_recovery_codes(dana):
    _, codes = set_up(dana)

    assert second_step.is_on(dana)
    assert len(set(codes)) == 10
    assert second_step.recovery_codes_left(dana) == 10
    assert SignInRecord.objects.get().outcome == Outcome.SECOND_STEP_ON


def test_a_code_lets_in_once(dana, clock):
    device, _ = set_up(dana)
    clock.shift(60)
    code = code_of(device)

    assert enter(dana, f" {code[:3]} {code[3:]}") == Outcome.SIGNED_IN
    assert enter(dana, code) is None


def test_the_code_that_set_it_up_does_not_also_let_in(dana):
    device, _ = set_up(dana)

    assert enter(dana, code_of(device)) is None


@pytest.mark.parametrize(("seconds", "works"), [(-30, True), (30, True), (-90, False)])
def test_a_clock_may_be_one_step_off(dana, clock, seconds, works):
    device, _ = set_up(dana)
    clock.shift(600)
    there = time.time() + seconds
    code = f"{totp(device.bin_key, t0=int(time.time() - there)):06d}"

    assert (enter(dana, code) == Outcome.SIGNED_IN) is works


def test_a_recovery_code_lets_in_once_however_it_is_typed(dana):
    _, codes = set_up(dana)

    assert enter(dana, codes[3].upper().replace("-", " ")) == Outcome.RECOVERY_CODE
    assert second_step.recovery_codes_left(dana) == 9
    assert enter(dana, codes[3]) is None


def test_recovery_codes_are_kept_as_hashes(dana):
    _, codes = set_up(dana)

    kept = set(StaticToken.objects.values_list("token", flat=True))
    assert not kept & {code.replace("-", "") for code in codes}
    assert not kept & set(codes)


def test_new_recovery_codes_make_the_old_ones_worthless(dana, clock):
    _, old = set_up(dana)
    new = second_step.new_recovery_codes(dana)

    assert enter(dana, old[0]) is None
    clock.shift(60)
    assert enter(dana, new[0]) == Outcome.RECOVERY_CODE


@pytest.mark.parametrize("typed", ["", "12345", "1234567", "٠٠٠٠٠٠", "no-such-code"])
def test_what_is_no_code_lets_nobody_in_and_is_kept(dana, typed):
    set_up(dana)

    assert enter(dana, typed) is None
    assert SignInRecord.objects.first().outcome == Outcome.WRONG_CODE


def test_a_device_slows_down_guessing_from_wherever_it_comes(dana, clock):
    device, _ = set_up(dana)
    clock.shift(60)
    assert enter(dana, "000000") is None

    with pytest.raises(HeldBackError):
        enter(dana, code_of(device))

    clock.shift(2)
    assert enter(dana, code_of(device)) == Outcome.SIGNED_IN


def test_codes_of_someone_else_let_nobody_in(dana):
    other = PersonFactory.create()
    device, codes = set_up(other)
    set_up(dana)

    assert enter(dana, codes[0]) is None
    assert Authenticator.objects.get(user=other).key == device.key


def test_taking_it_away_leaves_no_secret_and_no_code_and_says_who_did_it(dana):
    owner = PersonFactory.create(agency=dana.agency)
    _, codes = set_up(dana)

    second_step.remove(dana, attempt(), by=owner)

    assert not second_step.is_on(dana)
    assert Authenticator.objects.count() == StaticToken.objects.count() == 0
    assert enter(dana, codes[0]) is None
    assert SignInRecord.objects.filter(outcome=Outcome.SECOND_STEP_OFF, by=owner)


def test_a_new_authenticator_takes_the_place_of_the_old(dana, clock):
    old, _ = set_up(dana)
    clock.shift(60)
    new, _ = set_up(dana)
    clock.shift(60)

    assert enter(dana, code_of(old)) is None
    clock.shift(2)
    assert enter(dana, code_of(new)) == Outcome.SIGNED_IN


def test_the_picture_holds_the_secret_and_nothing_is_fetched_for_it(dana):
    device = second_step.begin(dana)

    assert second_step.picture_of(device).startswith("data:image/svg+xml")
    assert second_step.secret_of(device).replace(" ", "") in device.config_url
