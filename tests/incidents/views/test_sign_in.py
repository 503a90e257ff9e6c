"""In and out: held back after too many tries, the second step, how long it lasts."""

from datetime import timedelta

import pytest
import time_machine
from django.conf import settings
from django.contrib.sessions.models import Session
from django.test import Client
from django.urls import reverse
from django_otp.oath import totp
from django_otp.plugins.otp_totp.models import TOTPDevice

from incidents.models import SignInRecord
from incidents.services.signing_in import HELD_FOR, TRIES
from tests.factories import PASSWORD, START, PersonFactory, open_incident

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

SIGN_IN = reverse("incidents:sign-in")
CODE = reverse("incidents:sign-in-code")
LIST = reverse("incidents:incident-list")
Outcome = SignInRecord.Outcome


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(START, tick=False) as moved:
        yield moved


@pytest.fixture
def dana():
    return PersonFactory.create(username="dana")


def sign_in(client, name="dana", password=PASSWORD, *, address="192.0.2.7", **changes):
    return client.post(
        SIGN_IN,
        {"username": name, "password": password} | changes,
        REMOTE_ADDR=address,
    )


def outcomes():
    rows = SignInRecord.objects.order_by("pk")
    return [Outcome(value) for value in rows.values_list("outcome", flat=True)]


def is_in(client):
    return client.get(LIST).status_code == 200


# --- Name and password -----------------------------------------------------------------


@pytest.mark.usefixtures("dana")
def test_signing_in_and_out_is_kept_with_the_address(client):
    answer = sign_in(client)
    assert (answer.status_code, answer.url) == (302, LIST)

    client.post(reverse("incidents:sign-out"), REMOTE_ADDR="192.0.2.7")

    assert not is_in(client)
    assert outcomes() == [Outcome.SIGNED_IN, Outcome.SIGNED_OUT]
    assert {record.address for record in SignInRecord.objects.all()} == {"192.0.2.7"}


@pytest.mark.usefixtures("dana")
@pytest.mark.parametrize(
    "place", ["//evil.example", "https://evil.example/", "javascript:alert(1)", "/\\x"]
)
def test_nobody_is_sent_to_another_place_after_signing_in(client, place):
    assert sign_in(client, next=place).url == LIST


@pytest.mark.usefixtures("dana")
def test_who_was_asked_to_sign_in_goes_on_where_they_were(client):
    assert sign_in(client, next="/rules/").url == "/rules/"


def test_a_name_that_nobody_has_is_answered_like_a_wrong_password(client, dana):
    PersonFactory.create(username="gone", is_active=False)
    said = {
        sign_in(client, name, password).context["form"].non_field_errors()[0]
        for name, password in (
            ("dana", "wrong"),
            ("nobody", PASSWORD),
            ("gone", PASSWORD),
        )
    }

    assert len(said) == 1
    assert outcomes() == [
        Outcome.WRONG_PASSWORD,
        Outcome.UNKNOWN_NAME,
        Outcome.NOT_ACTIVE,
    ]


@pytest.mark.usefixtures("dana")
def test_after_ten_wrong_tries_the_right_password_is_not_looked_at_for_five_minutes(
    client, clock
):
    for _ in range(TRIES):
        assert sign_in(client, password="wrong").status_code == 422

    answer = sign_in(client)

    assert answer.status_code == 429
    assert int(answer["Retry-After"]) <= HELD_FOR.total_seconds() + 1
    assert "Try again in 5 min" in answer.text
    assert 'value="dana"' in answer.text
    clock.shift(HELD_FOR)
    assert sign_in(client).status_code == 302


@pytest.mark.usefixtures("dana")
def test_while_one_is_held_back_a_colleague_and_another_network_get_in(client):
    PersonFactory.create(username="robin")
    for _ in range(TRIES):
        sign_in(client, password="wrong")

    assert sign_in(client).status_code == 429
    assert sign_in(Client(), "robin").status_code == 302
    assert sign_in(Client(), address="198.51.100.9").status_code == 302


@pytest.mark.usefixtures("dana")
def test_who_is_in_stays_in_while_someone_tries_their_name(client):
    sign_in(client)
    for _ in range(TRIES + 5):
        sign_in(Client(), password="wrong")

    assert is_in(client)


@pytest.mark.usefixtures("dana")
@pytest.mark.parametrize("field", ["username", "password"])
def test_a_form_that_is_not_filled_in_counts_as_no_try(client, field):
    answer = sign_in(client, **{field: ""})

    assert answer.status_code == 422
    assert outcomes() == []


@pytest.mark.usefixtures("dana")
@pytest.mark.parametrize(
    ("proxy", "header", "kept"),
    [
        (False, "203.0.113.5", "192.0.2.7"),
        (True, "203.0.113.5", "203.0.113.5"),
        (True, "198.51.100.1, 203.0.113.5", "203.0.113.5"),
        (True, "198.51.100.1,  2001:db8::1 ", "2001:db8::1"),
        (True, "unknown", "192.0.2.7"),
        (True, "", "192.0.2.7"),
    ],
)
def test_behind_the_proxy_its_word_counts_and_never_the_clients(
    client, settings, proxy, header, kept
):
    settings.BEHIND_TLS_PROXY = proxy

    client.post(
        SIGN_IN,
        {"username": "dana", "password": "wrong"},
        REMOTE_ADDR="192.0.2.7",
        headers={"X-Forwarded-For": header},
    )

    assert SignInRecord.objects.get().address == kept


