"""The page of who has a part; invitations made, brought, withdrawn."""

import re
from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from incidents import services
from incidents.models import IncidentRole, Invitation, SignInRecord
from incidents.services.signing_in import TRIES
from tests.factories import PersonFactory, join

pytestmark = [pytest.mark.django_db, pytest.mark.db_both]

JOIN = reverse("incidents:join")
CODE = re.compile(r'<p class="code">([a-z0-9-]+)</p>')


def url(name, incident, *more):
    return reverse(f"incidents:{name}", args=[incident.pk, *more])


def invite(client, incident, role="technician"):
    answer = client.post(
        url("invite", incident), {"meant_for": "E. Moss, state team", "role": role}
    )
    return answer, CODE.search(answer.text)


@pytest.fixture
def neighbour():
    return PersonFactory.create(display_name="E. Moss", may_open=False)


@pytest.fixture
def there(neighbour):
    client = Client()
    client.force_login(neighbour)
    return client


@pytest.mark.usefixtures("commander")
def test_an_invitation_from_the_code_on_the_page_to_the_sheet(
    client, incident, neighbour, there
):
    answer, code = invite(client, incident)
    assert answer.status_code == 200
    assert answer["Cache-Control"] == "no-store"

    sent = there.post(JOIN, {"code": code[1].upper()})

    assert sent.url == url("sheet", incident)
    assert there.get(sent.url).status_code == 200
    assert incident.name in there.get(reverse("incidents:incident-list")).text
    people = client.get(url("people", incident)).text
    assert "E. Moss" in people
    assert neighbour.agency.name in people
    assert "mutual aid, since" in people
    log = client.get(url("log", incident)).text
    assert f"E. Moss of {neighbour.agency.name} takes part as technician" in log


@pytest.mark.usefixtures("commander")
def test_the_code_is_shown_once_and_then_nowhere(client, incident):
    _, code = invite(client, incident)

    text = client.get(url("people", incident)).text

    assert "E. Moss, state team" in text
    assert "not come yet" in text
    assert code[1] not in text


@pytest.mark.usefixtures("commander")
@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"meant_for": "", "role": "viewer"}, "Say whom"),
        ({"meant_for": "E. Moss"}, "Choose the part"),
        ({"meant_for": "E. Moss", "role": "commander"}, "one of those shown"),
    ],
)
def test_a_form_that_is_not_whole_makes_no_code_and_keeps_what_was_typed(
    client, incident, given, said
):
    answer = client.post(url("invite", incident), given)

    assert answer.status_code == 422
    assert said in answer.text
    assert f'value="{given["meant_for"]}"' in answer.text or not given["meant_for"]
    assert Invitation.objects.count() == 0


@pytest.mark.usefixtures("commander")
def test_a_withdrawn_invitation_leaves_the_page_and_lets_nobody_in(
    client, incident, there
):
    _, code = invite(client, incident)
    number = Invitation.objects.get().pk

    client.post(url("invitation-withdraw", incident, number))

    assert "E. Moss" not in client.get(url("people", incident)).text
    assert there.post(JOIN, {"code": code[1]}).status_code == 422


@pytest.mark.usefixtures("incident")
def test_guessing_codes_is_held_back_and_kept(there, neighbour):
    for number in range(TRIES):
        answer = there.post(JOIN, {"code": f"aaaa-bbbb-ccc{number}"})
        assert answer.status_code == 422
        assert f'value="aaaa-bbbb-ccc{number}"' in answer.text

    answer = there.post(JOIN, {"code": "aaaa-bbbb-cccc"})

    assert answer.status_code == 429
    wrong = SignInRecord.Outcome.WRONG_INVITATION
    assert neighbour.sign_ins.filter(outcome=wrong).count() == TRIES


@pytest.mark.usefixtures("incident")
def test_guessing_codes_does_not_keep_anyone_from_signing_in(there, neighbour):
    for _ in range(TRIES + 1):
        there.post(JOIN, {"code": "aaaa-bbbb-cccc"})

    answer = Client().post(
        reverse("incidents:sign-in"),
        {"username": neighbour.username, "password": "correct-horse-battery"},
    )

    assert answer.status_code == 302


@pytest.mark.usefixtures("commander")
def test_a_code_that_ran_out_says_no_more_than_a_wrong_one(client, incident, there):
    _, code = invite(client, incident)
    Invitation.objects.update(good_until=timezone.now() - timedelta(seconds=1))

    old = there.post(JOIN, {"code": code[1]}).context["form"].errors["code"]
    wrong = there.post(JOIN, {"code": "aaaa-bbbb-cccc"}).context["form"].errors["code"]

    assert old == wrong


@pytest.mark.usefixtures("commander")
def test_a_part_is_taken_back_after_a_second_look(client, incident):
    person = join(incident, "viewer", display_name="R. Ash")
    page = url("part-end", incident, person.pk)

    assert "will see nothing of this incident" in client.get(page).text
    assert IncidentRole.of(person, incident) == "viewer"
    assert client.post(page).url == url("people", incident)

    assert IncidentRole.of(person, incident) == ""
    log = client.get(url("log", incident)).text
    assert "R. Ash takes no further part, was viewer" in log


def test_the_last_commander_is_not_sent_away(client, incident, commander):
    assert (
        url("part-end", incident, commander.pk)
        not in client.get(url("people", incident)).text
    )

    answer = client.post(url("part-end", incident, commander.pk))

    assert answer.status_code == 422
    assert "Somebody has to command" in answer.text
    assert IncidentRole.of(commander, incident) == "commander"


@pytest.mark.usefixtures("commander")
def test_someone_without_a_part_here_has_no_page_to_end_it(client, incident):
    stranger = PersonFactory.create()

    assert client.get(url("part-end", incident, stranger.pk)).status_code == 404


@pytest.mark.usefixtures("commander")
def test_nobody_of_another_agency_can_be_chosen_by_number(client, incident, neighbour):
    answer = client.post(
        url("people", incident), {"person": neighbour.pk, "role": "viewer"}
    )

    assert answer.status_code == 422
    assert IncidentRole.of(neighbour, incident) == ""
    assert "E. Moss" not in answer.text


@pytest.mark.usefixtures("commander")
def test_who_was_invited_can_be_given_another_part(client, incident, neighbour):
    _, code = services.invite(
        incident_id=incident.pk,
        person=incident.opened_by,
        role="viewer",
        meant_for="E. Moss",
        at=timezone.now(),
    )
    services.accept_invitation(code=code, person=neighbour, at=timezone.now())

    client.post(url("people", incident), {"person": neighbour.pk, "role": "medical"})
    refused = client.post(
        url("people", incident), {"person": neighbour.pk, "role": "commander"}
    )

    assert refused.status_code == 422
    assert IncidentRole.of(neighbour, incident) == "medical"


@pytest.mark.usefixtures("commander")
def test_the_page_asks_the_same_whatever_the_number_of_people(client, incident):
    def asked():
        with CaptureQueriesContext(connection) as queries:
            client.get(url("people", incident))
        return len(queries)

    join(incident, "viewer")
    few = asked()
    for _ in range(20):
        join(incident, "viewer")

    assert asked() == few
