"""What people change about how they sign in."""

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django_otp.oath import totp

from incidents.models import Authenticator, SignInRecord
from incidents.services import second_step
from incidents.services.signing_in import TRIES
from tests.factories import PASSWORD, START, PersonFactory, open_incident

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

PAGE = reverse("incidents:password")
SECOND_STEP = reverse("incidents:second-step")
LIST = reverse("incidents:incident-list")
NEW = "seven grey herons over the weir"
Outcome = SignInRecord.Outcome


@pytest.fixture
def dana(client):
    person = PersonFactory.create(username="dana", display_name="Dana Holt")
    client.force_login(person)
    return person


def change(client, old=PASSWORD, new=NEW, again=None):
    return client.post(
        PAGE,
        {"old_password": old, "new_password1": new, "new_password2": again or new},
    )


def errors(answer):
    return " ".join(text for _, text in answer.context["form"].error_links())


# --- The password -----------------------------------------------------------------------


def test_a_new_password_signs_in_and_ends_every_other_session(client, dana):
    elsewhere = Client()
    elsewhere.force_login(dana)

    assert change(client).url == LIST

    assert client.get(LIST).status_code == 200
    assert elsewhere.get(LIST).status_code == 302
    dana.refresh_from_db()
    assert dana.check_password(NEW)
    record = SignInRecord.objects.get()
    assert (record.outcome, record.person) == (Outcome.PASSWORD_CHANGED, dana)


@pytest.mark.usefixtures("dana")
@pytest.mark.parametrize(
    ("new", "said"),
    [
        ("elevenchars", "at least 12"),
        ("password1234", "too common"),
        ("aaaabbbbaaaa", "repeats a few characters"),
        ("dana-holt-2026", "words from here"),
        ("Hazmat-Incident-77", "words from here"),
        ("ExampleCounty-fire", "words from here"),
        (PASSWORD, "another password than the one"),
    ],
)
def test_a_password_that_would_be_tried_first_is_refused(client, dana, new, said):
    dana.agency.name = "Example County"
    dana.agency.save()

    answer = change(client, new=new)

    assert answer.status_code == 422
    assert said in errors(answer)
    dana.refresh_from_db()
    assert dana.check_password(PASSWORD)


@pytest.mark.usefixtures("dana")
@pytest.mark.parametrize(
    "new",
    [
        "alllowercaseletters",
        "  blanks in front and behind  ",
        "829471603358",
        "Ünïcode für den Fährmann",
        "many words " * 12,
        "a fire under the old tree",
    ],
)
def test_there_are_no_rules_about_kinds_of_characters(client, dana, new):
    assert change(client, new=new).status_code == 302

    dana.refresh_from_db()
    assert dana.check_password(new)


def test_the_old_password_is_needed_and_guessing_it_is_held_back(client, dana):
    for _ in range(TRIES):
        answer = change(client, old="wrong")
        assert answer.status_code == 422
        assert "not your password" in errors(answer)

    answer = change(client)

    assert answer.status_code == 429
    assert "Too many tries" in errors(answer)
    dana.refresh_from_db()
    assert dana.check_password(PASSWORD)


@pytest.mark.usefixtures("dana")
def test_two_that_differ_are_refused(client):
    assert "not the same" in errors(change(client, again="another one entirely"))


def test_a_password_made_by_someone_else_is_changed_before_anything_else(client, dana):
    dana.must_change_password = True
    dana.save()
    incident = open_incident(person=dana)
    ahead = [LIST, reverse("incidents:sheet", args=[incident.pk]), SECOND_STEP]

    for url in ahead:
        assert client.get(url).url == PAGE
        assert client.post(url).url == PAGE
    assert client.get(reverse("incidents:health")).status_code == 200
    page = client.get(PAGE)
    assert "Make a password of your own" in page.text
    assert "Leave it" not in page.text
    change(client)

    assert [client.get(url).status_code for url in ahead] == [200, 200, 200]


def test_keeping_the_password_that_was_given_is_no_change(client, dana):
    dana.must_change_password = True
    dana.save()

    assert change(client, new=PASSWORD).status_code == 422
    assert client.get(LIST).url == PAGE


def test_who_has_to_change_it_can_still_sign_out(client, dana):
    dana.must_change_password = True
    dana.save()

    client.post(reverse("incidents:sign-out"))

    assert client.get(LIST).url.startswith(reverse("incidents:sign-in"))


# --- The second step ---------------------------------------------------------------------


@pytest.fixture
def clock():
    with time_machine.travel(START, tick=False) as moved:
        yield moved


def code_of(person):
    device = Authenticator.objects.get(user=person)
    return f"{totp(device.bin_key):06d}"


def set_up(client, person, **changes):
    client.get(SECOND_STEP)
    given = {"code": code_of(person), "password": PASSWORD}
    return client.post(SECOND_STEP, given | changes)


@pytest.mark.usefixtures("clock")
def test_setting_it_up_takes_a_code_and_the_password_and_shows_codes_once(client, dana):
    page = client.get(SECOND_STEP)
    assert "data:image/svg+xml" in page.text
    assert second_step.secret_of(Authenticator.objects.get()) in page.text

    answer = set_up(client, dana)

    assert len(answer.context["codes"]) == 10
    assert all(code in answer.text for code in answer.context["codes"])
    assert answer["Cache-Control"] == "no-store"
    assert second_step.is_on(dana)
    account = client.get(reverse("incidents:account"))
    assert "10 recovery codes left" in account.text
    assert answer.context["codes"][0] not in account.text


@pytest.mark.usefixtures("clock")
@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"code": "000000"}, "not the code"),
        ({"code": ""}, "required"),
        ({"password": "wrong"}, "not your password"),
        ({"password": ""}, "required"),
    ],
)
def test_without_either_nothing_is_set_up(client, dana, changes, said):
    answer = set_up(client, dana, **changes)

    assert answer.status_code == 422
    assert said in errors(answer)
    assert not second_step.is_on(dana)


@pytest.mark.usefixtures("clock")
@pytest.mark.parametrize(
    ("name", "left"), [("second-step-remove", 0), ("recovery-codes", 10)]
)
def test_changing_it_takes_the_password(client, dana, name, left):
    codes = set_up(client, dana).context["codes"]
    url = reverse(f"incidents:{name}")

    assert client.post(url, {"password": "wrong"}).status_code == 422
    assert second_step.is_on(dana)
    answer = client.post(url, {"password": PASSWORD})

    assert second_step.is_on(dana) is (left > 0)
    assert second_step.recovery_codes_left(dana) == left
    if left:
        assert not set(codes) & set(answer.context["codes"])


# --- What was tried in their name -----------------------------------------------------------


def test_people_see_what_was_tried_in_their_name_and_no_one_elses(client, dana):
    PersonFactory.create(username="robin", agency=dana.agency)
    for name in ("dana", "robin"):
        Client().post(
            reverse("incidents:sign-in"),
            {"username": name, "password": "wrong"},
            REMOTE_ADDR="192.0.2.7" if name == "dana" else "192.0.2.8",
        )

    text = client.get(reverse("incidents:account")).text

    assert "Wrong password" in text
    assert "192.0.2.7" in text
    assert "192.0.2.8" not in text