@pytest.mark.usefixtures("dana")
def test_a_made_up_address_in_front_does_not_start_the_count_anew(client, settings):
    settings.BEHIND_TLS_PROXY = True
    for number in range(TRIES + 1):
        answer = client.post(
            SIGN_IN,
            {"username": "dana", "password": "wrong"},
            headers={"X-Forwarded-For": f"198.51.100.{number}, 203.0.113.5"},
        )

    assert answer.status_code == 429


def test_no_known_address_is_no_error(client, dana):
    sign_in(client, address="")

    assert SignInRecord.objects.get().address is None
    assert is_in(client)


# --- The second step --------------------------------------------------------------------


@pytest.fixture
def device(dana):
    return TOTPDevice.objects.create(user=dana, name="x", confirmed=True)


def enter(client, device, code=None, **changes):
    code = code or f"{totp(device.bin_key):06d}"
    return client.post(CODE, {"code": code}, REMOTE_ADDR="192.0.2.7", **changes)


def test_name_and_password_alone_do_not_let_in_where_there_is_a_second_step(
    client, device
):
    answer = sign_in(client, next="/rules/")

    assert answer.url.startswith(CODE)
    assert not is_in(client)
    assert outcomes() == []
    answer = client.post(answer.url, {"code": f"{totp(device.bin_key):06d}"})
    assert answer.url == "/rules/"
    assert is_in(client)
    assert outcomes() == [Outcome.SIGNED_IN]


def test_a_wrong_code_is_refused_and_kept_and_the_next_one_waits_a_little(
    client, device, clock
):
    sign_in(client)
    assert enter(client, device, "000000").status_code == 422
    assert outcomes() == [Outcome.WRONG_CODE]

    answer = enter(client, device)

    assert (answer.status_code, answer["Retry-After"]) == (429, "2")
    assert not is_in(client)
    clock.shift(2)
    assert enter(client, device).url == LIST


def test_wrong_codes_and_wrong_passwords_are_counted_together(client, device):
    for _ in range(TRIES - 1):
        sign_in(client, password="wrong")
    sign_in(client)
    enter(client, device, "000000")

    assert sign_in(client).status_code == 429
    assert enter(client, device).status_code == 429


def test_the_second_step_is_asked_of_nobody_who_did_not_do_the_first(client, device):
    assert enter(client, device).url == SIGN_IN
    assert not is_in(client)


@pytest.mark.parametrize("what", ["waited", "password", "active"])
def test_what_was_right_five_minutes_ago_is_asked_again(
    client, clock, dana, device, what
):
    sign_in(client)
    if what == "waited":
        clock.shift(301)
    elif what == "password":
        dana.set_password("another-long-password")
        dana.save()
    else:
        dana.is_active = False
        dana.save()

    assert enter(client, device).url == SIGN_IN
    assert not is_in(client)


@pytest.mark.usefixtures("dana")
def test_the_code_page_sends_nobody_to_another_place(client, device):
    sign_in(client)

    answer = client.post(
        f"{CODE}?next=//evil.example", {"code": f"{totp(device.bin_key):06d}"}
    )

    assert answer.url == LIST


def test_a_new_session_begins_with_the_sign_in(client, device):
    sign_in(client)
    before = client.session.session_key
    enter(client, device)

    assert client.session.session_key != before
    assert not Session.objects.filter(session_key=before).exists()


# --- How long it lasts -------------------------------------------------------------------


@pytest.mark.usefixtures("dana")
def test_a_session_ends_a_shift_after_its_last_use(client, clock):
    sign_in(client)
    clock.shift(timedelta(hours=13))
    assert is_in(client)
    clock.shift(timedelta(hours=13))
    assert is_in(client)
    clock.shift(timedelta(hours=14, minutes=1))

    assert settings.SESSION_COOKIE_AGE == 14 * 3600
    assert not is_in(client)


def test_a_sheet_that_only_polls_does_not_keep_anyone_signed_in(client, clock, dana):
    incident = open_incident(person=dana)
    live = reverse("incidents:sheet-live", args=[incident.pk])
    sign_in(client)

    for _ in range(15):
        clock.shift(timedelta(hours=1))
        client.get(live, headers={"HX-Request": "true"})
        client.get(reverse("incidents:clock"))

    assert not is_in(client)


def test_polling_writes_no_session(client, dana, django_assert_num_queries):
    incident = open_incident(person=dana)
    live = reverse("incidents:sheet-live", args=[incident.pk])
    sign_in(client)
    etag = client.get(live, headers={"HX-Request": "true"})["ETag"]

    with django_assert_num_queries(3):  # session, person, tag
        answer = client.get(live, headers={"HX-Request": "true", "If-None-Match": etag})

    assert answer.status_code == 304


def test_who_may_no_longer_sign_in_is_out_at_once(client, dana):
    sign_in(client)
    dana.is_active = False
    dana.save()

    assert not is_in(client)
